package move_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
)

// grid is a terrain of 2 km × 2 km in 10 m cells, read bilinearly.
type grid struct {
	n    int
	cell float64
	z    []float64
}

func newGrid() *grid {
	g := &grid{n: 201, cell: 10}
	for j := range g.n {
		for i := range g.n {
			x, y := float64(i)*10-1000, float64(j)*10-1000
			g.z = append(g.z, 1500+40*math.Sin(x/170)*math.Cos(y/230)+6*math.Sin(x/31+y/47))
		}
	}
	return g
}

func (g *grid) HeightAt(x, y float64) (float64, bool) {
	u, v := (x+1000)/g.cell, (y+1000)/g.cell
	i, j := int(u), int(v)
	if u < 0 || v < 0 || i >= g.n-1 || j >= g.n-1 {
		return 0, false
	}
	u -= float64(i)
	v -= float64(j)
	a := g.z[j*g.n+i:]
	b := g.z[(j+1)*g.n+i:]
	return (a[0]*(1-u)+a[1]*u)*(1-v) + (b[0]*(1-u)+b[1]*u)*v, true
}

// longShot is a minute at 50 samples per second over 2 km of terrain with 200 obstacles, some
// of them in the way.
func longShot(speed unit.Speed) move.Problem {
	g := newGrid()
	rng := rand.New(rand.NewPCG(6, 7))
	at := func(x, y, up float64) geo.Vec3 {
		z, _ := g.HeightAt(x, y)
		return geo.Vec3{X: x, Y: y, Z: z + up}
	}
	var things []move.Obstacle
	for i := range 200 {
		x, y := rng.Float64()*600-300, rng.Float64()*600-300
		if math.Hypot(x, y) < 25 {
			x += 60
		}
		switch i % 3 {
		case 0:
			things = append(things, move.Obstacle{Name: "tree", Kind: "tree", Shape: move.Cylinder{Base: at(x, y, 0), RadiusM: 3, HeightM: 10 + 12*rng.Float64()}})
		case 1:
			things = append(things, move.Obstacle{Name: "barn", Kind: "building", Shape: move.NewBox(at(x, y, 0), 12, 8, 8, rng.Float64())})
		default:
			things = append(things, move.Obstacle{Name: "line", Kind: "wire", Shape: move.Wire{A: at(x, y, 15), B: at(x+60, y+20, 15), SagM: 3}})
		}
	}
	h := func(v unit.Length) *unit.Length { return &v }
	b := unit.Angle(0.5)
	return move.Problem{
		Steps: []move.Step{
			{Move: move.PushIn, Subject: "bell", Start: &frame.Framing{Size: 0.11}, Bearing: &b, Height: h(50), EndDistance: 60, Speed: speed},
			{Move: move.Arc, Subject: "bell", Sweep: 180 * unit.Degree, EndHeight: h(22), Speed: speed},
			{Move: move.PullOut, Subject: "bell", EndDistance: 120, EndHeight: h(30), Duration: 12},
		},
		Subjects: map[string]move.Subject{"bell": move.Still(frame.Box{Foot: at(0, 0, 0), WidthM: 4, DepthM: 4, HeightM: 10})},
		Camera:   camera(), Rig: threeAxis(), Picture: move.Picture{ShutterS: 0.01, MinCrossingS: 5},
		Margins: move.Margins{ClearanceM: 5, WireClearanceM: 8, PositionErrorM: 1, ReactionS: 1},
		Ground:  g, Obstacles: things, RateHz: 50,
	}
}

func BenchmarkSolve(b *testing.B) {
	p := longShot(9)
	s, err := move.Solve(p)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(s.Path.DurationS(), "shot_s")
	b.ReportMetric(float64(s.Steps), "steps")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := move.Solve(p); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkResolve(b *testing.B) {
	s, err := move.Solve(longShot(9))
	if err != nil {
		b.Fatal(err)
	}
	faster, longer := longShot(9.3), longShot(9)
	longer.Camera.FocalM = 0.026
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		p := faster
		if i%2 == 1 {
			p = longer
		}
		if _, err := s.Resolve(p); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkGeneral solves the discretised problems that bench/move.sh gives to SLSQP.
func BenchmarkGeneral(b *testing.B) {
	for _, name := range []string{"push in over a crest", "truck past the barn", "boom beside the barn", "turn at the mast", "arc into the mast"} {
		b.Run(name, func(b *testing.B) {
			fly, err := move.Flown(valley(steps(discreteShots[name])))
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				fly()
			}
		})
	}
}
