package assess

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/pack"
	"fieldfare/model/rotor"
	"fieldfare/model/unit"
	"fieldfare/plan/shoot"
)

// rotors fits the power model to the airframe's hovers: the maker's, and those that the crew logged; then
// everything draws so many times as much, as learnt from the logbook (0: once).
// Without an elevation a hover counts as flown at sea level of the standard atmosphere, as makers
// publish it.
func rotors(f *shoot.Airframe, times float64) (rotor.Airframe, rotor.Fitted, error) {
	a, _ := rotor.Airframe{
		Rotors: f.Rotors, DiameterM: float64(f.RotorDiameter), Coaxial: f.Coaxial,
		FlatPlateM2: f.DragArea, MaxThrustN: float64(f.MaxThrust) * air.GravityMS2,
	}.Typical(float64(f.Hover.Mass))
	var hovers []rotor.Hovering
	for _, h := range append([]shoot.Hover{f.Hover}, f.Hovers...) {
		state := air.Standard(float64(h.Elevation))
		if h.Temperature != nil {
			state.TemperatureK = float64(*h.Temperature)
		}
		source := h.Source
		if source == "" {
			source = f.Name + ", shelf"
		}
		hovers = append(hovers, rotor.Hovering{Source: source, MassKg: float64(h.Mass), Density: state.Density(), DurationS: float64(h.Time), EnergyJ: float64(h.Energy)})
	}
	fitted, fit, err := a.Fit(hovers)
	if err != nil || times <= 0 {
		return fitted, fit, err
	}
	fit.Note += fmt.Sprintf("; then %.2f times as much, as learnt from the logbook", times)
	fitted.DriveEfficiency, fitted.AccessoryW = fitted.DriveEfficiency/times, fitted.AccessoryW*times
	if err := fitted.Check(); err != nil {
		return fitted, fit, fmt.Errorf("power_factor %.2f: %w", times, err)
	}
	return fitted, fit, nil
}

// battery returns the pack in the terms of package pack.
func battery(k *shoot.Kit, p *shoot.Pack) pack.Pack {
	m := k.Pack(p.Model)
	b := pack.Pack{ChargeC: float64(m.Capacity), VoltageV: float64(m.Voltage), ResistanceOhm: float64(m.Resistance),
		Cycles: p.Cycles, FadePerCycle: float64(m.FadePerCycle), MassKg: float64(m.Mass),
		MaxCurrentA: m.DischargeLimit * float64(m.Capacity) / 3600}
	if p.Health > 0 {
		b.MeasuredC = float64(p.Health) * b.ChargeC
	}
	for _, c := range m.Cold {
		b.Cold = append(b.Cold, pack.Share{TemperatureK: float64(c.At), Factor: float64(c.Share)})
	}
	if n := len(b.Cold); n > 0 && b.Cold[n-1].TemperatureK < 333.15 {
		b.Cold = append(b.Cold, pack.Share{TemperatureK: 333.15, Factor: b.Cold[n-1].Factor})
	}
	return b
}

// rigPacks returns the shoot's packs that fit the rig's airframe.
func rigPacks(s *shoot.Shoot, rig *shoot.Rig) (packs []*shoot.Pack) {
	for i := range s.Packs {
		for _, fits := range s.Kit().Pack(s.Packs[i].Model).Airframes {
			if fits == rig.Airframe {
				packs = append(packs, &s.Packs[i])
			}
		}
	}
	return packs
}

// flown is the flight side of a take under one weather, shared by all the minutes for which it
// holds.
type flown struct {
	airKnown     bool // temperature and pressure came from the forecast
	humidGuessed bool // no dew point: saturated air taken, the lightest
	density      float64
	temperatureK float64
	windMS       float64 // mean at flying height
	gustMS       float64
	windKnown    bool
	gustGuessed  bool
	anyDirection bool // the wind's direction is unknown: the worst of eight counts
	wind, gust   geo.Vec3

	err       error // why power cannot be worked out
	noWay     error // why it cannot come home against the wind
	flight    rotor.Flight
	take      rotor.Use
	transit   rotor.Use // out and back
	out       rotor.Use // the way out, its hover before the first mark included
	reset     rotor.Use // back to the first mark
	breeze    breeze
	packErr   error
	overdrawn error // why some pack cannot give the take's hardest moment
	packs     []packLeft
	pack      string // the weakest of the rig's packs
	usableJ   float64
	takes     int
	leftJ     float64
	noReturn  float64 // s, NaN when it can turn for home throughout

	shaky   bool // the gimbal's shake in this wind bars the lens
	strains bool // a motor of the gimbal cannot hold the bare lens in this wind

	fall   fall   // worked out when asked for
	landed landed // likewise
}

