package radio_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/radio"
	"fieldfare/model/unit"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

func must(t *testing.T) func(v float64, err error) float64 {
	return func(v float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Source: ITU-R P.525-5, L = 20 log10(4πdf/c), worked by hand; its practical form with the
// rounded 32.4 agrees within 0.05 dB.
func TestFreeSpaceLoss(t *testing.T) {
	for _, c := range []struct{ km, mhz, want float64 }{
		{1, 900, 91.5326}, {1, 1000, 92.4478}, {0.5, 2450, 94.2105}, {1, 2400, 100.0520}, {1, 5800, 107.7163}, {10, 1000, 112.4478},
	} {
		got := must(t)(radio.FreeSpaceLoss(c.mhz*1e6, c.km*1000))
		near(t, "loss", got, c.want, 1e-3)
		near(t, "practical form", got, 32.4+20*math.Log10(c.mhz)+20*math.Log10(c.km), 0.05)
	}
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(1e8, 1e10).Draw(t, "f")
		d := rapid.Float64Range(10, 1e5).Draw(t, "d")
		a, _ := radio.FreeSpaceLoss(f, d)
		b, _ := radio.FreeSpaceLoss(f, 2*d)
		if math.Abs(b-a-6.0206) > 1e-4 {
			t.Fatalf("doubling the distance adds %g dB, want 6.0206", b-a)
		}
	})
	for _, bad := range [][2]float64{{0, 1000}, {math.NaN(), 1000}, {1e9, 0}, {1e9, math.Inf(1)}} {
		if _, err := radio.FreeSpaceLoss(bad[0], bad[1]); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}

// Source: ITU-R P.526 equation 2 worked by hand; its practical form with 550 is 0.45 % high.
func TestFresnelRadius(t *testing.T) {
	for _, c := range []struct{ d1, d2, hz, want, practical float64 }{
		{500, 500, 2.4e9, 5.5882, 5.6134}, {500, 500, 5.8e9, 3.5947, 3.6109}, {250, 750, 2.4e9, 4.8396, 4.8614}, {5000, 5000, 9e8, 28.8575, 28.9875},
	} {
		got := must(t)(radio.FresnelRadius(1, c.hz, c.d1, c.d2))
		near(t, "radius", got, c.want, 1e-3)
		near(t, "practical", got, c.practical, 0.005*c.practical)
	}
}

// Source: ITU-R P.526 J(v), its approximation worked by hand at eleven v.
func TestEdgeLoss(t *testing.T) {
	v := []float64{-1, -0.78, -0.7799, -0.5, 0, 0.5, 1, 1.5, 2, 2.4, 3, 4}
	want := []float64{0, 0, 0.004, 1.959, 6.033, 10.288, 13.926, 16.784, 19.043, 20.539, 22.416, 24.881}
	for i := range v {
		near(t, "J", radio.EdgeLoss(v[i]), want[i], 2e-3)
	}
	near(t, "v", radio.EdgeParameter(2.4e9, 5, 500, 500), 1.26535, 1e-4)
	near(t, "J of a 5 m edge", radio.EdgeLoss(radio.EdgeParameter(2.4e9, 5, 500, 500)), 15.530, 2e-3)
}

// Source: testdata/authority/edge.py, exact Fresnel integrals by SciPy.
func TestEdgeLossAgainstFresnelIntegrals(t *testing.T) {
	f, err := os.Open("testdata/authority/edge.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for _, row := range rows[1:] {
		v, _ := strconv.ParseFloat(row[0], 64)
		exact, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		worst = math.Max(worst, math.Abs(radio.EdgeLoss(v)-exact))
	}
	t.Logf("%d values, worst %g dB", len(rows)-1, worst)
	if len(rows) < 100 || worst > 0.15 {
		t.Errorf("approximation is off by up to %g dB over %d values", worst, len(rows)-1)
	}
}

// Source: k·T·B with k exact (SI) at 290 K, worked by hand.
func TestNoiseFloor(t *testing.T) {
	for _, c := range []struct{ hz, want float64 }{{1, -173.975}, {1e6, -113.975}, {1e7, -103.975}, {2e7, -100.965}, {4e7, -97.955}} {
		near(t, "noise", must(t)(radio.NoiseFloor(c.hz, 290, 0)), c.want, 1e-3)
		near(t, "noise with figure", must(t)(radio.NoiseFloor(c.hz, 290, 6)), c.want+6, 1e-3)
	}
}

// Source: EN 300 328 limit 20 dBm EIRP at 1 km, 2.4 GHz, worked by hand from P.525 and k·T·B.
func TestBudget(t *testing.T) {
	l := radio.Link{FrequencyHz: 2.4e9, PowerW: 0.1, Rx: radio.Antenna{GainDBi: 2}, BandwidthHz: 1e7, NoiseFigureDB: 6, RequiredSNRDB: 10}
	b, err := l.Budget(1000, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "received", b.ReceivedDBm, -78.052, 1e-3)
	near(t, "noise", b.NoiseDBm, -97.975, 1e-3)
	near(t, "SNR", b.SNRDB, 19.92, 5e-3)
	near(t, "margin", b.MarginDB, 9.92, 5e-3)
	l.BlockingDB, l.PolarisationDB, l.FeederDB = 6, 3, 1
	worse, _ := l.Budget(1000, 4)
	near(t, "allowances", b.MarginDB-worse.MarginDB, 14, 1e-9)
	near(t, "1 W + 6 dBi", radio.EIRP(1, 6, 0), 36, 1e-9) // 47 CFR 15.247
	near(t, "in watts", radio.Watts(36), 3.981, 1e-3)
	near(t, "25 mW", radio.MilliwattsDB(0.025), 13.979, 1e-3)
}

// Source: half-wave dipole pattern (textbook): half power at 39° above the horizon.
func TestAntenna(t *testing.T) {
	a := radio.Antenna{GainDBi: 2.15, VerticalDipole: true}
	near(t, "horizon", a.GainToward(0), 2.15, 1e-9)
	near(t, "half power", a.GainToward(39*unit.Degree), 2.15-3, 0.05)
	near(t, "overhead", a.GainToward(90*unit.Degree), 2.15-20, 1e-9)
	near(t, "polarisation 45°", radio.PolarisationLoss(45*unit.Degree), 3.0103, 1e-3)
	near(t, "polarisation 90°", radio.PolarisationLoss(90*unit.Degree), 30, 1e-9)
}

// One thin edge: Bullington's equivalent edge and Deygout's main edge are that edge, so
// both reduce to J(v) (Bullington plus its correction).
func TestOneEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d1 := rapid.Float64Range(100, 2000).Draw(t, "d1")
		d2 := rapid.Float64Range(100, 2000).Draw(t, "d2")
		h := rapid.Float64Range(0.5, 40).Draw(t, "h")
		p := radio.Profile{DistanceM: []float64{0, d1, d1 + d2}, HeightM: []float64{10, 10 + h, 10}}
		bulge := d1 * d2 / (2 * radio.EarthRadiusFactor * 6371000)
		j := radio.EdgeLoss(radio.EdgeParameter(2.4e9, h+bulge, d1, d2))
		deygout, errD := p.Deygout(2.4e9)
		bullington, errB := p.Bullington(2.4e9)
		if errD != nil || errB != nil {
			t.Fatal(errD, errB)
		}
		if math.Abs(deygout-j) > 1e-9 {
			t.Fatalf("Deygout %g, J %g", deygout, j)
		}
		if want := j + (1-math.Exp(-j/6))*(10+0.02*(d1+d2)/1000); math.Abs(bullington-want) > 1e-6 {
			t.Fatalf("Bullington %g, want %g", bullington, want)
		}
	})
}

