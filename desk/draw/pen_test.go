package draw

import (
	"bytes"
	"context"
	"encoding/xml"
	"image"
	"io"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// A cone's contours are circles: every traced point lies at the level's radius, to the error of
// straight lines in a cell, and the line is closed.
func TestContoursOfACone(t *testing.T) {
	const n, top, slope = 61, 100.0, 3.0
	z := make([]float64, n*n)
	for j := range n {
		for i := range n {
			z[j*n+i] = top - slope*math.Hypot(float64(i-n/2), float64(j-n/2))
		}
	}
	for _, level := range []float64{40, 55.5, 70, 91} {
		ways := trace(z, n, n, level)
		if len(ways) != 1 {
			t.Fatalf("level %v: %d lines, want one ring", level, len(ways))
		}
		way := ways[0]
		if way[0] != way[len(way)-1] {
			t.Errorf("level %v: the ring is open", level)
		}
		want := (top - level) / slope
		for _, p := range way {
			if r := math.Hypot(p.X-n/2, p.Y-n/2); math.Abs(r-want) > 0.12 {
				t.Fatalf("level %v: a point at radius %v, want %v", level, r, want)
			}
		}
	}
}

// Whatever the heights, each crossing of a grid edge is on exactly one line, ends lie only on the
// border or at gaps, and nothing loops for ever.
func TestContoursAreWhole(t *testing.T) {
	const level = 5.25 // no node has it
	rapid.Check(t, func(t *rapid.T) {
		nx, ny := rapid.IntRange(2, 9).Draw(t, "nx"), rapid.IntRange(2, 9).Draw(t, "ny")
		z := make([]float64, nx*ny)
		for i := range z {
			z[i] = float64(rapid.IntRange(0, 10).Draw(t, "z"))
		}
		crossings := 0
		for j := range ny {
			for i := range nx {
				if i+1 < nx && (z[j*nx+i] >= level) != (z[j*nx+i+1] >= level) {
					crossings++
				}
				if j+1 < ny && (z[j*nx+i] >= level) != (z[(j+1)*nx+i] >= level) {
					crossings++
				}
			}
		}
		points := 0
		for _, way := range trace(z, nx, ny, level) {
			points += len(way)
			if way[0] == way[len(way)-1] && len(way) > 1 {
				points-- // the ring's first point stands twice
				continue
			}
			for _, p := range []int{0, len(way) - 1} {
				q := way[p]
				if q.X > 1e-9 && q.X < float64(nx-1)-1e-9 && q.Y > 1e-9 && q.Y < float64(ny-1)-1e-9 {
					t.Fatalf("a line ends inside at %v", q)
				}
			}
		}
		if points != crossings {
			t.Fatalf("%d points for %d crossings", points, crossings)
		}
	})
}

// spy keeps what a picture draws.
type spy struct {
	dots  []Dot
	lines [][2]Dot
	words []string

	pictures []image.Image
}

func (s *spy) Shape(k Ink, _ bool, dots ...Dot) {
	s.dots = append(s.dots, dots...)
	if len(dots) == 2 {
		s.lines = append(s.lines, [2]Dot{dots[0], dots[1]})
	}
}
func (s *spy) Circle(_ Ink, at Dot, r float64) {
	s.dots = append(s.dots, Dot{at.X - r, at.Y - r}, Dot{at.X + r, at.Y + r})
}
func (s *spy) Words(_ Lettering, at Dot, text string) {
	s.dots, s.words = append(s.dots, at), append(s.words, text)
}
func (s *spy) Width(l Lettering, text string) float64 {
	return 0.5 * l.SizeMM * float64(len([]rune(text)))
}
func (s *spy) Picture(_ Dot, _, _ float64, img image.Image) { s.pictures = append(s.pictures, img) }
func (s *spy) Clip(_ Dot, _, _ float64, draw func())        { draw() }

// The lines of a hatch stay inside their polygon, and their length times their distance is its area.
func TestHatchFillsItsPolygon(t *testing.T) {
	shape := []Dot{{0, 0}, {40, 0}, {40, 30}, {20, 10}, {0, 30}} // with a notch
	s := &spy{}
	hatch(s, Ink{HatchMM: 0.5}, shape, 1)
	sum := 0.0
	for _, l := range s.lines {
		sum += math.Hypot(l[1].X-l[0].X, l[1].Y-l[0].Y)
		for _, q := range []Dot{l[0].mid(l[1]), l[0].mid(l[0].mid(l[1]))} {
			inside := q.Y < 30-q.X && q.X <= 20 || q.Y < q.X-10 && q.X >= 20
			if !inside {
				t.Fatalf("a line of the hatch runs outside at %v", q)
			}
		}
	}
	if got, want := sum*0.5, 800.0; math.Abs(got-want) > 12 {
		t.Errorf("hatched area %v, want %v", got, want)
	}
}

func (d Dot) mid(e Dot) Dot { return Dot{(d.X + e.X) / 2, (d.Y + e.Y) / 2} }

var planned = sync.OnceValues(func() (p struct {
	a *assess.Assessor
	c *check.Check
	s *call.Sheet
}, err error) {
	ctx := context.Background()
	s, err := shoot.Load("../../examples/last-milk-run")
	if err != nil {
		return p, err
	}
	if p.a, err = assess.New(ctx, s); err != nil {
		return p, err
	}
	if p.c, err = check.Run(ctx, p.a); err != nil {
		return p, err
	}
	p.s, err = call.Plan(ctx, p.a, p.c, day.Options{})
	return p, err
})

// Every picture of the demo is finite and well formed, says what it must, and stays on its paper as
// far as it is not clipped.
func TestPicturesOfTheDemo(t *testing.T) {
	p, err := planned()
	if err != nil {
		t.Fatal(err)
	}
	type picture struct {
		name          string
		width, height float64
		draw          func(Pen)
		words         []string
	}
	var all []picture
	for _, d := range p.s.Days {
		strip, err := NewDayStrip(p.a, p.c, d)
		if err != nil {
			t.Fatal(err)
		}
		words := []string{"sun", "gust limit of the house 11", "window", "charging"}
		for _, s := range d.Sorties {
			for _, x := range s.Slates {
				words = append(words, x.Start.Format("15:04"))
			}
		}
		all = append(all, picture{"day " + d.Date, 182, strip.HeightMM(), func(p Pen) { strip.Draw(p, 182) }, words})
	}
	plan := NewSitePlan(p.a, p.c)
	all = append(all, picture{"site", 182, plan.HeightMM(182), func(q Pen) { plan.Draw(q, 182, plan.HeightMM(182)) },
		[]string{"N", "launch and landing", "18 people", "hay field", "2C", "valley permit: permitted"}},
		picture{"areas", 182, 100, func(q Pen) { plan.DrawAreas(q, 182, 100) }, []string{"grouse reserve: out of bounds", "0 to 300 m above ground"}})
	for i := range p.c.Slates {
		x := &p.c.Slates[i]
		f := NewFlightLine(p.a, x)
		all = append(all, picture{x.Slate + " from above", 90, 60, func(q Pen) { f.DrawPlan(q, 90, 60) }, []string{"N", "0"}},
			picture{x.Slate + " from the side", 90, 60, func(q Pen) { f.DrawSide(q, 90, 60) }, []string{"0"}})
		for _, date := range p.a.Shoot.Dates {
			strip := NewLightStrip(p.a, x, date, nil)
			all = append(all, picture{x.Slate + " light", 182, LightStripMM, func(q Pen) { strip.Draw(q, 182) }, []string{"window"}})
		}
	}
	for _, x := range all {
		s := &spy{}
		x.draw(s)
		for _, d := range s.dots {
			if math.IsNaN(d.X+d.Y) || math.IsInf(d.X+d.Y, 0) {
				t.Fatalf("%s: a place on paper is not finite", x.name)
			}
		}
		for _, w := range x.words {
			found := false
			for _, have := range s.words {
				found = found || have == w
			}
			if !found {
				t.Errorf("%s: %q is not on it", x.name, w)
			}
		}
		var b bytes.Buffer
		if err := SVG(&b, "p", x.name, x.width, x.height, x.draw); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Errorf("%s: a number in the SVG is not finite", x.name)
		}
		for d := xml.NewDecoder(&b); ; {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", x.name, err)
			}
		}
	}
}