// packLeft is what one pack of the rig gives the slate.
type packLeft struct {
	pack     *shoot.Pack
	budget   pack.Budget
	err      error
	usableJ  float64 // all packs that fly as its set together
	takes    int
	leftJ    float64
	stationS float64
	peak     pack.Draw // at the hardest moment of the take
	tooMuch  error     // why it cannot give that
}

// directions are looked at where the wind's is unknown.
const directions = 8

func (t *Take) fly(w air.Weather) *flown {
	f := &flown{noReturn: math.NaN()}
	f.err = t.airFor(w, f)
	if f.err == nil {
		f.err = t.rotorErr
	}
	if f.err == nil {
		f.flight, f.err = t.rotors.At(t.massKg, f.density)
	}
	if f.err != nil {
		f.packErr = f.err
		return f
	}
	if !f.windKnown || f.windMS == 0 || w.WindFrom.Known {
		t.against(f)
		t.grip(f)
		return f
	}
	var worst *flown
	var most breeze
	for i := range directions {
		g := *f
		from := unit.Angle(2 * math.Pi * float64(i) / directions)
		g.anyDirection, g.wind, g.gust = true, air.Toward(from, f.windMS), air.Toward(from, f.gustMS)
		t.against(&g)
		if worst == nil || g.harder(worst) {
			worst = &g
		}
		most = most.or(g.breeze)
	}
	worst.breeze = most
	t.grip(worst)
	return worst
}

// harder reports whether the flight is harder than another.
func (f *flown) harder(g *flown) bool {
	if (f.err != nil) != (g.err != nil) {
		return f.err != nil
	}
	return f.take.EnergyJ+f.transit.EnergyJ > g.take.EnergyJ+g.transit.EnergyJ
}

// against flies the path, and the way there and back, against the flight's wind.
func (t *Take) against(f *flown) {
	samples := make([]rotor.Sample, len(t.samples))
	for i, s := range t.samples {
		s.Air = s.Air.Sub(f.wind)
		samples[i] = s
	}
	path := f.flight.Fly(samples)
	f.take = path.Energy(len(samples))
	t.meet(f, samples, path.Points())
	first, last := samples[0].Pos, samples[len(samples)-1].Pos
	out, err1 := t.leg(f, t.launch, first)
	back, err2 := t.leg(f, last, t.launch)
	reset, err3 := t.leg(f, last, first)
	if f.noWay = errors.Join(err1, err2, err3); f.noWay != nil {
		f.err, f.packErr = f.noWay, f.noWay
		return
	}
	hover := f.flight.Hover(groundHoverS, f.wind)
	f.out, f.transit, f.reset = out.Then(hover), out.Then(back).Then(hover), reset
	t.drain(f, path)
}

// groundHoverS is take-off check, framing at the first mark and landing (common practice, no source).
const groundHoverS = 60.0

// transitShare of the airframe's speeds is flown between launch spot and first mark.
const transitShare = 0.7

// leg flies between two points by way of a height at which both are cleared: up, across, down. Where the usual
// speed makes no way against the wind, it is flown at full speed.
func (t *Take) leg(f *flown, from, to geo.Vec3) (rotor.Use, error) {
	speed := transitShare * float64(t.airframe.LevelSpeed)
	high := math.Max(from.Z, to.Z) + 5
	up, _, err1 := f.flight.Leg(geo.Vec3{Z: high - from.Z}, f.wind, math.Max(transitShare*float64(t.airframe.ClimbSpeed), f.wind.Norm()+0.5))
	way := geo.Vec3{X: to.X - from.X, Y: to.Y - from.Y}
	across, _, err2 := f.flight.Leg(way, f.wind, speed)
	if err2 != nil {
		across, _, err2 = f.flight.Leg(way, f.wind, float64(t.airframe.LevelSpeed))
	}
	down, _, err3 := f.flight.Leg(geo.Vec3{Z: to.Z - high}, f.wind, math.Max(transitShare*float64(t.airframe.DescentSpeed), f.wind.Norm()+0.5))
	return up.Then(across).Then(down), errors.Join(err1, err2, err3)
}

