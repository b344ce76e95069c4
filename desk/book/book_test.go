package book_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"fieldfare/desk/book"
	"fieldfare/desk/draw"
	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

// demo is the demo shoot, planned once for all tests.
var demo = sync.OnceValues(func() (*book.Content, error) {
	const dir = "../../examples/last-milk-run"
	ctx := context.Background()
	s, err := shoot.Load(dir)
	if err != nil {
		return nil, err
	}
	a, err := assess.New(ctx, s)
	if err != nil {
		return nil, err
	}
	c, err := check.Run(ctx, a)
	if err != nil {
		return nil, err
	}
	sheet, err := call.Plan(ctx, a, c, day.Options{})
	if err != nil {
		return nil, err
	}
	source, err := os.ReadFile(filepath.Join(dir, shoot.FileName))
	return &book.Content{Assessor: a, Check: c, Sheet: sheet, Source: source, Version: "test"}, err
})

func content(t testing.TB) *book.Content {
	t.Helper()
	c, err := demo()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// first is the demo's book in A4, printed once.
var first = sync.OnceValues(func() ([]byte, error) {
	c, err := demo()
	if err != nil {
		return nil, err
	}
	return book.Print(context.Background(), *c)
})

func printed(t testing.TB) []byte {
	t.Helper()
	data, err := first()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func keep(t testing.TB, data []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "book.pdf")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

func bookFile(t testing.TB) string { return keep(t, printed(t)) }

// outside runs a program of Debian; without it the test is skipped aloud.
func outside(t *testing.T, name, from string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("NOT CHECKED: %s is not installed (Debian package %s, `make tools-test`)", name, from)
	}
	out, err := exec.Command(path, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%.2000s", name, args, err, out)
	}
	return string(out)
}

func TestBookIsASoundPDF(t *testing.T) {
	file := bookFile(t)
	t.Run("qpdf", func(t *testing.T) {
		if out := outside(t, "qpdf", "qpdf", "--check", file); strings.Contains(out, "WARNING") {
			t.Error(out)
		}
	})
	t.Run("pdfinfo", func(t *testing.T) {
		out := outside(t, "pdfinfo", "poppler-utils", file)
		if !strings.Contains(out, "A4") || !strings.Contains(out, "The last milk run") || strings.Contains(out, "Syntax Error") {
			t.Error(out)
		}
	})
	t.Run("fonts are embedded", func(t *testing.T) {
		lines := strings.Split(strings.TrimSpace(outside(t, "pdffonts", "poppler-utils", file)), "\n")[2:]
		for _, l := range lines {
			if f := strings.Fields(l); f[len(f)-5] != "yes" { // emb sub uni object-number generation
				t.Errorf("not embedded: %s", l)
			}
		}
		if len(lines) < 4 {
			t.Errorf("only %d fonts", len(lines))
		}
	})
	t.Run("text", func(t *testing.T) {
		text := outside(t, "pdftotext", "poppler-utils", "-layout", file, "-")
		pages := strings.Split(strings.TrimSuffix(text, "\f"), "\f")
		for _, want := range []string{"FLIGHT BOOK", "Contents", "CALL SHEET", "Site plan: Val Ombriva", "First light on the chapel", "CAMERA CARD", "RIG AND BALANCE", "Battery plan", "Radio", "Permissions and papers",
			"Risk assessment and method statement", "Checklists", "Camera report", "Flight log", "ISO 200", "Rescue coordination", "grouse reserve"} {
			if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
				t.Errorf("%q is not in the book's text", want)
			}
		}
		for i, page := range pages {
			if !strings.Contains(page, "Planning aid only") || !strings.Contains(page, "shoot file ") || !strings.Contains(page, "fieldfare ") {
				t.Errorf("page %d lacks caution, mark or version", i+1)
			}
			if !strings.Contains(strings.Join(strings.Fields(page), " "), "page "+itoa(i+1)+" of "+itoa(len(pages))) {
				t.Errorf("page %d is not numbered", i+1)
			}
		}
		// The contents' page numbers are true.
		for _, title := range []string{"Battery plan", "Flight log", "Radio"} {
			number := ""
			for _, l := range strings.Split(pages[0], "\n") {
				if k := strings.Index(l, title); k >= 0 {
					number = strings.Fields(l[k+len(title):])[0]
				}
			}
			found := ""
			for i, page := range pages[1:] {
				if head := strings.TrimSpace(page); strings.Contains(strings.SplitN(head, "\n", 2)[0], title) {
					found = itoa(i + 2)
					break
				}
			}
			if number == "" || number != found {
				t.Errorf("contents say page %q for %s, it is on %q", number, title, found)
			}
		}
	})
	t.Run("stops have a band", func(t *testing.T) {
		text := outside(t, "pdftotext", "poppler-utils", "-layout", file, "-")
		c := content(t).Check
		for _, x := range c.Slates {
			stop := false
			for _, f := range x.Findings {
				stop = stop || f.Severity == assess.Stop
			}
			for _, page := range strings.Split(text, "\f") {
				if strings.Contains(page, "Slate "+x.Slate+"\n") && strings.Contains(page, "CAMERA CARD") && stop && !strings.Contains(page, "STOP: not to be flown") {
					t.Errorf("slate %s has a stop and no band", x.Slate)
				}
			}
			if !strings.Contains(text, "Slate "+x.Slate+"\n") {
				t.Errorf("slate %s is not in the book", x.Slate)
			}
		}
	})
}