// A second's tick stands where the path is at that second.
func TestTicksStandOnThePath(t *testing.T) {
	p, err := planned()
	if err != nil {
		t.Fatal(err)
	}
	for i := range p.c.Slates {
		f := NewFlightLine(p.a, &p.c.Slates[i])
		if f.take.Unsolved != nil {
			continue
		}
		chart := newChart(p.a.Shoot.Ground(), p.a.Shoot.Ground().Bounds(), 0, 0, 100, 100)
		s := &spy{}
		f.ticks(s, func(at *move.Sample) Dot { return chart.dot(at.Pos.XY()) })
		seconds := int(f.take.Path.DurationS()+1e-6) + 1
		if len(s.lines) < seconds {
			t.Errorf("%s: %d ticks for %d seconds", f.take.Slate.Slate, len(s.lines), seconds)
		}
		for k := range seconds {
			at := chart.dot(f.take.Path.At(float64(k)).Pos.XY())
			if m := s.lines[k][0].mid(s.lines[k][1]); math.Hypot(m.X-at.X, m.Y-at.Y) > 1e-6 {
				t.Fatalf("%s: the tick of second %d stands at %v, the path is at %v", f.take.Slate.Slate, k, m, at)
			}
		}
	}
}

// contrast is that of two tones of grey, 0 to 1 (WCAG 2.2, "contrast ratio" and "relative luminance").
func contrast(a, b float64) float64 {
	light := func(v float64) float64 {
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	a, b = light(a), light(b)
	return (max(a, b) + 0.05) / (min(a, b) + 0.05)
}

// A map beneath the plan, whatever its inks, leaves black lines the contrast that WCAG 2.2 asks of graphics (success
// criterion 1.4.11, 3:1) at every dot, and on the average that of text at its strictest (1.4.6, 7:1).
func TestTheMapBeneathIsMuted(t *testing.T) {
	const n = 48
	shades := image.NewGray(image.Rect(0, 0, n/4, n/4))
	rapid.Check(t, func(t *rapid.T) {
		for k := range shades.Pix {
			shades.Pix[k] = uint8(rapid.IntRange(204, 255).Draw(t, "shade")) // those of relief
		}
		img := image.NewNRGBA(image.Rect(0, 0, n, n))
		r := rapid.Uint32().Draw(t, "seed")
		dark := rapid.IntRange(1, 256).Draw(t, "brightest")
		for k := range img.Pix {
			r = r*1664525 + 1013904223
			if img.Pix[k] = uint8(int(r>>16) % dark); k%4 == 3 {
				img.Pix[k] = 255
			}
		}
		mean := 0.0
		out := muted(img, shades)
		for k := 0; k < len(out.Pix); k += 4 {
			grey := 0.0
			for i, share := range [3]float64{0.299, 0.587, 0.114} {
				grey += share * float64(out.Pix[k+i]) / 255
			}
			if c := contrast(grey, 0); c < 3 || out.Pix[k+3] != 255 {
				t.Fatalf("dot %d: %v leaves black a contrast of %.2f", k/4, out.Pix[k:k+4], c)
			}
			mean += grey / (n * n)
		}
		if c := contrast(mean, 0); c < 7 {
			t.Fatalf("the map is %.2f bright in the mean: contrast %.2f", mean, c)
		}
	})
	// A picture that is dark all over keeps half of its contrast.
	gloom := image.NewNRGBA(image.Rect(0, 0, 2, 1))
	copy(gloom.Pix, []uint8{20, 20, 20, 255, 60, 60, 60, 255})
	paper := image.NewGray(gloom.Rect)
	paper.Pix[0], paper.Pix[1] = 255, 255
	if out := muted(gloom, paper); out.Pix[4] < out.Pix[0]+18 || out.Pix[4] > out.Pix[0]+22 {
		t.Errorf("tones of 20 and 60 are printed as %d and %d", out.Pix[0], out.Pix[4])
	}
	// Where the map is clear, hillshade alone; where not, what is dark in it stays darker, and blue bluer.
	img := image.NewNRGBA(image.Rect(0, 0, 3, 1))
	copy(img.Pix[4:], []uint8{40, 40, 40, 255, 60, 90, 200, 255})
	white := image.NewGray(image.Rect(0, 0, 3, 1))
	for k := range white.Pix {
		white.Pix[k] = 240
	}
	out := muted(img, white)
	if out.Pix[0] != 240 || out.Pix[1] != 240 || out.Pix[2] != 240 {
		t.Errorf("a clear dot is %v", out.Pix[:4])
	}
	if out.Pix[4] >= 235 || out.Pix[10] <= out.Pix[8]+5 {
		t.Errorf("a dark and a blue dot are %v", out.Pix[4:])
	}
}

// A plan without a map of the crew's own has the hillshade in greys; with one, it is one picture in colours, and everything
// drawn upon it is the same.
func TestSitePlanWithAMapBeneath(t *testing.T) {
	p, err := planned()
	if err != nil {
		t.Fatal(err)
	}
	bare, with := &spy{}, &spy{}
	plan := NewSitePlan(p.a, p.c)
	plan.Draw(bare, 182, 200)
	plan.Beneath = image.NewNRGBA(image.Rect(0, 0, 400, 300))
	plan.Draw(with, 182, 200)
	if len(bare.pictures) != 1 || len(with.pictures) != 1 {
		t.Fatalf("%d and %d pictures", len(bare.pictures), len(with.pictures))
	}
	if _, grey := bare.pictures[0].(*image.Gray); !grey {
		t.Errorf("without a map: a picture of %T", bare.pictures[0])
	}
	if got, ok := with.pictures[0].(*image.NRGBA); !ok || got.Rect.Dx() != 400 {
		t.Errorf("with a map: a picture of %T", with.pictures[0])
	}
	if !slices.Equal(bare.dots, with.dots) || !slices.Equal(bare.words, with.words) {
		t.Error("lines and words are not the same")
	}
	ground, w, h := plan.Frame(182, 200)
	if scale := (ground.MaxX - ground.MinX) / w; w != 182 || h != 200-legend || math.Abs((ground.MaxY-ground.MinY)/h-scale) > 1e-9 {
		t.Errorf("the frame is %v on %v × %v mm", ground, w, h)
	}
}