// drain works out each pack of the rig: how many takes it holds above the reserve. The weakest stands
// for all.
func (t *Take) drain(f *flown, path rotor.Flown) {
	if len(t.packs) == 0 {
		f.packErr = errors.New("no pack of the shoot fits this airframe")
		return
	}
	fitted := float64(max(1, t.airframe.PacksFitted))
	sortie := pack.Sortie{OutJ: f.out.EnergyJ, BackJ: f.transit.EnergyJ - f.out.EnergyJ, TakeJ: f.take.EnergyJ, ResetJ: f.reset.EnergyJ + f.take.MeanW*float64(t.shoot.House.TakeGap)}
	f.usableJ = math.Inf(1)
	for _, p := range t.packs {
		left := packLeft{pack: p}
		cell := battery(t.shoot.Kit(), p)
		if left.peak, left.tooMuch = cell.Load(f.take.PeakW / fitted); left.tooMuch != nil {
			f.overdrawn = errors.Join(f.overdrawn, fmt.Errorf("pack %s: %w", p.Name, left.tooMuch))
		}
		cell.MaxCurrentA = 0 // told by the peak
		left.budget, left.err = cell.Budget(f.temperatureK, f.take.MeanW/fitted, 1, float64(t.shoot.House.Reserve))
		if left.err != nil {
			f.packErr = errors.Join(f.packErr, fmt.Errorf("pack %s: %w", p.Name, left.err))
		} else {
			left.usableJ = fitted * left.budget.UsableJ
			left.takes, left.leftJ = sortie.Takes(left.usableJ)
			left.stationS = sortie.StationS(left.usableJ, f.take.MeanW)
			if left.usableJ < f.usableJ {
				f.usableJ, f.pack, f.takes, f.leftJ = left.usableJ, p.Name, left.takes, left.leftJ
			}
		}
		f.packs = append(f.packs, left)
	}
	if f.packErr != nil {
		return
	}
	at, ok, all := path.NoReturn(t.launch, f.wind, transitShare*float64(t.airframe.LevelSpeed), f.usableJ-f.out.EnergyJ)
	if !all {
		f.noReturn = at
		if !ok {
			f.noReturn = 0
		}
	}
}

// airFor moves the weather to the take's height; without a forecast it takes the standard
// atmosphere and says so by airKnown.
func (t *Take) airFor(w air.Weather, f *flown) error {
	day := air.Day{ElevationM: t.siteSeaM, Ground: air.Standard(t.siteSeaM)}
	if w.TemperatureK.Known && w.QNHPa.Known {
		var err error
		if day, f.humidGuessed, err = w.Day(t.siteSeaM); err != nil {
			return err
		}
		f.airKnown = true
	}
	state := day.At(t.midSeaM)
	f.temperatureK, f.density = state.TemperatureK, state.Density()
	if !w.WindMS.Known {
		return nil
	}
	reported := air.Wind{MeanMS: w.WindMS.Value, HeightM: 10}
	if w.GustMS.Known {
		reported.GustMS = w.GustMS.Value
	}
	if w.WindFrom.Known {
		reported.From = unit.Angle(w.WindFrom.Value)
	}
	at, guessed := reported.At(math.Max(10, t.midGroundM), t.shear)
	f.windKnown, f.windMS, f.gustMS, f.gustGuessed = true, at.MeanMS, at.GustMS, guessed
	if w.WindFrom.Known {
		f.wind, f.gust = at.Vector(), at.GustVector()
	}
	return nil
}