// Text is copied in the order in which it is read, each word once. A slate has one page, on A4 and on Letter, but the
// barred one, whose findings are more than a page holds: it goes on overleaf, and says so.
func TestOnePageASlate(t *testing.T) {
	for name, letter := range map[string]bool{"A4": false, "Letter": true} {
		t.Run(name, func(t *testing.T) {
			file := bookFile(t)
			if letter {
				c := *content(t)
				c.Letter, c.Only = true, []string{"slates"}
				data, err := book.Print(t.Context(), c)
				if err != nil {
					t.Fatal(err)
				}
				file = keep(t, data)
			}
			onePageASlate(t, strings.Split(outside(t, "pdftotext", "poppler-utils", "-raw", file, "-"), "\f"))
		})
	}
}

func onePageASlate(t *testing.T, pages []string) {
	slates := 0
	setting := regexp.MustCompile(`(?m)^f/\S+ 1/\d+ s ISO \d+ .* (\d+ K|set on location)$`)
	for i, page := range pages {
		head := strings.SplitN(page, "\n", 2)[0]
		at := strings.Index(head, "Slate ")
		if at < 0 {
			continue
		}
		name, continued := strings.CutSuffix(head[at:], ", continued")
		if continued {
			if !strings.Contains(pages[i-1], "findings go on overleaf") || !strings.Contains(pages[i-1], name) {
				t.Errorf("%s goes on without a word on the page before", name)
			}
			if !strings.Contains(pages[i-1], "STOP: not to be flown") {
				t.Errorf("%s may be flown and takes more than a page", name)
			}
			continue
		}
		slates++
		if !setting.MatchString(page) && !strings.Contains(page, "no setting could be chosen") {
			t.Errorf("%s: the setting does not stand on one line", name)
		}
		rest := page
		for _, want := range []string{"wanted", "start,", "middle,", "end,", "CAMERA CARD", "RIG AND BALANCE", "from above", "heights above sea", "window", "NUMBERS BESIDE", "SAFETY AND CONTINGENCIES", "FINDINGS", "Planning aid only"} {
			before, after, ok := strings.Cut(rest, want)
			if !ok {
				t.Errorf("%s: %q does not follow on its page in\n%.300s", name, want, rest)
			}
			if ok && want == "NUMBERS BESIDE" && strings.Count(before, "planned ") > 1 {
				t.Errorf("%s: words are printed twice", name)
			}
			rest = after
		}
	}
	if slates != len(content(t).Check.Slates) {
		t.Errorf("%d slates", slates)
	}
}

func itoa(n int) string {
	b, _ := json.Marshal(n)
	return string(b)
}

func TestBookIsDeterministic(t *testing.T) {
	again, err := book.Print(t.Context(), *content(t))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(again, printed(t)) {
		t.Error("two books of one shoot differ")
	}
}

func TestBookInParts(t *testing.T) {
	c := *content(t)
	c.Only, c.Letter = []string{"day", "4B"}, true
	data, err := book.Print(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	file := keep(t, data)
	info := outside(t, "pdfinfo", "poppler-utils", file)
	if !strings.Contains(info, "letter") {
		t.Error("not US Letter: " + info)
	}
	text := outside(t, "pdftotext", "poppler-utils", "-layout", file, "-")
	if !strings.Contains(text, "Slate 4B") || strings.Contains(text, "Slate 4A") || strings.Contains(text, "Battery plan") || !strings.Contains(text, "CALL SHEET") {
		t.Error("the parts are not those asked for")
	}
	c.Only = []string{"9Z"}
	if _, err := book.Print(t.Context(), c); err == nil || !strings.Contains(err.Error(), "checklists") {
		t.Errorf("want an error that lists the parts, got %v", err)
	}
}

func TestBookStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := book.Print(ctx, *content(t)); err == nil {
		t.Error("a cancelled book was printed")
	}
}

