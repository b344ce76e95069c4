package lesson_test

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	"pgregory.net/rapid"
)

// digits is the number of right digits of got, as NIST counts them (log relative error).
func digits(got, certified float64) float64 {
	if got == certified {
		return 15
	}
	return -math.Log10(math.Abs(got-certified) / math.Abs(certified))
}

func sure(t *testing.T, what string, got, certified, least float64) {
	t.Helper()
	if d := digits(got, certified); d < least {
		t.Errorf("%s: got %.15g, certified %.15g: %.1f digits, want %g", what, got, certified, d, least)
	}
}

// Source: NIST StRD, dataset Norris (file Norris.dat of the tests of Debian's python3-scipy,
// kept whole in testdata/authority).
func TestNorris(t *testing.T) {
	f, err := os.Open("testdata/authority/Norris.dat")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var x [][]float64
	var y []float64
	for n, s := 1, bufio.NewScanner(f); s.Scan(); n++ {
		if c := strings.Fields(s.Text()); n > 60 && len(c) == 2 {
			a, _ := strconv.ParseFloat(c[0], 64)
			b, _ := strconv.ParseFloat(c[1], 64)
			x, y = append(x, []float64{1, b}), append(y, a)
		}
	}
	if len(y) != 36 {
		t.Fatal(len(y))
	}
	fit, err := lesson.Regress(x, y)
	if err != nil {
		t.Fatal(err)
	}
	sure(t, "B0", fit.Coef[0], -0.262323073774029, 11)
	sure(t, "B1", fit.Coef[1], 1.00211681802045, 13)
	sure(t, "sd B0", fit.SE[0], 0.232818234301152, 12)
	sure(t, "sd B1", fit.SE[1], 0.429796848199937e-03, 12)
	sure(t, "residual sd", fit.ResidualSD, 0.884796396144373, 12)
	sure(t, "R2", fit.R2, 0.999993745883712, 13)
	if fit.DF != 34 {
		t.Error(fit.DF)
	}
}

// Source: NIST StRD, dataset Longley, higher level of difficulty; data and certified
// values from memory (a wrong figure among them would spoil the agreement).
func TestLongley(t *testing.T) {
	rows := [][]float64{
		{60323, 83.0, 234289, 2356, 1590, 107608}, {61122, 88.5, 259426, 2325, 1456, 108632}, {60171, 88.2, 258054, 3682, 1616, 109773},
		{61187, 89.5, 284599, 3351, 1650, 110929}, {63221, 96.2, 328975, 2099, 3099, 112075}, {63639, 98.1, 346999, 1932, 3594, 113270},
		{64989, 99.0, 365385, 1870, 3547, 115094}, {63761, 100.0, 363112, 3578, 3350, 116219}, {66019, 101.2, 397469, 2904, 3048, 117388},
		{67857, 104.6, 419180, 2822, 2857, 118734}, {68169, 108.4, 442769, 2936, 2798, 120445}, {66513, 110.8, 444546, 4681, 2637, 121950},
		{68655, 112.6, 482704, 3813, 2552, 123366}, {69564, 114.2, 502601, 3931, 2514, 125368}, {69331, 115.7, 518173, 4806, 2572, 127852},
		{70551, 116.9, 554894, 4007, 2827, 130081},
	}
	var x [][]float64
	var y []float64
	for i, r := range rows {
		x, y = append(x, append([]float64{1}, append(r[1:], float64(1947+i))...)), append(y, r[0])
	}
	fit, err := lesson.Regress(x, y)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range [][2]float64{
		{-3482258.63459582, 890420.383607373}, {15.0618722713733, 84.9149257747669}, {-0.358191792925910e-01, 0.334910077722432e-01},
		{-2.02022980381683, 0.488399681651699}, {-1.03322686717359, 0.214274163161675}, {-0.511041056535807e-01, 0.226073200069370}, {1829.15146461355, 455.478499142212},
	} {
		sure(t, fmt.Sprint("B", i), fit.Coef[i], c[0], 9)
		sure(t, fmt.Sprint("sd B", i), fit.SE[i], c[1], 9)
	}
	sure(t, "residual sd", fit.ResidualSD, 304.854073561965, 10)
}

