package assess_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// edit is one text of one file replaced by another, once.
type edit struct{ file, from, to string }

// edited prepares a copy of the demo with changes and with only the named slates.
func edited(t *testing.T, keep []string, edits ...edit) *assess.Assessor {
	t.Helper()
	if len(edits) > 0 {
		return prepared(t, keep, edits)
	}
	plain.Lock()
	defer plain.Unlock()
	key := strings.Join(keep, " ")
	if plain.by[key] == nil {
		plain.by[key] = prepared(t, keep, nil)
	}
	return plain.by[key]
}

// plain are the demo's slates as they stand, prepared once for all tests.
var plain = struct {
	sync.Mutex
	by map[string]*assess.Assessor
}{by: map[string]*assess.Assessor{}}

func prepared(t *testing.T, keep []string, edits []edit) *assess.Assessor {
	t.Helper()
	dir := standin.Copy(t)
	for _, e := range edits {
		standin.Edit(t, dir, e.file, e.from, e.to)
	}
	standin.Keep(t, dir, keep...)
	return standin.Assess(t, dir)
}

var noon = time.Date(2026, 9, 22, 12, 10, 0, 0, time.FixedZone("", 7200))

func find(a assess.Assessment, what string) *assess.Finding {
	for i := range a.Findings {
		if strings.Contains(a.Findings[i].What, what) {
			return &a.Findings[i]
		}
	}
	return nil
}

func want(t *testing.T, a assess.Assessment, what string, s assess.Severity) *assess.Finding {
	t.Helper()
	f := find(a, what)
	if f == nil {
		t.Fatalf("no finding about %q", what)
	}
	if f.Severity != s {
		t.Errorf("%q is %s, want %s: %+v", what, f.Severity, s, *f)
	}
	return f
}

const shelf = "kit/shelf.yaml"

// What is taken off the shelf turns its number into an unknown, never into a pass.
func TestUnknownOfTheAircraftIsNotPassed(t *testing.T) {
	for _, tc := range []struct {
		name, what string
		edit       edit
	}{
		{"thrust", "thrust margin", edit{shelf, "    max_thrust: 21 kg\n", ""}},
		{"thrust margin", "thrust margin", edit{"shoot.yaml", "  thrust_margin: 30 %\n", ""}},
		{"torque", "motor torque", edit{shelf, "    torque: 0.5 N m\n", ""}},
		{"payload", "gimbal payload", edit{shelf, "    payload: 1.6 kg\n", ""}},
		{"travel", "must move", edit{shelf, "    plate_travel: 40 mm\n    plate_up: -30 mm\n", ""}},
		{"roll travel", "roll travel", edit{shelf, "    roll_limit: 35 deg\n", ""}},
		{"rotor place", "landing gear and rotors in the picture", edit{shelf, "    rotor_above: 240 mm\n", ""}},
		{"gear place", "landing gear in the picture", edit{shelf, "    gear_half_width: 240 mm\n", ""}},
		{"centre of mass", "centre of mass", edit{shelf, "    packs_up: 275 mm\n", ""}},
		{"reserve", "reserve at landing", edit{"shoot.yaml", "  reserve: 25 %\n", ""}},
		{"gust limit", "gust limit", edit{"shoot.yaml", "  gust: 11 m/s\n", ""}},
		{"wind", "energy against the wind", edit{"shoot.yaml", "forecast: forecast.csv\n", ""}},
		{"weather", "weather", edit{"shoot.yaml", "forecast: forecast.csv\n", ""}},
		{"cold", "energy of the packs", edit{shelf, "    cold: [{at: -10 C, share: 72 %}, {at: 0 C, share: 85 %}, {at: 10 C, share: 94 %}, {at: 20 C, share: 100 %}]\n    airframes: [Heron 8]", "    cold: [{at: 40 C, share: 100 %}]\n    airframes: [Heron 8]"}},
		{"shake", "shake left by the gimbal", edit{shelf, "    residual: 0.02 deg/s\n    residual_per_wind: 0.008 deg/s\n", ""}},
		{"good range", "good range of the lens", edit{shelf, "f/1.8, smallest: f/22, good_from: f/4, good_to: f/11", "f/1.8, smallest: f/22"}},
		{"discharge", "current that pack", edit{shelf, "    discharge_c: 12\n", ""}},
		{"pan rate", "pan rate", edit{shelf, "    pan_rate: 90 deg/s\n", ""}},
		{"mains", "frequency of the mains", edit{"shoot.yaml", "slate: 2A\n", "slate: 2A\n    lamps: true\n"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			a := edited(t, []string{"2A"}, tc.edit)
			want(t, a.Take("2A").At(noon), tc.what, assess.Unknown)
		})
	}
}