// Raising the ground never improves the link; a clear profile costs nothing.
func TestTerrainLossIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 30).Draw(t, "n")
		p := radio.Profile{}
		for i := range n {
			p.DistanceM = append(p.DistanceM, float64(i)*100)
			p.HeightM = append(p.HeightM, rapid.Float64Range(0, 60).Draw(t, "h"))
		}
		before, err := p.Bullington(2.4e9)
		if err != nil || before < 0 || math.IsNaN(before) {
			t.Fatalf("loss %g (%v)", before, err)
		}
		if d, err := p.Deygout(2.4e9); err != nil || !(d >= 0) {
			t.Fatalf("Deygout %g (%v)", d, err)
		}
		i := rapid.IntRange(1, n-2).Draw(t, "i")
		p.HeightM[i] += rapid.Float64Range(0, 30).Draw(t, "rise")
		after, err := p.Bullington(2.4e9)
		if err != nil || after < before-1e-9 {
			t.Fatalf("raising the ground at %g m changed the loss from %g to %g dB (%v)", p.DistanceM[i], before, after, err)
		}
	})
	clear := radio.Profile{DistanceM: []float64{0, 500, 1000}, HeightM: []float64{100, 0, 100}}
	near(t, "clear", must(t)(clear.Bullington(2.4e9)), 0, 0)
	share, at, ok := clear.FresnelClearance(2.4e9)
	if !ok {
		t.Fatal("no clearance")
	}
	near(t, "Fresnel share", share, 100/5.5882, 0.01) // radius as in TestFresnelRadius
	near(t, "at", at, 500, 0)
	for _, bad := range []radio.Profile{{}, {DistanceM: []float64{0, 1, 1}, HeightM: []float64{0, 0, 0}}, {DistanceM: []float64{0, 1}, HeightM: []float64{0, math.NaN()}}} {
		if _, err := bad.Bullington(1e9); err == nil {
			t.Errorf("profile %+v was taken", bad)
		}
	}
}