// Source: NIST StRD, univariate datasets NumAcc1 (10000001, 10000003, 10000002), NumAcc2
// (1.2, then 1.1 and 1.3 five hundred times) and NumAcc3 (NumAcc2 + 1 000 000), from memory.
func TestMeanAgainstNIST(t *testing.T) {
	alternate := func(base float64) []float64 {
		v := []float64{base + .2}
		for range 500 {
			v = append(v, base+.1, base+.3)
		}
		return v
	}
	for _, c := range []struct {
		v        []float64
		mean, sd float64
		least    float64
	}{{[]float64{10000001, 10000003, 10000002}, 10000002, 1, 15}, {alternate(1), 1.2, 0.1, 13}, {alternate(1000000), 1000000.2, 0.1, 8}} {
		mean, sd, low, high, err := lesson.Mean(c.v)
		if err != nil {
			t.Fatal(err)
		}
		sure(t, "mean", mean, c.mean, 14)
		sure(t, "sd", sd, c.sd, c.least)
		if !(low < mean && mean < high) {
			t.Error(low, mean, high)
		}
	}
}

// Source: scipy 1.10.1 and numpy 1.24.2 (Debian); authority/intervals.py.
func TestIntervalsAgainstScipy(t *testing.T) {
	var a struct {
		X, Y, Coef, Value, Half90, Durations []float64
		CI, At                               [][]float64
		Median, Low, High, P90               float64
	}
	data, err := os.ReadFile("testdata/authority/intervals.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &a); err != nil {
		t.Fatal(err)
	}
	var x [][]float64
	for _, v := range a.X {
		x = append(x, []float64{1, v})
	}
	f, err := lesson.Regress(x, a.Y)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.Coef {
		sure(t, "coefficient", f.Coef[i], a.Coef[i], 10)
		sure(t, "low", f.Low[i], a.CI[i][0], 8)
		sure(t, "high", f.High[i], a.CI[i][1], 8)
	}
	for i := range a.At {
		y, half := f.At(a.At[i], 0.9)
		sure(t, "prediction", y, a.Value[i], 10)
		sure(t, "half-width", half, a.Half90[i], 8)
	}
	p, err := lesson.Durations("changeover_s", "crew", 100, a.Durations)
	if err != nil {
		t.Fatal(err)
	}
	sure(t, "median", p.New, a.Median, 10)
	sure(t, "low", p.Low, a.Low, 8)
	sure(t, "high", p.High, a.High, 8)
	sure(t, "nine of ten", p.PlanFor, a.P90, 8)
}

func TestRegressRefuses(t *testing.T) {
	for _, c := range []struct {
		x    [][]float64
		y    []float64
		want string
	}{
		{nil, nil, "0 rows"}, {[][]float64{{1, 2}, {1, 3}}, []float64{1, 2}, "more cases"},
		{[][]float64{{1, 2}, {1, 2}, {1, 2}}, []float64{1, 2, 3}, "do not differ enough"},
		{[][]float64{{1, 0}, {1, 0}, {1, 0}}, []float64{1, 2, 3}, "column 2 is zero"},
		{[][]float64{{1}, {math.NaN()}, {1}}, []float64{1, 2, 3}, "not a number"},
		{[][]float64{{1}, {1, 2}, {1}}, []float64{1, 2, 3}, "columns"},
	} {
		if _, err := lesson.Regress(c.x, c.y); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

func TestExactLineIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-100, 100).Draw(t, "a"), rapid.Float64Range(-100, 100).Draw(t, "b")
		var x [][]float64
		var y []float64
		for i := range 10 {
			x, y = append(x, []float64{1, float64(i)}), append(y, a+b*float64(i))
		}
		f, err := lesson.Regress(x, y)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Coef[0]-a) > 1e-9 || math.Abs(f.Coef[1]-b) > 1e-9 {
			t.Fatal(f.Coef, a, b)
		}
	})
}

var day = time.Date(2026, 6, 21, 8, 0, 0, 0, time.UTC)