// The hour's weather of table and reports together: the harder value of both, what one lacks from the other.
func TestReportAndTable(t *testing.T) {
	at := func(report string) (assess.WeatherNumbers, assess.Assessment) {
		a := edited(t, []string{"2A"}, edit{"shoot.yaml", "forecast: forecast.csv\n", "forecast: forecast.csv\nreports:\n  - " + report + "\n"})
		x := a.Take("2A").At(noon)
		return x.Numbers.Weather, x
	}
	plain := edited(t, []string{"2A"}).Take("2A").At(noon).Numbers.Weather
	calm, _ := at(`"METAR LXYZ 221000Z 25003KT 9999 FEW045 17/09 Q1019"`)
	if *calm.WindMS != *plain.WindMS || *calm.TemperatureC != 17 || !strings.Contains(calm.Source, "LXYZ") || !strings.Contains(calm.Source, "forecast.csv") {
		t.Errorf("a calmer report: wind %g (table alone %g), %g C, source %q", *calm.WindMS, *plain.WindMS, *calm.TemperatureC, calm.Source)
	}
	storm, x := at(`"TAF LXYZ 220500Z 2206/2306 25006KT 9999 SCT040 TEMPO 2209/2212 28025G38KT 2000 +TSRA BKN015CB"`)
	if *storm.WindMS < 12.8 || *storm.GustMS < 19 || *storm.VisibilityM != 2000 {
		t.Errorf("a temporary storm: wind %g, gust %g, visibility %g", *storm.WindMS, *storm.GustMS, *storm.VisibilityM)
	}
	for _, what := range []string{"wind at", "gusts", "visibility", "precipitation", "thunderstorm"} {
		want(t, x, what, assess.Stop)
	}
	_, odd := at(`"METAR LXYZ 221000Z 25003KT 9999 FEW045 17/09 Q1019 ZZGARBLE"`)
	if f := want(t, odd, "part of the report", assess.Unknown); !strings.Contains(f.Value, "ZZGARBLE") {
		t.Error(f.Value)
	}
	// The same report from a station 1000 m lower: 6.5 K colder here (ISO 2533 lapse rate).
	z, _ := edited(t, []string{"2A"}).Shoot.Ground().HeightAt(0, 0)
	low := edited(t, []string{"2A"}, edit{"shoot.yaml", "forecast: forecast.csv\n", "forecast: forecast.csv\nreports:\n  - \"METAR LXYZ 221000Z 25003KT 9999 FEW045 17/09 Q1019\"\n"},
		edit{"shoot.yaml", "  people: 12/km2", fmt.Sprintf("  people: 12/km2\n  report_height: %.3f m", z-1000)}).Take("2A").At(noon).Numbers.Weather
	if math.Abs(*low.TemperatureC-10.5) > 1e-3 {
		t.Errorf("%g C", *low.TemperatureC)
	}
	variable, v := at(`"METAR LXYZ 221000Z VRB12KT 9999 FEW045 17/09 Q1019"`)
	if variable.WindFromDeg != nil {
		t.Errorf("a variable wind comes from %g", *variable.WindFromDeg)
	}
	want(t, v, "wind direction", assess.Unknown)
	if !v.Numbers.Flight.Wind.AnyDirection || *v.Numbers.Flight.TakeEnergyWh <= 0 {
		t.Errorf("%+v", v.Numbers.Flight.Wind)
	}
}