type ridge struct{}

func (ridge) HeightAt(x, y float64) (float64, bool) {
	return 80 * math.Max(0, 1-math.Abs(x-200)/20), x < 2000
}

func TestAlongAPath(t *testing.T) {
	l := radio.Link{FrequencyHz: 5.8e9, PowerW: 0.025, Tx: radio.Antenna{GainDBi: 2}, Rx: radio.Antenna{GainDBi: 8}, BandwidthHz: 2e7, NoiseFigureDB: 6, RequiredSNRDB: 12}
	path := []radio.Moment{{0, geo.Vec3{X: 100, Z: 60}}, {1, geo.Vec3{X: 400, Z: 60}}, {2, geo.Vec3{X: 500, Z: 400}}, {3, geo.Vec3{Z: 60}}}
	readings, err := l.Along(ridge{}, geo.Vec3{Z: 2}, path, 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := radio.Weakest(readings); got != 1 {
		t.Errorf("weakest moment %d, want the one behind the ridge", got)
	}
	if b := readings[1]; b.FresnelShare >= 0 || b.Budget.DiffractionDB < 20 {
		t.Errorf("behind the ridge: %+v", b)
	}
	if b := readings[2]; b.FresnelShare < 1 || b.Budget.DiffractionDB != 0 {
		t.Errorf("above the ridge: %+v", b)
	}
	if !readings[3].Overhead {
		t.Errorf("straight above: %+v", readings[3])
	}
	best, stands, err := l.BestStand(ridge{}, []geo.Vec3{{Z: 2}, {X: 450, Z: 2}, {X: 200, Z: 82}}, path, 1)
	if err != nil || best != 2 || len(stands) != 3 {
		t.Errorf("best stand %d of %+v (%v), want the ridge", best, stands, err)
	}
	unknown, err := l.Along(ridge{}, geo.Vec3{Z: 2}, append(path, radio.Moment{4, geo.Vec3{X: 3000, Z: 50}}), 5)
	if err != nil || unknown[4].TerrainKnown || radio.Weakest(unknown) != 4 {
		t.Errorf("unknown ground: %+v (%v)", unknown[4], err)
	}
}

func BenchmarkAlong(b *testing.B) {
	l := radio.Link{FrequencyHz: 5.8e9, PowerW: 0.025, BandwidthHz: 2e7, RequiredSNRDB: 12}
	path := make([]radio.Moment, 100)
	for i := range path {
		path[i] = radio.Moment{TimeS: float64(i), Pos: geo.Vec3{X: 100 + 5*float64(i), Y: 50, Z: 60}}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Along(ridge{}, geo.Vec3{Z: 2}, path, 10); err != nil {
			b.Fatal(err)
		}
	}
}