func sortie(n int, planned, used float64) *logbook.Sortie {
	at := day.Add(time.Duration(n) * 20 * time.Minute)
	return &logbook.Sortie{Sortie: fmt.Sprint(n), Aircraft: "A1", Pilot: "p", Pack: fmt.Sprint("P", n%2), TakeOff: at, Landing: at.Add(12 * time.Minute), EnergyPlannedWh: &planned, EnergyUsedWh: &used}
}

// holds says that every sortie was planned with a factor.
func holds(factor float64) func(*logbook.Sortie) (float64, string) {
	return func(*logbook.Sortie) (float64, string) { return factor, "" }
}

// Source: NIST StRD, dataset NoInt1, a line through the origin (x from 60 to 70, y from 130 to 140), certified
// values from memory; Student's t for 10 degrees of freedom at 0.975 is 2.228138852 (scipy 1.10.1). A fleet that
// was planned with a factor F draws F times less of its plan: planned F·x and used y must give the same new
// factor, which is F times the factor found.
func TestPowerFactorOnTopOfAnother(t *testing.T) {
	const slope, sd, residual = 2.07438016528926, 0.165289256198347e-01, 3.56753034006338
	for _, old := range []float64{1, 1.12, 0.9} {
		var s []*logbook.Sortie
		for i := range 11 {
			s = append(s, sortie(i, old*float64(60+i), float64(130+i)))
		}
		p, err := lesson.PowerFactor("A1", old, s, holds(old))
		if err != nil {
			t.Fatal(err)
		}
		sure(t, "new", p.New, slope, 12)
		sure(t, "found times old", *p.Found*p.Old, slope, 12)
		sure(t, "low", p.Low, slope-2.228138852*sd, 9)
		sure(t, "high", p.High, slope+2.228138852*sd, 9)
		sure(t, "spread", *p.Spread, residual/65, 12)
		if p.Cases != 11 || p.Old != old || p.Plan != fmt.Sprintf("%.0f %%", math.Ceil(p.PlanFor*100)) {
			t.Errorf("%+v", p)
		}
		if e, err := logbook.New("lesson-0001", "A. Chief", day, p.Lesson()); err != nil || e.Check() != nil {
			t.Error(err, e.Check())
		}
	}
}

// Sorties from before and after a change of the factor stand on one scale; one that nobody can place is left
// out and named. Every sortie here drew 1.15 times the model's energy.
func TestPowerFactorAcrossAChange(t *testing.T) {
	var s []*logbook.Sortie
	factor := map[string]float64{}
	for i := range 12 {
		f := 1.0
		if i >= 6 {
			f = 1.1
		}
		model := 60 + 5*float64(i)
		s = append(s, sortie(i, f*model, 1.15*model*(1+0.002*float64(i%3-1))))
		factor[s[i].Sortie] = f
	}
	p, err := lesson.PowerFactor("A1", 1.1, s, func(x *logbook.Sortie) (float64, string) {
		if x.Sortie == "11" {
			return 0, "nobody knows"
		}
		return factor[x.Sortie], ""
	})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.New-1.15) > 0.002 || math.Abs(*p.Found-1.15/1.1) > 0.002 || p.Cases != 11 || *p.Spread > 0.005 || len(p.LeftOut) != 1 || p.LeftOut[0] != "sortie 11: nobody knows" {
		t.Errorf("%+v", p)
	}
	if _, err := lesson.PowerFactor("A1", 1.1, s, func(*logbook.Sortie) (float64, string) { return 0, "nobody knows" }); !errors.Is(err, lesson.ErrFew) || !strings.Contains(err.Error(), "sortie 3: nobody knows") {
		t.Error(err)
	}
}

func TestPowerFactor(t *testing.T) {
	var s []*logbook.Sortie
	for i, e := range []float64{0.01, -0.01, 0.02, -0.02, 0.005, -0.005, 0.012, -0.012} {
		planned := 60 + 5*float64(i)
		s = append(s, sortie(i, planned, planned*(1.15+e)))
	}
	s = append(s, sortie(8, 80, 180)) // a wrong entry
	p, err := lesson.PowerFactor("A1", 1, s, holds(1))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.New-1.15) > 0.005 || !p.Changed || p.Cases != 8 || len(p.LeftOut) != 1 || !(p.Low < p.New && p.New < p.High && p.High < p.PlanFor) {
		t.Errorf("%+v", p)
	}
	if _, err := lesson.PowerFactor("A1", 1, s[:4], holds(1)); !errors.Is(err, lesson.ErrFew) {
		t.Error(err)
	}
	if _, err := lesson.PowerFactor("other", 1, s, holds(1)); !errors.Is(err, lesson.ErrFew) {
		t.Error(err)
	}
	e, err := logbook.New("lesson-0001", "A. Chief", day, p.Lesson())
	if err != nil || e.Check() != nil {
		t.Error(err, e.Check())
	}
}