// lift weighs the rig and fits its power model.
func (t *Take) lift() {
	t.packs = rigPacks(t.shoot, t.Rig)
	packs := heaviestPack(t.shoot, t.Rig)
	items, _ := payload(t.shoot, t.Rig, t.Slate.Lens, packs)
	t.massKg = total(items)
	t.rotors, t.fit, t.rotorErr = rotors(t.airframe, float64(t.Rig.PowerFactor))
	n := &t.numbers.Flight
	n.TakeoffMassKg = t.massKg
	n.MassMarginKg = float64(t.airframe.MaxTakeoff) - t.massKg
	if packs == nil {
		t.find(Stop, TopicFlight, "packs", "none fits", "one at least", "shelf", "add a pack that fits "+t.airframe.Name)
	}
	if t.rotorErr != nil {
		t.find(Unknown, TopicFlight, "power", "unknown", "", "momentum theory", t.rotorErr.Error())
	} else {
		n.Fit = fitNumbers(t.fit, t.massKg)
		if worst := t.fit.Spread; worst > fitSpread {
			t.find(Caution, TopicFlight, "fit of the power model to its hovers", percent(worst)+" apart", percent(fitSpread), "least squares over the hovers on the shelf", "fly one more hover and log mass, time and energy")
		}
	}
	if ceiling := float64(t.airframe.Ceiling); ceiling > 0 && t.midSeaM > ceiling {
		t.find(Stop, TopicFlight, "height above sea", metres(t.midSeaM), metres(ceiling), "maker's limit", "choose another airframe")
	}
	if t.shoot.House.Reserve == 0 {
		t.find(Unknown, TopicFlight, "reserve at landing", "unknown", "", "house rule", "add reserve: to house:")
	}
}

// fitSpread is how far hovers may part from the model that is fitted to them (common practice, no source).
const fitSpread = 0.08

// fitGood is how far a fitted model is to be trusted (package rotor).
const fitGood = "good to some 5 % near these hovers, 10 % to 15 % in forward flight (common practice, no source)"

func fitNumbers(f rotor.Fitted, massKg float64) *FitNumbers {
	n := &FitNumbers{Efficiency: f.Efficiency, AccessoryW: f.AccessoryW, Note: f.Note, Caution: fitGood}
	low, high := math.Inf(1), 0.0
	for _, p := range f.Points {
		n.Hovers = append(n.Hovers, HoverNumbers{p.Source, p.MassKg, p.MeasuredW, p.ModelW, 100 * p.Residual})
		low, high = math.Min(low, p.MassKg), math.Max(high, p.MassKg)
	}
	switch {
	case len(f.Points) == 1:
		n.Caution += "; one hover cannot tell how far it is off: fly another and log mass, time and energy"
		return n
	case f.Spread > fitSpread:
		n.Caution += "; the hovers lie more than " + percent(fitSpread) + " apart: fly one more and log mass, time and energy"
	case massKg < low || massKg > high:
		n.Caution += "; the take-off mass lies outside the hovers'"
	}
	n.SpreadPct = known(100 * f.Spread)
	return n
}

// PackEnergy returns what a full pack gives in watt-hours above and with the house's reserve, at the
// coldest hour that the forecast holds between 6 and 21 o'clock and the hover power of the airframe it
// fits. A pack whose table does not reach that cold gives nothing: unknown is not energy.
func (a *Assessor) PackEnergy(p *shoot.Pack) (usableWh, fullWh float64) {
	s := a.Shoot
	coldest := math.Inf(1)
	for _, w := range s.Weather().Periods {
		if h := w.From.In(s.Location()).Hour(); w.TemperatureK.Known && h >= 6 && h <= 21 {
			coldest = math.Min(coldest, w.TemperatureK.Value)
		}
	}
	if math.IsInf(coldest, 1) {
		coldest = air.Standard(0).TemperatureK
	}
	hover := a.hoverOn(p)
	b, err := battery(s.Kit(), p).Budget(coldest, hover, 1, float64(s.House.Reserve))
	if err != nil {
		return 0, 0
	}
	return b.UsableJ / 3600, b.DeliveredJ / 3600
}

