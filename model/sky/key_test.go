package sky_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// Plain geometry: a camera that looks north with the sun round the compass.
func TestKeyNamesTheLight(t *testing.T) {
	north := geo.Vec3{Y: 1}
	for _, row := range []struct {
		azimuth, altitude float64
		side              float64
		want              sky.Light
	}{
		{180, 20, 0, sky.FrontLight},
		{135, 20, 45, sky.ThreeQuarterRight},
		{90, 20, 90, sky.SideRight},
		{270, 20, -90, sky.SideLeft},
		{225, 20, -45, sky.ThreeQuarterLeft},
		{45, 20, 135, sky.BackThreeQuarterR},
		{315, 20, -135, sky.BackThreeQuarterL},
		{0, 20, -180, sky.BackLight},
		{180, 70, 0, sky.TopLight},
		{180, -1, 0, sky.NoSun},
	} {
		p := sky.Position{Altitude: unit.Angle(row.altitude) * unit.Degree, Azimuth: unit.Angle(row.azimuth) * unit.Degree}
		k := p.Key(north, geo.Vec3{})
		if k.Light() != row.want || math.Abs(math.Remainder(k.Side.Deg()-row.side, 360)) > 1e-9 {
			t.Errorf("sun at %g, %g deg: %s from %g deg, want %s from %g deg", row.azimuth, row.altitude, k.Light(), k.Side.Deg(), row.want, row.side)
		}
	}
	into := sky.Position{Altitude: 0.2, Azimuth: 0.3}
	check(t, "geometry", "angle to the axis", into.Key(into.Direction(), geo.Vec3{}).FromAxis.Deg(), 0, 1e-6)
	down := sky.Position{Azimuth: 90 * unit.Degree, Altitude: 0.3}.Key(geo.Vec3{Z: -1}, geo.Vec3{X: 1})
	check(t, "geometry", "top-down with east at the top, sun in the east", math.Abs(down.Side.Deg()), 180, 1e-9)
	check(t, "geometry", "top-down angle to the sun", down.FromAxis.Deg(), 90+0.3*180/math.Pi, 1e-9)
}

// slope is a plane, whose shadow point has a closed form.
type slope struct{ a, b, c float64 }

func (s slope) HeightAt(x, y float64) (float64, bool) {
	return s.a*x + s.b*y + s.c, math.Abs(x) < 5000 && math.Abs(y) < 5000
}

func TestCastShadowOnAPlane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := slope{rapid.Float64Range(-0.1, 0.1).Draw(t, "a"), rapid.Float64Range(-0.1, 0.1).Draw(t, "b"), 1500}
		p := sky.Position{
			Altitude: unit.Angle(rapid.Float64Range(15, 89).Draw(t, "altitude")) * unit.Degree,
			Azimuth:  unit.Angle(rapid.Float64Range(0, 360).Draw(t, "azimuth")) * unit.Degree,
		}
		from := geo.Vec3{X: 10, Y: -20, Z: 1500 + rapid.Float64Range(10, 200).Draw(t, "height")}
		got, ok := sky.CastShadow(from, p.Direction(), s, 5, 5000)
		// from - k·sun lies on the plane.
		d := p.Direction()
		k := (from.Z - s.a*from.X - s.b*from.Y - s.c) / (d.Z - s.a*d.X - s.b*d.Y)
		want := from.Sub(d.Scale(k))
		if !ok || got.Sub(want).Norm() > 0.02 {
			t.Fatalf("shadow at %v, %v; want %v", got, ok, want)
		}
	})
	if _, ok := sky.CastShadow(geo.Vec3{Z: 1600}, geo.Vec3{Y: 1, Z: 0.001}, slope{0, 0, 1500}, 5, 2000); ok {
		t.Error("a shadow beyond the reach must not be found")
	}
	if _, ok := sky.CastShadow(geo.Vec3{Z: 1600}, geo.Vec3{Y: 1, Z: -0.1}, slope{0, 0, 1500}, 5, 2000); ok {
		t.Error("a sun below the horizon casts no shadow")
	}
}

// A disc of half a degree leaves a metre's full shadow about 107 m long (1/(2 tan 0.267°)).
func TestUmbra(t *testing.T) {
	check(t, "geometry", "umbra of 1 m", sky.Position{Semidiameter: 0.267 * unit.Degree}.UmbraM(1), 107.3, 0.1)
}

// The golden hour holds both sunrise and sunset, and the blue hour joins it.
func TestHours(t *testing.T) {
	place, _ := paperPlace(t)
	from := instant(t, time.Date(2003, 10, 17, 7, 0, 0, 0, time.UTC))
	almanac, err := sky.NewAlmanac(place, from, from.Add(86400))
	if err != nil {
		t.Fatal(err)
	}
	golden, blue := sky.Golden.Spans(almanac, from, 86400), sky.Blue.Spans(almanac, from, 86400)
	if len(golden) != 2 || len(blue) != 2 {
		t.Fatalf("golden %v, blue %v: want two of each", golden, blue)
	}
	check(t, "definition", "blue ends where golden starts", blue[0].To-golden[0].From, 0, 0.3)
	check(t, "definition", "golden ends where blue starts", golden[1].To-blue[1].From, 0, 0.3)
	for _, s := range append(golden, blue...) {
		if s.To-s.From < 300 || s.To-s.From > 5400 {
			t.Errorf("an hour of %g s", s.To-s.From)
		}
	}
}