func TestChangeoversAndResets(t *testing.T) {
	s := []*logbook.Sortie{sortie(1, 1, 1), sortie(0, 1, 1), sortie(2, 1, 1)}
	s = append(s, sortie(3, 1, 1))
	s[3].Pack = "P0" // the same pack flew on: no changeover
	if got := fmt.Sprint(lesson.Changeovers(s, time.Hour)); got != "[480 480]" {
		t.Error(got)
	}
	at := func(m int) time.Time { return day.Add(time.Duration(m) * time.Minute) }
	takes := []*logbook.Take{{Sortie: "1", Slate: "4B", Take: 2, From: at(5), To: at(6)}, {Sortie: "1", Slate: "4B", Take: 1, From: at(1), To: at(2)},
		{Sortie: "1", Slate: "5", Take: 1, From: at(7), To: at(8)}, {Sortie: "2", Slate: "4B", Take: 3, From: at(30), To: at(31)}}
	if got := fmt.Sprint(lesson.Resets(takes)); got != "[180]" {
		t.Error(got)
	}
}

func TestPackHealth(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	read := func(n int, capacity, ohm, kelvin float64) lesson.Reading {
		return lesson.Reading{At: day.AddDate(0, 0, n), Pack: &logbook.Pack{Pack: "P1", Cycles: n, RatedAh: v(16), CapacityAh: v(16 * capacity), ResistanceOhm: v(ohm), TemperatureK: v(kelvin)}}
	}
	var r []lesson.Reading
	for i := range 8 {
		wiggle := []float64{.002, -.002}[i%2]
		r = append(r, read(i*20, 1-0.0005*float64(i*20)+wiggle, 0.02*(1+0.002*float64(i*20))+wiggle/100, 295))
	}
	r = append(r, read(145, 0.5, 0.09, 263)) // measured in the cold: left out
	h := lesson.PackHealth("P1", r, lesson.CommonPackRules, day.AddDate(0, 0, 145))
	// The middle line crosses 80 % at cycle 400; the cautious bound must lie before it.
	if h.RetireAtCycles == nil || *h.RetireAtCycles < 330 || *h.RetireAtCycles >= 400 || h.Severity != "note" || len(h.LeftOut) != 1 {
		t.Fatalf("%+v", h)
	}
	if math.Abs(*h.FadePerCycle-0.0005) > 5e-5 || !(*h.FadeLow < 0.0005 && 0.0005 < *h.FadeHigh) {
		t.Errorf("fade %g in %g to %g", *h.FadePerCycle, *h.FadeLow, *h.FadeHigh)
	}
	if want := day.AddDate(0, 0, *h.RetireAtCycles); math.Abs(h.RetireBy.Sub(want).Hours()) > 25 {
		t.Errorf("at one cycle a day it should retire by %v, not %v", want, h.RetireBy)
	}
	if h := lesson.PackHealth("P1", r, lesson.CommonPackRules, day.AddDate(0, 0, *h.RetireAtCycles-30)); h.Severity != "caution" {
		t.Errorf("a month before, a caution is due: %+v", h)
	}
	if h := lesson.PackHealth("P1", append(r, read(200, 0.79, 0.03, 295)), lesson.CommonPackRules, day); h.Severity != "stop" {
		t.Errorf("%+v", h)
	}
	for _, few := range [][]lesson.Reading{nil, r[:3]} {
		if h := lesson.PackHealth("P1", few, lesson.CommonPackRules, day); h.Severity != "unknown" {
			t.Errorf("%d readings: %+v", len(few), h)
		}
	}
}