// copied is the demo in a folder of its own, changed, with the demo's day.
func copied(t *testing.T, change func(dir string)) (c book.Content, dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/last-milk-run")); err != nil {
		t.Fatal(err)
	}
	change(dir)
	s, err := shoot.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	c = *content(t)
	if c.Assessor, err = assess.New(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	if c.Check, err = check.Run(t.Context(), c.Assessor); err != nil {
		t.Fatal(err)
	}
	c.Only = []string{"site"}
	return c, dir
}

// rewrite changes a text in a file.
func rewrite(t *testing.T, file, from, to string) {
	t.Helper()
	src, err := os.ReadFile(file)
	if err != nil || !bytes.Contains(src, []byte(from)) {
		t.Fatalf("%s lacks %q: %v", file, from, err)
	}
	if err := os.WriteFile(file, bytes.Replace(src, []byte(from), []byte(to), 1), 0o644); err != nil {
		t.Fatal(err)
	}
}

// sitePage prints the site plan and returns its words and the picture beneath it.
func sitePage(t *testing.T, c book.Content) (words string, plan image.Image) {
	t.Helper()
	data, err := book.Print(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	file := keep(t, data)
	words = strings.Join(strings.Fields(strings.Split(outside(t, "pdftotext", "poppler-utils", file, "-"), "\f")[0]), " ")
	stem := filepath.Join(filepath.Dir(file), "x")
	outside(t, "pdfimages", "poppler-utils", "-png", "-f", "1", "-l", "1", file, stem)
	f, err := os.Open(stem + "-000.png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if plan, err = png.Decode(f); err != nil {
		t.Fatal(err)
	}
	return words, plan
}

// reds finds the red dots of a picture: how many, their middle, and the columns of all that has colour.
func reds(img image.Image) (n int, x, y float64, coloured int) {
	b := img.Bounds()
	for i := b.Min.X; i < b.Max.X; i++ {
		column := 0
		for j := b.Min.Y; j < b.Max.Y; j++ {
			r, g, bl, _ := img.At(i, j).RGBA()
			if r > g+0x1800 && r > bl+0x1800 {
				n, x, y = n+1, x+float64(i)+0.5, y+float64(j)+0.5
			}
			if max(r, g, bl)-min(r, g, bl) > 0x600 {
				column++
			}
		}
		if column > b.Dy()/2 {
			coloured++
		}
	}
	return n, x / float64(n), y / float64(n), coloured
}

// An invented map with a red square about a launch spot lies where it should beneath the plan, at the fineness of print,
// and is told whose it is; where it ends, the plan says how much it covers.
func TestBaseMapBeneathTheSitePlan(t *testing.T) {
	c := content(t)
	s := c.Assessor.Shoot
	var spot geo.Vec3
	for _, f := range s.Features() {
		if f.Kind == shoot.Launch {
			spot = f.Places[0]
			break
		}
	}
	at := s.Frame().ToLatLon(spot)
	origin := s.Site.Origin
	const step, wide, high = 3e-5, 1600, 1200 // degrees a dot; 2.3 m by 3.3 m there
	c2, dir := copied(t, func(dir string) {
		west, north := origin.Lon.Deg()-step*wide/2, origin.Lat.Deg()+step*high/2
		img := image.NewPaletted(image.Rect(0, 0, wide, high), color.Palette{color.RGBA{230, 225, 140, 255}, color.RGBA{220, 20, 20, 255}})
		x, y := int((at.Lon.Deg()-west)/step), int((north-at.Lat.Deg())/step)
		for i := x - 30; i <= x+30; i++ {
			for j := y - 20; j <= y+20; j++ {
				img.SetColorIndex(i, j, 1)
			}
		}
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		world := fmt.Sprintf("%.9f\n0\n0\n%.9f\n%.9f\n%.9f\n", step, -step, west+step/2, north-step/2)
		for name, data := range map[string][]byte{"sheet.png": b.Bytes(), "sheet.pgw": []byte(world)} {
			if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		rewrite(t, filepath.Join(dir, shoot.FileName), "  map_crs: EPSG:32632\n", "")
	})
	words, plan := sitePage(t, c2)
	if !strings.Contains(words, "Base map: sheet.png; field sheet of the commune of Ombriva (invented).") || strings.Contains(words, "It covers") {
		t.Error("the map's words: " + words)
	}
	shape := draw.NewSitePlan(c2.Assessor, c2.Check)
	ground, w, _ := shape.Frame(182, shape.HeightMM(182))
	if got := float64(plan.Bounds().Dx()) / w * 25.4; got < 140 || got > 200 {
		t.Errorf("%.0f dots an inch", got)
	}
	scale := (ground.MaxX - ground.MinX) / float64(plan.Bounds().Dx())
	n, x, y, _ := reds(plan)
	gotX := (ground.MinX+ground.MaxX)/2 + (x-float64(plan.Bounds().Dx())/2)*scale
	gotY := (ground.MinY+ground.MaxY)/2 - (y-float64(plan.Bounds().Dy())/2)*scale
	if n < 1000 || math.Hypot(gotX-spot.X, gotY-spot.Y) > 4 {
		t.Errorf("%d red dots about %.1f, %.1f in the site frame, want %.1f, %.1f", n, gotX, gotY, spot.X, spot.Y)
	}

	// The same map, its west edge 200 m west of the origin.
	c3, _ := copied(t, func(to string) {
		for _, name := range []string{"sheet.png", "sheet.pgw", shoot.FileName} {
			data, err := os.ReadFile(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			if name == "sheet.pgw" {
				west := origin.Lon.Deg() - 200/(111320*math.Cos(float64(origin.Lat)))
				data = fmt.Appendf(nil, "%.9f\n0\n0\n%.9f\n%.9f\n%.9f\n", step, -step, west+step/2, origin.Lat.Deg()+step*high/2-step/2)
			}
			if err := os.WriteFile(filepath.Join(to, name), data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		rewrite(t, filepath.Join(to, shoot.FileName), "  map_credit: field sheet of the commune of Ombriva (invented)\n", "")
	})
	words, plan = sitePage(t, c3)
	var percent int
	if _, after, ok := strings.Cut(words, "It covers "); ok {
		fmt.Sscanf(after, "%d %% of this plan", &percent)
	}
	_, _, _, coloured := reds(plan)
	if share := 100 * float64(coloured) / float64(plan.Bounds().Dx()); math.Abs(share-float64(percent)) > 2 || percent < 20 || percent > 90 {
		t.Errorf("the plan says %d %%, and %.0f %% of it have colour: %s", percent, share, words)
	}
	if !strings.Contains(words, "whose map it is: unknown") {
		t.Error("a map of nobody: " + words)
	}
}

// A map that cannot be drawn is told of on the plan, with the reason; a shoot without one says nothing.
func TestBaseMapThatCannotBeDrawn(t *testing.T) {
	c, dir := copied(t, func(string) {})
	grey := func(words string, plan image.Image, want string) {
		t.Helper()
		if !strings.Contains(words, want) {
			t.Errorf("want %q in %s", want, words)
		}
		for i := range plan.Bounds().Dx() {
			if r, g, b, _ := plan.At(i, 5).RGBA(); r != g || g != b {
				t.Fatal("the plan has colour")
			}
		}
	}
	sheet := filepath.Join(dir, "sheet.png")
	whole, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(sheet, whole[:len(whole)/2], 0o644); err != nil {
		t.Fatal(err)
	}
	words, broken := sitePage(t, c)
	grey(words, broken, "caution: base map not drawn: sheet.png: png: ")
	if err := os.Remove(sheet); err != nil {
		t.Fatal(err)
	}
	words, plan := sitePage(t, c)
	grey(words, plan, "caution: base map not drawn: sheet.png is no longer in the shoot folder.")

	bare, _ := copied(t, func(dir string) {
		rewrite(t, filepath.Join(dir, shoot.FileName), "  map: sheet.png        # drawn beneath the plan\n  map_crs: EPSG:32632\n  map_credit: field sheet of the commune of Ombriva (invented)\n", "")
	})
	words, plan = sitePage(t, bare)
	grey(words, plan, "")
	if strings.Contains(strings.ToLower(words), "base map") {
		t.Error("without a map: " + words)
	}

	// An archive whose bounds hold the site and that has no tile there.
	empty := make([]byte, 127, 132)
	copy(empty, "PMTiles\x03")
	for at, v := range map[int]uint64{8: 127, 16: 1, 24: 128, 56: 128} {
		binary.LittleEndian.PutUint64(empty[at:], v)
	}
	copy(empty[97:], []byte{1, 1, 2, 10, 15})
	for i, v := range [4]int32{102000000, 465000000, 104000000, 467000000} {
		binary.LittleEndian.PutUint32(empty[102+4*i:], uint32(v))
	}
	none, _ := copied(t, func(dir string) {
		rewrite(t, filepath.Join(dir, shoot.FileName), "map: sheet.png        # drawn beneath the plan\n  map_crs: EPSG:32632\n", "map: valley.pmtiles\n")
		if err := os.WriteFile(filepath.Join(dir, "valley.pmtiles"), append(empty, 0), 0o644); err != nil {
			t.Fatal(err)
		}
	})
	words, _ = sitePage(t, none)
	if want := "caution: base map not drawn: valley.pmtiles shows nothing of this plan"; !strings.Contains(words, want) {
		t.Errorf("want %q in %s", want, words)
	}
}

func BenchmarkBook(b *testing.B) {
	c := *content(b)
	for b.Loop() {
		if _, err := book.Print(b.Context(), c); err != nil {
			b.Fatal(err)
		}
	}
}
