package terrain_test

import (
	"math"
	"slices"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"

	"pgregory.net/rapid"
)

// hills is a deterministic rough surface with as many nodes as asked for.
func hills(t testing.TB, nx, ny int, cell float64) *terrain.Grid {
	t.Helper()
	g, err := terrain.NewGrid(geo.Bounds{MinX: -100, MinY: 50, MaxX: -100 + float64(nx-1)*cell, MaxY: 50 + float64(ny-1)*cell}, cell)
	if err != nil {
		t.Fatal(err)
	}
	for j := range ny {
		for i := range nx {
			x, y := float64(i)*cell, float64(j)*cell
			g.Z[j*nx+i] = float32(1500 + 300*math.Sin(x/900)*math.Cos(y/700) + 60*math.Sin(x/130+y/90) + 9*math.Sin(x*1.7)*math.Cos(y*2.3))
		}
	}
	return g
}

// The quick raster against the exact lines of sight. The difference is the method's own; on the
// summit (view 1) it is the treatment of the eight nearest nodes, see Viewshed.
func TestViewshedAgainstLineOfSight(t *testing.T) {
	g := wholeGrid(t, open(t, "utm.tif", terrain.Options{}))
	for _, row := range rows(t, "viewshed.txt", 6) {
		at, _ := g.Node(int(row[1]), g.NY-1-int(row[2]))
		view := terrain.View{EyeM: row[3], TargetM: row[4], RangeM: row[5], Refraction: 1 - row[6]}
		quick, err := g.Viewshed(at.XY(), view)
		if err != nil {
			t.Fatal(err)
		}
		view.Exact = true
		exact, err := g.Viewshed(at.XY(), view)
		if err != nil {
			t.Fatal(err)
		}
		same := 0
		for n := range exact.Cells {
			if exact.Cells[n] == quick.Cells[n] {
				same++
			}
		}
		share, least := float64(same)/float64(len(exact.Cells)), 0.993
		if row[0] == 1 {
			least = 0.93
		}
		t.Logf("view %v: %.3f %%", row[0], 100*share)
		if share < least {
			t.Errorf("view %v: %.3f %% agree", row[0], 100*share)
		}
		// The exact raster is LineOfSight itself.
		for n := 0; n < len(exact.Cells); n += 97 {
			p, _ := g.Node(n%g.NX, n/g.NX)
			s := g.LineOfSight(at.Add(geo.Vec3{Z: row[3]}), p.Add(geo.Vec3{Z: row[4]}), view.Refraction)
			if got := exact.Cells[n]; got != terrain.OutOfRange && (got == terrain.Visible) != s.Clear && math.Abs(s.MarginM) > 1e-5 {
				t.Fatalf("node %d: raster %v, line %+v", n, got, s)
			}
		}
	}
}

func drawPoint(t *rapid.T, g *terrain.Grid, name string) geo.Vec3 {
	b := g.Bounds()
	p := geo.Vec3{X: rapid.Float64Range(b.MinX, b.MaxX).Draw(t, name+"x"), Y: rapid.Float64Range(b.MinY, b.MaxY).Draw(t, name+"y")}
	z, ok := g.HeightAt(p.X, p.Y)
	if !ok {
		t.Fatalf("no height at %v", p)
	}
	p.Z = z + rapid.Float64Range(0, 400).Draw(t, name+"z")
	return p
}

// A second road: no sample along a line is nearer the ground than Clearance says, and the place
// that it names is as near.
func TestClearanceAgainstSampling(t *testing.T) {
	g := hills(t, 90, 70, 20)
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawPoint(t, g, "a"), drawPoint(t, g, "b")
		c := g.Clearance(a, b)
		z, _ := g.HeightAt(c.At.X, c.At.Y)
		if !c.Known || math.Abs(c.At.Z-z-c.LeastM) > 1e-6 || c.At.Sub(a.Lerp(b, c.Fraction)).Norm() > 1e-6 {
			t.Fatalf("%+v over ground %v", c, z)
		}
		for i := range 2000 {
			p := a.Lerp(b, float64(i)/1999)
			if z, _ := g.HeightAt(p.X, p.Y); p.Z-z < c.LeastM-1e-6 {
				t.Fatalf("at %v %v m above ground, least %+v", p, p.Z-z, c)
			}
		}
	})
}