// An hour outside the forecast has no weather.
func TestOutsideTheForecast(t *testing.T) {
	a := edited(t, []string{"2A"})
	x := a.Take("2A").At(time.Date(2026, 9, 22, 1, 30, 0, 0, time.UTC)) // 03:30 local, the table begins at 04:00
	want(t, x, "weather", assess.Unknown)
	if n := x.Numbers.Weather; n.WindMS != nil || n.TemperatureC != nil {
		t.Errorf("%+v", n)
	}
	if n := x.Numbers.Flight; n.Wind != nil {
		t.Errorf("wind along the path of an unknown wind: %+v", n.Wind)
	}
	s := a.Shoot
	if gaps := s.Uncovered(shoot.Clock{Hour: 2}, shoot.Clock{Hour: 23}); len(gaps) != 1 || !strings.Contains(gaps[0], "from 02:00 to 04:00") {
		t.Errorf("%q", gaps)
	}
}

// Wind against the take: head and cross wind, and what is left of the airframe's speed.
func TestWindAlongThePath(t *testing.T) {
	calm := edited(t, []string{"2A"}, edit{"forecast.csv", "12:00:00+02:00,3.5,4.9,250", "12:00:00+02:00,0,0,250"}).Take("2A").At(noon).Numbers.Flight
	if calm.Wind.HeadwindMS != 0 || calm.Wind.CrosswindMS != 0 || calm.Wind.PushM != 0 {
		t.Errorf("still air: %+v", calm.Wind)
	}
	// The push in runs toward 15 degrees, from a bearing of 195; hand-worked: 3.5 m/s at 10 m from 45 degrees
	// to its right, grown by the log law to the flying height.
	x := edited(t, []string{"2A"}, edit{"forecast.csv", "12:00:00+02:00,3.5,4.9,250", "12:00:00+02:00,3.5,4.9,60"}).Take("2A").At(noon)
	n := x.Numbers.Flight.Wind
	wind := *x.Numbers.Weather.WindMS
	if wind <= 3.5 || math.Abs(n.HeadwindMS-wind*math.Cos(math.Pi/4)) > 0.03*wind || math.Abs(n.CrosswindMS-wind*math.Sin(math.Pi/4)) > 0.03*wind {
		t.Errorf("%g m/s from 45 degrees on: head %g, cross %g", wind, n.HeadwindMS, n.CrosswindMS)
	}
	// A stable air's power law, exponent 0.55, brings more of it up than open ground's logarithm.
	stable := edited(t, []string{"2A"}, edit{"shoot.yaml", "  people: 12/km2", "  people: 12/km2\n  stability: F"}, edit{"forecast.csv", "12:00:00+02:00,3.5,4.9,250", "12:00:00+02:00,3.5,4.9,60"}).Take("2A").At(noon)
	if *stable.Numbers.Weather.WindMS <= wind {
		t.Errorf("%g m/s in stable air, %g m/s by the ground cover", *stable.Numbers.Weather.WindMS, wind)
	}
	fast := edited(t, []string{"2A"}, edit{shelf, "    level_speed: 15 m/s", "    level_speed: 6 m/s"}, edit{"forecast.csv", "12:00:00+02:00,3.5,4.9,250", "12:00:00+02:00,3.5,4.9,15"}).Take("2A")
	f := want(t, fast.At(noon), "airspeed against the wind", assess.Stop)
	if f.AtS == nil {
		t.Error("no moment")
	}
	gone := edited(t, []string{"2A"}, edit{"forecast.csv", "12:00:00+02:00,3.5,4.9,250", "12:00:00+02:00,14,17,15"})
	want(t, gone.Take("2A").At(noon), "home against the wind", assess.Stop)
	shut := fast.Shut(noon)
	for i, name := range fast.Gates() {
		if name == "airspeed" && !shut.Has(i) {
			t.Error("the gate is open though the airspeed is too great")
		}
	}
}

