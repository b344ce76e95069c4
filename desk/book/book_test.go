package book_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"fieldfare/desk/book"
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

func BenchmarkBook(b *testing.B) {
	c := *content(b)
	for b.Loop() {
		if _, err := book.Print(b.Context(), c); err != nil {
			b.Fatal(err)
		}
	}
}