func TestClearanceOfPath(t *testing.T) {
	g := flat(t)
	g.Z[5*g.NX+5] = 130 // a spike between the ends of the second segment
	path := []geo.Vec3{{X: 10, Y: 10, Z: 150}, {X: 10, Y: 50, Z: 140}, {X: 90, Y: 50, Z: 140}, {X: 90, Y: 90, Z: 200}}
	c := g.Clearance(path...)
	if c.Segment != 1 || math.Abs(c.Fraction-0.5) > 1e-9 || math.Abs(c.LeastM-10) > 1e-9 || !c.Known {
		t.Errorf("%+v", c)
	}
	if c := g.Clearance(geo.Vec3{X: 50, Y: 50, Z: 131}); math.Abs(c.LeastM-1) > 1e-9 || !c.Known {
		t.Errorf("one point: %+v", c)
	}
	if c := g.Clearance(geo.Vec3{X: 50, Y: 50, Z: 140}, geo.Vec3{X: 50, Y: 500, Z: 140}); c.Known || math.Abs(c.LeastM-10) > 1e-9 {
		t.Errorf("out of the grid: %+v", c)
	}
	if c := g.Clearance(geo.Vec3{X: 900}); c.Known || c.Any || c.LeastM != 0 {
		t.Errorf("outside: %+v", c)
	}
	if c := g.Clearance(); c.Known {
		t.Errorf("no path: %+v", c)
	}
	g.Z[2*g.NX+2] = float32(math.NaN())
	if c := g.Clearance(geo.Vec3{X: 10, Y: 15, Z: 150}, geo.Vec3{X: 90, Y: 15, Z: 150}); c.Known {
		t.Errorf("over missing data: %+v", c)
	}
}

// flat is level ground at 100 m, 11 × 11 nodes of 10 m from the origin.
func flat(t testing.TB) *terrain.Grid {
	t.Helper()
	g, err := terrain.NewGrid(geo.Bounds{MaxX: 100, MaxY: 100}, 10)
	if err != nil {
		t.Fatal(err)
	}
	for i := range g.Z {
		g.Z[i] = 100
	}
	return g
}

func TestRaycastAgainstSampling(t *testing.T) {
	g := hills(t, 90, 70, 20)
	b := g.Bounds()
	rapid.Check(t, func(t *rapid.T) {
		o := drawPoint(t, g, "o")
		percent := func(lo, hi int, name string) float64 { return float64(rapid.IntRange(lo, hi).Draw(t, name)) / 100 }
		dir := geo.Vec3{X: percent(-100, 100, "dx"), Y: percent(-100, 100, "dy"), Z: percent(-100, 30, "dz")}
		if rapid.Bool().Draw(t, "along an axis") {
			dir.X = 0
		}
		if dir.Norm() < 0.01 {
			return
		}
		dir = dir.Unit()
		hit, ok := g.Raycast(o, dir, 1500)
		reach := 1500.0
		if ok {
			z, _ := g.HeightAt(hit.X, hit.Y)
			if math.Abs(z-hit.Z) > 1e-6 {
				t.Fatalf("hit %v, ground %v", hit, z)
			}
			reach = hit.Sub(o).Norm()
		}
		for s := 0.0; s < reach-1e-3; s += 0.5 {
			p := o.Add(dir.Scale(s))
			if !b.Contains(p.XY()) {
				if ok {
					t.Fatalf("hit %v outside the grid", hit)
				}
				return
			}
			if z, _ := g.HeightAt(p.X, p.Y); p.Z < z-1e-6 {
				t.Fatalf("at %v m already %v m below ground; hit %v %v", s, z-p.Z, hit, ok)
			}
		}
	})
}

