package move_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
)

// anyShot draws a shot of one to three steps.
func anyShot(t *rapid.T) []move.Step {
	f := func(low, high float64, name string) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	angle := func(low, high float64, name string) *unit.Angle {
		a := unit.Angle(f(low, high, name)) * unit.Degree
		return &a
	}
	length := func(low, high float64, name string) *unit.Length {
		l := unit.Length(f(low, high, name))
		return &l
	}
	framing := func(name string) *frame.Framing {
		return &frame.Framing{Size: unit.Ratio(f(0.03, 0.5, name+" size")), Place: &frame.Place{X: f(0.3, 0.7, name+" x"), Y: f(0.3, 0.7, name+" y")}}
	}
	n := rapid.IntRange(1, 3).Draw(t, "steps")
	var steps []move.Step
	for i := range n {
		kinds := []move.Kind{move.PushIn, move.PullOut, move.Truck, move.Pedestal, move.Boom, move.Pan, move.Tilt, move.Arc, move.TopDown, move.Flyover, move.Static, move.Reveal, move.FlyThrough, move.Follow, move.Lead, move.Parallel, move.KeyFrames}
		st := move.Step{Move: rapid.SampledFrom(kinds).Draw(t, "move"), Subject: rapid.SampledFrom([]string{"bell", "tree", "truck"}).Draw(t, "subject")}
		switch rapid.IntRange(0, 2).Draw(t, "pace") {
		case 1:
			st.Speed = unit.Speed(f(0.5, 25, "speed"))
		case 2:
			st.Duration = unit.Duration(f(0.5, 30, "duration"))
		}
		if i == 0 {
			st.Bearing = angle(0, 360, "bearing")
			if st.Move != move.TopDown && rapid.Bool().Draw(t, "by size") {
				st.Start = framing("start")
			} else {
				st.Distance = unit.Length(f(8, 150, "distance"))
				st.Height = length(1, 50, "height")
			}
		}
		switch st.Move {
		case move.PushIn, move.PullOut:
			if rapid.Bool().Draw(t, "end by size") {
				st.End = framing("end")
			} else {
				st.EndDistance = unit.Length(f(8, 150, "end distance"))
			}
		case move.Truck:
			st.Travel, st.Side = unit.Length(f(0.1, 150, "travel")), rapid.SampledFrom([]move.Side{move.Left, move.Right}).Draw(t, "side")
		case move.Pedestal, move.Boom:
			st.Rise = unit.Length(f(-30, 60, "rise"))
		case move.Pan:
			st.Sweep, st.Speed = unit.Angle(f(-200, 200, "sweep"))*unit.Degree, 0
		case move.Tilt:
			st.Sweep, st.Speed = unit.Angle(f(-40, 40, "sweep"))*unit.Degree, 0
		case move.Arc:
			st.Sweep = unit.Angle(f(-400, 400, "sweep")) * unit.Degree
			st.EndHeight = length(2, 60, "end height")
		case move.TopDown:
			st.Rise, st.Sweep = unit.Length(f(0, 40, "rise")), unit.Angle(f(-90, 90, "sweep"))*unit.Degree
		case move.Flyover:
			st.Travel = unit.Length(f(5, 300, "travel"))
		case move.Static:
			st.Duration, st.Speed = unit.Duration(f(0.5, 20, "hold")), 0
		case move.Reveal:
			st.Rise, st.Travel = unit.Length(f(1, 40, "rise")), unit.Length(f(0, 40, "travel"))
		case move.FlyThrough:
			st.Subject = ""
			up := length(3, 40, "above")
			if i == 0 {
				st.From = &move.Position{East: *length(-200, 200, "e0"), North: *length(-200, 200, "n0"), AboveGround: up}
				st.Bearing, st.Start, st.Distance, st.Height = nil, nil, 0, nil
			}
			for range rapid.IntRange(1, 3).Draw(t, "gates") {
				st.Through = append(st.Through, move.Position{East: *length(-200, 200, "e"), North: *length(-200, 200, "n"), AboveGround: up})
			}
		case move.Follow, move.Lead, move.Parallel:
			st.Subject, st.Bearing, st.Speed = "truck", nil, 0
			st.Duration = unit.Duration(f(1, 25, "ride"))
			if st.Move == move.Parallel {
				st.Side = rapid.SampledFrom([]move.Side{move.Left, move.Right}).Draw(t, "flank")
			}
			if i > 0 {
				st.Distance = unit.Length(f(12, 60, "gap"))
			}
		case move.KeyFrames:
			st = move.Step{Move: move.KeyFrames}
			at := 0.0
			if i > 0 {
				at = f(0.5, 5, "first key")
			}
			for range rapid.IntRange(2, 4).Draw(t, "keys") {
				st.Keys = append(st.Keys, move.Key{Time: unit.Duration(at), Subject: "bell",
					At: &move.Position{East: *length(-150, 150, "ke"), North: *length(-150, 150, "kn"), AboveGround: length(4, 50, "ka")}})
				at += f(0.5, 12, "gap")
			}
		}
		if i > 0 && rapid.IntRange(0, 3).Draw(t, "ease") == 0 {
			st.Easing = rapid.SampledFrom([]move.Easing{move.EaseBoth, move.EaseIn, move.EaseOut, move.EaseNone}).Draw(t, "easing")
		}
		steps = append(steps, st)
	}
	return steps
}