// The fit shows which hover it rests on; a second one at another mass changes it, and a bad pair is said.
func TestFitShown(t *testing.T) {
	n := edited(t, []string{"2A"}).Take("2A").At(noon).Numbers.Flight.Fit
	if len(n.Hovers) != 1 || n.Hovers[0].MassKg != 9.2 || math.Abs(n.Hovers[0].MeasuredW-252*3600.0/(13*60)) > 0.01 || math.Abs(n.Hovers[0].ResidualPct) > 1e-6 {
		t.Errorf("%+v", n)
	}
	more := edited(t, []string{"2A"}, edit{shelf, "    hover: {mass: 9.2 kg, time: 13 min, energy: 252 Wh}\n", "    hover: {mass: 9.2 kg, time: 13 min, energy: 252 Wh}\n    more_hovers: [{mass: 9.2 kg, time: 13 min, energy: 350 Wh, source: log}]\n"}).Take("2A").At(noon)
	if n := more.Numbers.Flight.Fit; len(n.Hovers) != 2 || n.Hovers[1].Source != "log" || n.SpreadPct == nil || *n.SpreadPct < 8 {
		t.Errorf("%+v", n)
	}
	want(t, more, "fit of the power model", assess.Caution)
}

// Packs: age and cold take energy, each pack has its own numbers, and the weakest stands for the slate.
func TestPacks(t *testing.T) {
	a := edited(t, []string{"2A"}, edit{"shoot.yaml", "{name: P3, model: P22-16, cycles: 12}", "{name: P3, model: P22-16, health: 55 %}"})
	n := a.Take("2A").At(noon).Numbers.Flight
	if len(n.Packs) != 3 {
		t.Fatal(n.Packs)
	}
	for _, p := range n.Packs {
		if !(p.RatedWh > *p.AgedWh && *p.AgedWh > *p.ColdWh && *p.ColdWh > *p.DeliveredWh && *p.DeliveredWh > *p.UsableWh) {
			t.Errorf("%s: energy does not fall from the label on: %+v", p.Name, p)
		}
		if math.Abs(*p.ReserveWh / *p.DeliveredWh - 0.25) > 1e-9 {
			t.Errorf("%s: reserve %g of %g", p.Name, *p.ReserveWh, *p.DeliveredWh)
		}
	}
	if *n.UsableEnergyWh != *n.Packs[2].UsableWh || *n.Packs[2].UsableWh > 0.6**n.Packs[0].UsableWh {
		t.Errorf("the weakest does not stand for the slate: %g of %g, %g", *n.UsableEnergyWh, *n.Packs[0].UsableWh, *n.Packs[2].UsableWh)
	}
	sheets := a.PackSheets()
	if len(sheets) != 6 || sheets[0].ByAir.Source == "" || !strings.Contains(sheets[0].ByAir.Class, "cargo") || *sheets[0].ChargeS <= 0 {
		t.Errorf("%+v", sheets)
	}
	none := edited(t, []string{"2A"}, edit{"shoot.yaml", "  supply: 1800 W\n", ""}).PackSheets()
	if none[0].ChargeS != nil || len(none[0].Unknown) == 0 {
		t.Errorf("charging without a known supply: %+v", none[0])
	}
}

// A pack that cannot give the hardest moment's current bars the take.
func TestPackCurrent(t *testing.T) {
	x := edited(t, []string{"2A"}, edit{shelf, "    discharge_c: 12\n", "    discharge_c: 2\n"}).Take("2A")
	want(t, x.At(noon), "current at the hardest moment", assess.Stop)
	if x.Shut(noon) == 0 {
		t.Error("no gate is shut")
	}
}