func TestRaycastStraightDown(t *testing.T) {
	g := flat(t)
	if hit, ok := g.Raycast(geo.Vec3{X: 33, Y: 41, Z: 180}, geo.Vec3{Z: -2}, 1000); !ok || hit != (geo.Vec3{X: 33, Y: 41, Z: 100}) {
		t.Errorf("%v %v", hit, ok)
	}
	if _, ok := g.Raycast(geo.Vec3{X: 33, Y: 41, Z: 180}, geo.Vec3{Z: -1}, 79); ok {
		t.Error("hit beyond the range")
	}
	if _, ok := g.Raycast(geo.Vec3{X: 33, Y: 41, Z: 180}, geo.Vec3{Z: 1}, math.Inf(1)); ok {
		t.Error("hit the sky")
	}
	if hit, ok := g.Raycast(geo.Vec3{X: -50, Y: 50, Z: 150}, geo.Vec3{X: 2, Z: -1}, 1000); !ok || math.Abs(hit.X-50) > 1e-9 {
		t.Errorf("from outside: %v %v", hit, ok)
	}
}

// A ray that comes down through missing data meets the ground where that is not known: the ground behind the hole,
// which it reaches from beneath, is no hit. One that is still above there has its hit as ever.
func TestRaycastThroughMissingData(t *testing.T) {
	g := flat(t)
	for j := range g.NY {
		for i := 4; i <= 6; i++ {
			g.Z[j*g.NX+i] = float32(math.NaN())
		}
	}
	for _, x := range []struct {
		from, to geo.Vec3
		hit      bool
	}{
		{geo.Vec3{X: 20, Y: 50, Z: 120}, geo.Vec3{X: 50, Y: 50, Z: 100}, false},              // meets the level of the ground over the hole
		{geo.Vec3{X: 20, Y: 50, Z: 120}, geo.Vec3{X: 71, Y: 50, Z: 100}, true},               // just behind it
		{geo.Vec3{X: 20, Y: 50, Z: 120}, geo.Vec3{X: 29, Y: 50, Z: 100}, true},               // just before it
		{geo.Vec3{X: 20, Y: 20, Z: 120}, geo.Vec3{X: 50, Y: 50, Z: 100}, false},              // slantwise
		{geo.Vec3{X: -50, Y: 50, Z: 120}, geo.Vec3{X: -10, Y: 50, Z: 100}, false},            // outside the grid
		{geo.Vec3{X: 20, Y: 50, Z: 90}, geo.Vec3{X: 29, Y: 50, Z: 80}, true},                 // starts below the ground
		{geo.Vec3{X: 80, Y: 50, Z: 100 - 1e-12}, geo.Vec3{X: 90, Y: 50, Z: 99.9}, true},      // on the ground but for rounding
		{geo.Vec3{X: 20, Y: 50, Z: 100 + 1e-9}, geo.Vec3{X: 20, Y: 20, Z: 100 - 1e-9}, true}, // along it
	} {
		hit, ok := g.Raycast(x.from, x.to.Sub(x.from), 1000)
		if ok != x.hit {
			t.Errorf("from %v toward %v: hit %v at %v", x.from, x.to, ok, hit)
		}
	}
}