// Whatever is asked, a path that comes out keeps every limit; else there is an error that
// names the step and says how to mend it.
func TestLimitsAreNeverExceeded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := valley(anyShot(t))
		if rapid.Bool().Draw(t, "two axes") {
			p.Rig = twoAxis()
		}
		if rapid.Bool().Draw(t, "windy") {
			p.Margins.Wind = geo.Vec3{X: rapid.Float64Range(-6, 6).Draw(t, "wind x"), Y: rapid.Float64Range(-6, 6).Draw(t, "wind y")}
		}
		s, err := move.Solve(p)
		if err != nil {
			var no *move.Unsolved
			if !errors.As(err, &no) && !strings.Contains(err.Error(), "moves[") {
				t.Fatalf("error without a place: %v", err)
			}
			if no != nil && no.Mend == "" {
				t.Fatalf("no mend: %v", no)
			}
			return
		}
		sound(t, &p, &s.Path)
		for _, b := range s.Bounds {
			if b.Nearest.String() == "" && b.Unit == "" || math.IsNaN(b.Asked) || math.IsNaN(b.Allowed) || b.T < 0 || b.T > s.Path.DurationS()+1e3 {
				t.Fatalf("a bound that says nothing: %+v", b)
			}
		}
	})
}

// rugged is a square of ground with cliffs and holes in what is known of it.
type rugged struct {
	n int
	z []float64 // NaN: missing
}

const ruggedCell = 25.0

func (g *rugged) HeightAt(x, y float64) (float64, bool) {
	half := float64(g.n-1) / 2
	u, v := x/ruggedCell+half, y/ruggedCell+half
	if !(u >= 0 && v >= 0 && u < float64(g.n-1) && v < float64(g.n-1)) {
		return 0, false
	}
	i, j := int(u), int(v)
	u, v = u-float64(i), v-float64(j)
	a, b := g.z[j*g.n+i:], g.z[(j+1)*g.n+i:]
	z := (a[0]*(1-u)+a[1]*u)*(1-v) + (b[0]*(1-u)+b[1]*u)*v
	return z, !math.IsNaN(z)
}

// Over whatever ground, cliffs and holes in the elevation grid among it: what comes out of the solver is finite and never
// in rock or in an obstacle; what has no such path has an error with its moment and a mend.
func TestNoPathThroughRock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := &rugged{n: 33}
		rough := rapid.Float64Range(0, 160).Draw(t, "relief")
		seed := rapid.Uint64().Draw(t, "ground")
		rng := rand.New(rand.NewPCG(seed, 1))
		for range g.n * g.n {
			z := 1000 + rough*math.Pow(rng.Float64(), 3)
			if rng.IntN(200) == 0 {
				z = math.NaN()
			}
			g.z = append(g.z, z)
		}
		p := valley(anyShot(t))
		p.Ground = g
		stand := func(foot geo.Vec3) geo.Vec3 {
			foot.Z = 1000
			if z, ok := g.HeightAt(foot.X, foot.Y); ok {
				foot.Z = z
			}
			return foot
		}
		p.Subjects["bell"] = move.Still(frame.Box{Foot: stand(geo.Vec3{}), WidthM: 3, DepthM: 3, HeightM: 6})
		p.Subjects["tree"] = move.Still(frame.Box{Foot: stand(geo.Vec3{X: 60, Y: 20}), WidthM: 6, DepthM: 6, HeightM: 14})
		p.Obstacles = append(p.Obstacles, move.Obstacle{Name: "tower", Kind: "building", Shape: move.NewBox(stand(geo.Vec3{X: -30, Y: 70}), 9, 9, 60, 0.2)})
		s, err := move.Solve(p)
		if err != nil {
			var no *move.Unsolved
			if errors.As(err, &no) && (no.Mend == "" || !strings.Contains(err.Error(), "t = ") || math.IsNaN(no.T)) || no == nil && !strings.Contains(err.Error(), "moves[") {
				t.Fatalf("no moment or no mend: %v", err)
			}
			return
		}
		for _, x := range s.Path.Samples {
			for _, v := range []float64{x.Pos.X, x.Pos.Y, x.Pos.Z, x.Vel.Norm(), x.Acc.Norm(), x.Jerk.Norm(), float64(x.Yaw), float64(x.Pan), float64(x.Tilt), float64(x.Roll), x.FocalM, x.FocusM} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("t = %.2f s: %+v is not finite", x.T, x)
				}
			}
			if z, ok := g.HeightAt(x.Pos.X, x.Pos.Y); ok && x.Pos.Z < z {
				t.Fatalf("t = %.2f s: %.2f m under ground", x.T, z-x.Pos.Z)
			}
			for _, o := range p.Obstacles {
				if d, _ := o.Shape.Distance(x.Pos); d < 0 {
					t.Fatalf("t = %.2f s: %.2f m inside %s", x.T, -d, o.Name)
				}
			}
		}
	})
}