// Too heavy: the least worthy things that are enough go first, against the lowest limit.
func TestLeaveBehind(t *testing.T) {
	a := edited(t, []string{"2A"},
		edit{"shoot.yaml", "    mark: FF-H801\n", "    mark: FF-H801\n    extras: [{name: spotlight, mass: 900 g, worth: 1}, {name: range finder, mass: 200 g, worth: 1}, {name: beacon, mass: 60 g, keep: true}]\n"},
		edit{shelf, "    max_takeoff: 11.5 kg", "    max_takeoff: 9.35 kg"})
	x := a.Take("2A").At(noon)
	f := want(t, x, "take-off mass", assess.Stop)
	n := x.Numbers.Flight
	if n.MassMarginKg >= 0 || len(n.Load.Leave) < 2 || strings.Join(n.Load.Leave[0].Items, "+") != "range finder" {
		t.Errorf("margin %g, %+v", n.MassMarginKg, n.Load.Leave)
	}
	if !strings.Contains(f.Mend, "range finder") {
		t.Error(f.Mend)
	}
	for _, l := range n.Load.Leave {
		for _, name := range l.Items {
			if name == "beacon" {
				t.Error("the beacon must stay")
			}
		}
	}
	// A label's limit is lower than the maker's.
	c2 := edited(t, []string{"2A"}, edit{shelf, "    rotors: 8\n", "    rotors: 8\n    class: C2\n"}).Take("2A").At(noon)
	if f := want(t, c2, "take-off mass", assess.Stop); !strings.Contains(f.Basis, "C2") || f.Limit != "4.00 kg" {
		t.Errorf("%+v", f)
	}
}

// The centre of mass is where statics puts it.
func TestCentreOfMass(t *testing.T) {
	n := edited(t, []string{"2A"}, edit{shelf, "    packs_forward: -6 mm", "    packs_forward: -120 mm"}).Take("2A").At(noon)
	got := n.Numbers.Flight.Load.Centre.ForwardMM
	if want := -120 * 1.92 / n.Numbers.Flight.TakeoffMassKg; math.Abs(got-want) > 1e-6 {
		t.Errorf("%g mm, want %g", got, want)
	}
	if f := want(t, n, "centre of mass", assess.Caution); !strings.Contains(f.Mend, "120 mm forward") {
		t.Error(f.Mend)
	}
}

// A lens's moment is its mass times its arm; a swap says the move, and what holds without one.
func TestSwaps(t *testing.T) {
	a := edited(t, []string{"2A"})
	sheet, err := a.BalanceSheet("heron")
	if err != nil {
		t.Fatal(err)
	}
	// 560 g at 6 mm, 155 g at 22+28 mm: hand-worked first moments about the screw.
	p := sheet.Lenses[1].Plates[0]
	if moment := 9.80665 * (0.560*6 + 0.155*50); math.Abs(p.MomentNmm-moment) > 0.01 || math.Abs(p.ShiftMM+(0.560*6+0.155*50)/0.715) > 1e-4 {
		t.Errorf("%+v, want %g N mm", p, moment)
	}
	for _, s := range sheet.Swaps {
		if s.Unaided == nil || !*s.Unaided {
			t.Errorf("0.05 N m of allowance does not hold %s: %+v", s.Says, s)
		}
	}
	weak := edited(t, []string{"2A"}, edit{shelf, "torque: 0.5 N m", "torque: 0.1 N m"})
	heron := weak.Shoot.Rig("heron")
	dresses := []assess.Dress{{Lens: "Tern 12"}, {Lens: "Tern 25"}, {Lens: "Tern 25", Filters: []string{"ND 0.9"}}, {Lens: "Tern 45"}}
	groups := weak.BalanceGroups(heron, dresses)
	if groups["Tern 25, no filter"] != groups["Tern 25, ND 0.9"] || groups["Tern 12, no filter"] == groups["Tern 25, no filter"] || groups["Tern 45, no filter"] == groups["Tern 12, no filter"] {
		t.Errorf("%v", groups)
	}
	none := edited(t, []string{"2A"}, edit{shelf, "    torque: 0.5 N m\n", ""})
	seen := map[string]bool{}
	for _, g := range none.BalanceGroups(none.Shoot.Rig("heron"), dresses) {
		seen[g] = true
	}
	if len(seen) != len(dresses) {
		t.Errorf("an unknown torque holds something: %v", seen)
	}
}