// The curved Earth hides: over level ground the horizon of an eye at height h is sqrt(2Rh/(1-k)) away
// (geometry; R the equatorial radius).
func TestCurvatureHides(t *testing.T) {
	g, err := terrain.NewGrid(geo.Bounds{MaxX: 40e3, MaxY: 200}, 100)
	if err != nil {
		t.Fatal(err)
	}
	for i := range g.Z {
		g.Z[i] = 0
	}
	const k, h = 0.13, 10
	horizon := math.Sqrt(2 * geo.SemiMajorM * h / (1 - k))
	eye := geo.Vec3{X: 50, Y: 90, Z: h}
	for _, d := range []float64{0.9, 0.99, 1.01, 1.1} {
		if s := g.LineOfSight(eye, geo.Vec3{X: 50 + d*horizon, Y: 90}, k); s.Clear != (d < 1) || !s.Known {
			t.Errorf("ground at %v of the horizon's distance: %+v", d, s)
		}
	}
	line, err := g.Skyline(eye, 4, k)
	if err != nil {
		t.Fatal(err)
	}
	dip := math.Atan(2 * h / horizon)
	if got := float64(line.Points[1].Elevation); math.Abs(got+dip) > 1e-6 || math.Abs(line.Points[1].DistanceM-horizon) > 60 {
		t.Errorf("horizon %v at %v m, want %v at %v m", got, line.Points[1].DistanceM, -dip, horizon)
	}
}

// A second road: dense samples along each direction.
func TestSkylineAgainstSampling(t *testing.T) {
	g := hills(t, 150, 120, 20)
	b := g.Bounds()
	eye := geo.Vec3{X: 1000, Y: 900}
	eye.Z, _ = g.HeightAt(eye.X, eye.Y)
	eye.Z += 1.7
	const k, n = 0.13, 360
	line, err := g.Skyline(eye, n, k)
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range line.Points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		best, edge := -math.Pi/2, 0.0
		for d := 0.05; ; d += 0.05 {
			q := geo.Vec2{X: eye.X + d*sin, Y: eye.Y + d*cos}
			if !b.Contains(q) {
				edge = d
				break
			}
			z, _ := g.HeightAt(q.X, q.Y)
			best = math.Max(best, math.Atan((z-eye.Z-(1-k)*d*d/(2*geo.SemiMajorM))/d))
		}
		if got := float64(p.Elevation); got < best-1e-9 || got > best+0.1/p.DistanceM {
			t.Errorf("direction %d: %v, sampled %v", i, got, best)
		}
		if math.Abs(p.KnownM-edge) > 0.1 {
			t.Errorf("direction %d: known to %v, edge at %v", i, p.KnownM, edge)
		}
	}
	if got, want := line.At(unit.Angle(0.5)*unit.Degree), (line.Points[0].Elevation+line.Points[1].Elevation)/2; math.Abs(float64(got-want)) > 1e-12 {
		t.Errorf("between directions: %v, want %v", got, want)
	}
}