func (t *Take) tellFlight(m *moment, a *Assessment) {
	n, f := &a.Numbers.Flight, m.flown
	if f.noWay != nil {
		return // the gate has said so
	}
	if f.err != nil {
		a.add(t.timely(Unknown, TopicFlight, "power and energy", "unknown", "", "momentum theory", f.err.Error()))
		return
	}
	n.DensityKgM3, n.DensityAltitudeM = known(f.density), known(air.DensityAltitude(f.density))
	n.HoverPowerW, n.TakeEnergyWh, n.TransitEnergyWh = known(f.flight.HoverW()), known(f.take.EnergyJ/3600), known(f.transit.EnergyJ/3600)
	n.BestEnduranceMS, n.BestRangeMS = known(f.flight.BestEnduranceMS()), known(f.flight.BestRangeMS(f.breeze.headwindMS))
	n.TransitS, n.Wind = f.transit.DurationS, f.breezeNumbers()
	t.tellThrust(m, a)
	t.tellWake(m, a)
	t.tellBreeze(m, a)
	if !f.airKnown {
		a.add(t.timely(Unknown, TopicFlight, "air density", "standard atmosphere assumed", "", "ISO 2533", "enter temperature and pressure in the forecast"))
	}
	t.tellPacks(m, a)
}

func (t *Take) tellThrust(m *moment, a *Assessment) {
	n, f := &a.Numbers.Flight, m.flown
	margin := float64(t.shoot.House.ThrustMargin)
	ratio, ok := f.flight.ThrustToWeight()
	if !ok {
		a.add(t.timely(Unknown, TopicFlight, "thrust margin", "unknown", "", "shelf", "enter max_thrust: for the airframe"))
	} else {
		n.ThrustRatio, n.ThrustMarginPct = known(ratio), known(100*(ratio-1))
		if kg, ok := f.flight.MaxMassKg(1 + margin); ok {
			n.MaxMassKg = known(kg)
		}
		most, _ := f.flight.MaxThrustN()
		n.PeakThrustPct = known(100 * f.take.PeakN / most)
		if share := f.take.PeakN / most; share > fullThrust {
			a.add(t.timely(Caution, TopicFlight, "thrust at the hardest moment of the take", percent(share), percent(fullThrust), practice+"; the rest steers", "ease the acceleration, lighten the rig, or wait for denser air"))
		}
		if margin == 0 {
			a.add(t.timely(Unknown, TopicFlight, "thrust margin", percent(ratio-1), "unknown", "house rule", "add thrust_margin: to house:"))
		}
	}
	out := f.flight.RotorOut()
	n.RotorOut = out.Class.String()
	n.RotorOutFactor = finiteOrNil(out.Factor)
	severity := Note
	value := out.Class.String()
	if out.EnoughKnown {
		enough := out.Enough
		n.RotorOutEnough = &enough
		if !enough && out.Class != rotor.Falls {
			value += fmt.Sprintf(", but the busiest rotor would need %.1f times its hover thrust", out.Factor)
		}
	}
	if out.Class == rotor.Falls || out.EnoughKnown && !out.Enough {
		severity = Caution
	}
	a.add(t.timely(severity, TopicFlight, "one rotor stops", value, "", "statics; no promise", out.Caution))
}

// fullThrust is the share of the greatest thrust that the hardest moment may take (common practice, no source).
const fullThrust = 0.8

func finiteOrNil(v float64) *float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil
	}
	return known(v)
}

// tellWake warns of sinking into the own wake, on the take and on the ways there and back.
func (t *Take) tellWake(m *moment, a *Assessment) {
	n, f := &a.Numbers.Flight, m.flown
	const basis = "vortex-ring state, Leishman chapter 2 (from memory)"
	n.VortexS, n.SafeDescentMS = known(f.take.VortexS), known(f.flight.SafeDescentMS())
	if f.take.VortexS > 0 {
		warn := t.timely(Caution, TopicFlight, "descent into its own wake", seconds(f.take.VortexS), "0 s; straight down no faster than "+speed(f.flight.SafeDescentMS()), basis, "descend slower or with forward speed")
		if !math.IsNaN(f.breeze.vortexAt) {
			warn.AtS, n.VortexAtS = known(f.breeze.vortexAt), known(f.breeze.vortexAt)
		}
		a.add(warn)
	}
	if f.transit.VortexS > 0 {
		a.add(t.timely(Caution, TopicFlight, "descent into its own wake on the way there or back", seconds(f.transit.VortexS), "0 s; straight down no faster than "+speed(f.flight.SafeDescentMS()), basis, "descend slower or with forward speed"))
	}
}

// takesWanted is 2 where the slate does not say.
func (t *Take) takesWanted() int {
	if t.Slate.Takes > 0 {
		return t.Slate.Takes
	}
	return 2
}