// The motors: a weak one is stopped by imbalance and wind together.
func TestHoldTorque(t *testing.T) {
	x := edited(t, []string{"2A"}, edit{shelf, "torque: 0.5 N m", "torque: 0.005 N m"}).Take("2A").At(noon)
	f := want(t, x, "motor's torque", assess.Stop)
	if !strings.Contains(f.Basis, "wind on the lens") {
		t.Error(f.Basis)
	}
	for _, axis := range edited(t, []string{"2A"}).Take("2A").At(noon).Numbers.Balance.Axes {
		if axis.InertiaKgM2 <= 0 || axis.TorqueNmm == nil || axis.WindNmm == nil || axis.TotalNmm < axis.ImbalanceNmm {
			t.Errorf("%+v", axis)
		}
	}
}

// Legs that stand close and low come into a wide picture; folded, they do not.
func TestGearInThePicture(t *testing.T) {
	low := edit{shelf, "    gear_half_width: 170 mm\n    gear_drop: 200 mm\n", "    gear_half_width: 60 mm\n    gear_drop: 400 mm\n    gear_length: 600 mm\n"}
	f := want(t, edited(t, []string{"5C"}, low).Take("5C").At(noon), "landing gear in the picture", assess.Caution)
	if f.AtS == nil || !strings.Contains(f.Value, "tilt") {
		t.Errorf("%+v", f)
	}
	folded := low
	folded.to += "    gear_folds: true\n"
	if f := find(edited(t, []string{"5C"}, folded).Take("5C").At(noon), "landing gear"); f != nil {
		t.Errorf("folded legs are seen: %+v", f)
	}
}

// Every rig is asked the same questions, each with its number.
func TestRigsAreAsked(t *testing.T) {
	a := edited(t, []string{"4B"}, edit{"shoot.yaml", "slate: 4B\n", "slate: 4B\n    silent: true\n"}, edit{shelf, "    max_takeoff: 4.4 kg", "    max_takeoff: 3.2 kg"})
	all, err := a.Rigs(context.Background(), "4B", noon)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 3 || all[0].Rig != "heron" || !all[0].Can {
		t.Fatalf("%+v", all)
	}
	test := func(rig, about string) assess.Test {
		for _, c := range all {
			for _, q := range c.Tests {
				if c.Rig == rig && q.About == about {
					return q
				}
			}
		}
		t.Fatalf("%s was not asked about %s", rig, about)
		return assess.Test{}
	}
	for _, about := range []string{"mass", "axes", "single operator", "endurance", "noise at the subject", "class of shot", "gimbal payload", "thrust to weight"} {
		test("heron", about)
	}
	if q := test("wren", "mass"); q.Met == nil || *q.Met || q.Limit != "3.20 kg" {
		t.Errorf("%+v", q)
	}
	if q := test("heron", "noise at the subject"); q.Met == nil || *q.Met {
		t.Errorf("67 dB(A) are quiet: %+v", q)
	}
	if q := test("heron", "class label"); q.Met != nil {
		t.Errorf("an unknown label is answered: %+v", q)
	}
	if q := test("sparrow", "mass"); q.Met == nil || *q.Met {
		t.Errorf("%+v", q)
	}
}