// Missing data shortens what is known and nothing else: every sample of the ground that is there counts, near the
// holes and beyond them.
func TestSkylineOverMissingData(t *testing.T) {
	whole := hills(t, 90, 70, 20)
	rapid.Check(t, func(t *rapid.T) {
		g := &terrain.Grid{X0: whole.X0, Y0: whole.Y0, CellM: whole.CellM, NX: whole.NX, NY: whole.NY, Z: slices.Clone(whole.Z)}
		for range rapid.IntRange(1, 6).Draw(t, "holes") {
			i0, j0, w, h := rapid.IntRange(0, 80).Draw(t, "i"), rapid.IntRange(0, 60).Draw(t, "j"), rapid.IntRange(1, 20).Draw(t, "w"), rapid.IntRange(1, 20).Draw(t, "h")
			for j := j0; j < min(j0+h, g.NY); j++ {
				for i := i0; i < min(i0+w, g.NX); i++ {
					g.Z[j*g.NX+i] = float32(math.NaN())
				}
			}
		}
		eye := drawPoint(t, whole, "eye").Add(geo.Vec3{X: 0.37, Y: 0.53, Z: 6}) // off the lines between nodes, and never below the ground for that
		const n, step = 12, 2.0
		line, err := g.Skyline(eye, n, 1) // a flat Earth
		if err != nil {
			return // over a hole
		}
		for i, p := range line.Points {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			first := 0.0 // missing sample
			for d := step; first == 0 || g.Bounds().Contains(geo.Vec2{X: eye.X + d*sin, Y: eye.Y + d*cos}); d += step {
				z, ok := g.HeightAt(eye.X+d*sin, eye.Y+d*cos)
				switch {
				case !ok && first == 0:
					first = d
				case ok && math.Atan2(z-eye.Z, d) > float64(p.Elevation)+1e-9:
					t.Fatalf("direction %d: %v, but %v at %v m", i, p.Elevation, math.Atan2(z-eye.Z, d), d)
				}
			}
			// Known to no farther than that, and to where a hole or the border is: no farther off than a cell is wide.
			missing := p.KnownM > first-step-1e-6
			for k := range 9 {
				_, ok := g.HeightAt(eye.X+p.KnownM*sin+20*float64(k%3-1), eye.Y+p.KnownM*cos+20*float64(k/3-1))
				missing = missing || !ok
			}
			if p.KnownM > first+1e-6 || !missing {
				t.Fatalf("direction %d: known to %v m, first missing sample at %v m", i, p.KnownM, first)
			}
			if z, ok := g.HeightAt(eye.X+p.DistanceM*sin, eye.Y+p.DistanceM*cos); ok && math.Abs(math.Atan2(z-eye.Z, p.DistanceM)-float64(p.Elevation)) > 1e-6 {
				t.Fatalf("direction %d: %v at %v m, where the ground looks %v", i, p.Elevation, p.DistanceM, math.Atan2(z-eye.Z, p.DistanceM))
			}
		}
	})
}

func TestSkylineRefusals(t *testing.T) {
	g := flat(t)
	for _, eye := range []geo.Vec3{{X: 500, Y: 50, Z: 120}, {X: 50, Y: 50, Z: 90}} {
		if _, err := g.Skyline(eye, 8, 0); err == nil {
			t.Errorf("no error from %v", eye)
		}
	}
	if _, err := g.Skyline(geo.Vec3{X: 50, Y: 50, Z: 101}, 0, 0); err == nil {
		t.Error("no error for no directions")
	}
}

// The skyline and the shadow tell the same story: a place is lit when the sun stands above its skyline.
func TestShadowAgainstSkyline(t *testing.T) {
	g := wholeGrid(t, open(t, "utm.tif", terrain.Options{}))
	const k = 0.13
	b := g.Bounds()
	for _, c := range []struct{ azimuth, altitude float64 }{{20, 12}, {75, 5}, {135, 8}, {180, 9}, {250, 3}, {300, 15}, {360, 4}, {90, 6}} {
		az, alt := unit.Angle(c.azimuth)*unit.Degree, unit.Angle(c.altitude)*unit.Degree
		mask := g.Shadow(az, alt, k)
		lit, wrong := 0, 0
		for n, got := range mask.Nodes {
			p, _ := g.Node(n%g.NX, n/g.NX)
			// The sun's altitude at the node, given that in the middle: the ground tilts by d/R, less k of it.
			sin, cos := math.Sincos(float64(az))
			d := (p.X-(b.MinX+b.MaxX)/2)*sin + (p.Y-(b.MinY+b.MaxY)/2)*cos
			want := g.LightAt(p, az, alt+unit.Angle(d*(1-k)/geo.SemiMajorM), k)
			if got == terrain.Lit {
				lit++
			}
			if got != want {
				wrong++
			}
		}
		t.Logf("azimuth %v altitude %v: %.1f %% lit, %.3f %% differ", c.azimuth, c.altitude, 100*float64(lit)/float64(len(mask.Nodes)), 100*float64(wrong)/float64(len(mask.Nodes)))
		if float64(wrong) > 0.005*float64(len(mask.Nodes)) {
			t.Errorf("azimuth %v altitude %v: %d of %d nodes differ", c.azimuth, c.altitude, wrong, len(mask.Nodes))
		}
	}
	for n := 0; n < len(g.Z); n += 997 {
		p, _ := g.Node(n%g.NX, n/g.NX)
		line, err := g.Skyline(p.Add(geo.Vec3{Z: 1.7}), 36, k)
		if err != nil {
			t.Fatal(err)
		}
		for i, q := range line.Points {
			for _, above := range []float64{-0.01, 0.01} {
				if q.DistanceM*math.Pi/180*0.01 < 0.002 { // within the millimetre that LightAt allows for rounding
					continue
				}
				alt := q.Elevation + unit.Angle(above)*unit.Degree
				if got := g.LightAt(line.Eye, unit.Angle(i)*10*unit.Degree, alt, k); (got == terrain.Lit) != (above > 0) && math.Abs(alt.Deg()) < 80 {
					t.Errorf("node %d, direction %d, sun %v° above the skyline: %v", n, i, above, got)
				}
			}
		}
	}
}

func TestShadowOfAWall(t *testing.T) {
	// A wall 50 m high on level ground: with the sun 45° up in the east its shadow is 50 m long to the west.
	g := flat(t)
	for j := range g.NY {
		g.Z[j*g.NX+8] = 150
	}
	mask := g.Shadow(90*unit.Degree, 45*unit.Degree, 1)
	for j := range g.NY {
		for i := range g.NX {
			want := terrain.Lit
			if i >= 4 && i < 8 {
				want = terrain.Shaded
			}
			if got := mask.Nodes[j*g.NX+i]; got != want && i != 3 { // node 3 lies on the edge of the shadow
				t.Errorf("node %d, %d: %v, want %v", i, j, got, want)
			}
		}
	}
	for _, l := range g.Shadow(90*unit.Degree, -5*unit.Degree, 0).Nodes {
		if l != terrain.Shaded {
			t.Fatal("lit at night")
		}
	}
}

// Missing data is passed on as such, never as a height.
func TestVoids(t *testing.T) {
	g := hills(t, 60, 50, 20)
	for j := 20; j < 24; j++ {
		for i := 30; i < 33; i++ {
			g.Z[j*g.NX+i] = float32(math.NaN())
		}
	}
	hole, _ := g.Node(31, 21)
	if _, ok := g.HeightAt(hole.X, hole.Y); ok {
		t.Error("height in a hole")
	}
	if _, ok := g.HeightAt(hole.X+25, hole.Y); ok { // beside the hole, one corner missing
		t.Error("height beside a hole")
	}
	rim, _ := g.Node(29, 21)
	if z, ok := g.HeightAt(rim.X, rim.Y); !ok || z != rim.Z {
		t.Error("a node beside a hole has its own height")
	}
	if _, ok := g.Normal(hole.X, hole.Y); ok {
		t.Error("normal in a hole")
	}
	if g.Complete() {
		t.Error("complete")
	}
	a, b := geo.Vec3{X: hole.X - 200, Y: hole.Y, Z: 3000}, geo.Vec3{X: hole.X + 200, Y: hole.Y, Z: 3000}
	if s := g.LineOfSight(a, b, 0.13); s.Known {
		t.Errorf("%+v", s)
	}
	if got := g.LightAt(hole.Add(geo.Vec3{X: -200, Z: 3000}), 90*unit.Degree, unit.Degree, 0.13); got != terrain.Unknown {
		t.Errorf("light over a hole: %v", got)
	}
	v, err := g.Viewshed(geo.Vec2{X: g.X0, Y: g.Y0}, terrain.View{EyeM: 2000})
	if err != nil {
		t.Fatal(err)
	}
	e, err := g.Viewshed(geo.Vec2{X: g.X0, Y: g.Y0}, terrain.View{EyeM: 2000, Exact: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, cells := range [][]terrain.Visibility{v.Cells, e.Cells} {
		if cells[21*g.NX+31] != terrain.Unseen || cells[(21+14)*g.NX+31+21] != terrain.Unseen || cells[g.NX*5+50] != terrain.Visible {
			t.Errorf("hole %v, behind it %v, elsewhere %v", cells[21*g.NX+31], cells[(21+14)*g.NX+31+21], cells[g.NX*5+50])
		}
	}
	if _, err := g.Viewshed(hole.XY(), terrain.View{}); err == nil {
		t.Error("viewshed from a hole")
	}
	eye := geo.Vec3{X: hole.X - 200, Y: hole.Y, Z: 3000}
	line, err := g.Skyline(eye, 4, 0)
	if err != nil || math.Abs(line.Points[1].KnownM-160) > 1e-6 {
		t.Errorf("known to %v, %v", line.Points[1].KnownM, err)
	}
	if mask := g.Shadow(90*unit.Degree, 30*unit.Degree, 0); mask.Nodes[21*g.NX+31] != terrain.Unknown {
		t.Error("light in a hole")
	}
}

// Whatever goes in, no infinity and no NaN comes out, and nothing is called lit or known by mistake.
func TestNotANumber(t *testing.T) {
	g, nan := flat(t), math.NaN()
	for _, p := range []geo.Vec3{{X: nan, Y: 50, Z: 150}, {X: 50, Y: nan, Z: 150}, {X: 50, Y: 50, Z: nan}} {
		if _, ok := g.Raycast(p, geo.Vec3{X: 1, Z: -1}, 100); ok {
			t.Errorf("raycast from %v hit", p)
		}
		if got := g.LightAt(p, 1, 0.5, 0.13); got != terrain.Unknown {
			t.Errorf("light at %v: %v", p, got)
		}
		if _, err := g.Skyline(p, 4, 0.13); err == nil {
			t.Errorf("skyline from %v", p)
		}
		if c := g.Clearance(p, geo.Vec3{X: 60, Y: 60, Z: 150}); c.Any || math.IsNaN(c.LeastM) || math.IsInf(c.LeastM, 0) {
			t.Errorf("clearance from %v: %+v", p, c)
		}
	}
	if got := g.LightAt(geo.Vec3{X: 50, Y: 50, Z: 100}, 1, unit.Angle(nan), 0.13); got != terrain.Unknown {
		t.Errorf("light with no altitude: %v", got)
	}
	for _, mask := range []*terrain.Shadow{g.Shadow(unit.Angle(nan), 0.2, 0.13), g.Shadow(1, unit.Angle(nan), 0.13)} {
		if mask.Nodes[0] != terrain.Unknown {
			t.Errorf("shadow %v", mask.Nodes[0])
		}
	}
	empty, err := terrain.NewGrid(geo.Bounds{MaxX: 100, MaxY: 100}, 10)
	if err != nil {
		t.Fatal(err)
	}
	if lo, hi, ok := empty.MinMax(); ok || lo != 0 || hi != 0 {
		t.Errorf("heights of nothing: %v %v %v", lo, hi, ok)
	}
	if _, ok := empty.Raycast(geo.Vec3{X: 50, Y: 50, Z: 10}, geo.Vec3{X: 1, Z: -1}, 100); ok {
		t.Error("hit nothing")
	}
}

func TestQueriesDoNotAllocate(t *testing.T) {
	g := hills(t, 90, 70, 20)
	g.MinMax()
	o := geo.Vec3{X: 500, Y: 600, Z: 2100}
	if n := testing.AllocsPerRun(100, func() {
		g.HeightAt(o.X, o.Y)
		g.Normal(o.X, o.Y)
		g.Raycast(o, geo.Vec3{X: 1, Y: 0.3, Z: -0.4}, 5000)
		g.LineOfSight(o, geo.Vec3{X: 900, Y: 900, Z: 1900}, 0.13)
		g.Clearance(o, geo.Vec3{X: 900, Y: 900, Z: 1900})
		g.LightAt(o, 1, 0.2, 0.13)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
