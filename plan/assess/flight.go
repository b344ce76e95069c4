package assess

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/pack"
	"fieldfare/model/rotor"
	"fieldfare/model/unit"
	"fieldfare/plan/shoot"
)

// roll is one item that flies.
type roll struct {
	What   string
	MassKg float64
}

// payload lists everything that leaves the ground for the slate, filters apart: they are
// chosen by the light and weigh little, so the heaviest stack of two counts.
func payload(s *shoot.Shoot, rig *shoot.Rig, lens string, packs *shoot.PackType) []roll {
	k := s.Kit()
	frame := k.Airframe(rig.Airframe)
	items := []roll{{"airframe " + frame.Name, float64(frame.Mass)}}
	if packs != nil {
		n := max(1, frame.PacksFitted)
		items = append(items, roll{fmt.Sprintf("pack %s", packs.Name), float64(n) * float64(packs.Mass)})
	}
	if g := k.Gimbal(rig.Gimbal); g != nil {
		items = append(items, roll{"gimbal " + g.Name, float64(g.Mass)})
	}
	if c := k.Camera(rig.Camera); c != nil {
		items = append(items, roll{"camera " + c.Name, float64(c.Mass)})
	}
	if l := k.Lens(lens); l != nil {
		items = append(items, roll{"lens " + l.Name, float64(l.Mass)})
	}
	heaviest := [2]float64{}
	for _, name := range rig.Filters {
		m := float64(k.Filter(name).Mass)
		switch {
		case m > heaviest[0]:
			heaviest[0], heaviest[1] = m, heaviest[0]
		case m > heaviest[1]:
			heaviest[1] = m
		}
	}
	if m := heaviest[0] + heaviest[1]; m > 0 {
		items = append(items, roll{"two heaviest filters", m})
	}
	for _, x := range rig.Extras {
		items = append(items, roll{x.Name, float64(x.Mass)})
	}
	return items
}

func total(items []roll) (kg float64) {
	for _, i := range items {
		kg += i.MassKg
	}
	return kg
}

// rotors fits the power model to the airframe's hover, taken at sea level of the standard
// atmosphere as makers publish it.
func rotors(f *shoot.Airframe) (rotor.Airframe, rotor.Fitted, error) {
	a, _ := rotor.Airframe{
		Rotors: f.Rotors, DiameterM: float64(f.RotorDiameter), Coaxial: f.Coaxial,
		FlatPlateM2: f.DragArea, MaxThrustN: float64(f.MaxThrust) * air.GravityMS2,
	}.Typical(float64(f.Hover.Mass))
	return a.Fit([]rotor.Hovering{{Source: f.Name, MassKg: float64(f.Hover.Mass), Density: air.StandardDensity,
		DurationS: float64(f.Hover.Time), EnergyJ: float64(f.Hover.Energy)}})
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

// charge is the state of charge at the first call.
func charge(p *shoot.Pack) float64 {
	if p.Charge == 0 {
		return 1
	}
	return float64(p.Charge)
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
	density      float64
	temperatureK float64
	windMS       float64 // mean at flying height
	gustMS       float64
	windKnown    bool
	gustGuessed  bool
	wind         geo.Vec3

	err      error // why power cannot be worked out
	flight   rotor.Flight
	take     rotor.Use
	transit  rotor.Use // out and back
	reset    rotor.Use // back to the first mark
	packErr  error
	pack     string // the weakest of the rig's packs
	usableJ  float64
	takes    int
	leftJ    float64
	noReturn float64 // s, NaN when it can turn for home throughout
}

// flownIn works out the flight under a weather, once for each period of the forecast.
func (t *Take) flownIn(w air.Weather) *flown {
	key := w.From
	if w.Source == air.Unknown {
		key = time.Time{}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if f, ok := t.byWind[key]; ok {
		return f
	}
	f := t.fly(w)
	t.byWind[key] = f
	return f
}

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
	samples := make([]rotor.Sample, len(t.samples))
	for i, s := range t.samples {
		s.Air = s.Air.Sub(f.wind)
		samples[i] = s
	}
	f.take = f.flight.Energy(samples)
	first, last := samples[0].Pos, samples[len(samples)-1].Pos
	out, err1 := t.leg(f, t.launch, first)
	back, err2 := t.leg(f, last, t.launch)
	reset, err3 := t.leg(f, last, first)
	if f.err = errors.Join(err1, err2, err3); f.err != nil {
		f.packErr = f.err
		return f
	}
	hover := f.flight.Hover(groundHoverS, f.wind)
	f.transit, f.reset = out.Then(back).Then(hover), reset
	t.drain(f, samples)
	return f
}

// groundHoverS is take-off check, framing at the first mark and landing (common practice, no source).
const groundHoverS = 60.0

// transitShare of the airframe's speeds is flown between launch spot and first mark.
const transitShare = 0.7

// leg flies between two points by way of a height at which both are cleared: up, across, down.
func (t *Take) leg(f *flown, from, to geo.Vec3) (rotor.Use, error) {
	speed := transitShare * float64(t.airframe.LevelSpeed)
	high := math.Max(from.Z, to.Z) + 5
	up, _, err1 := f.flight.Leg(geo.Vec3{Z: high - from.Z}, f.wind, math.Max(transitShare*float64(t.airframe.ClimbSpeed), f.wind.Norm()+0.5))
	across, _, err2 := f.flight.Leg(geo.Vec3{X: to.X - from.X, Y: to.Y - from.Y}, f.wind, speed)
	down, _, err3 := f.flight.Leg(geo.Vec3{Z: to.Z - high}, f.wind, math.Max(transitShare*float64(t.airframe.DescentSpeed), f.wind.Norm()+0.5))
	return up.Then(across).Then(down), errors.Join(err1, err2, err3)
}

// drain finds the weakest pack of the rig and how many takes it holds above the reserve.
func (t *Take) drain(f *flown, samples []rotor.Sample) {
	if len(t.packs) == 0 {
		f.packErr = errors.New("no pack of the shoot fits this airframe")
		return
	}
	fitted := float64(max(1, t.airframe.PacksFitted))
	f.usableJ = math.Inf(1)
	for _, p := range t.packs {
		b, err := battery(t.shoot.Kit(), p).Budget(f.temperatureK, f.take.MeanW/fitted, 1, float64(t.shoot.House.Reserve))
		if err != nil {
			f.packErr = fmt.Errorf("pack %s: %w", p.Name, err)
			return
		}
		if usable := fitted * b.UsableJ; usable < f.usableJ {
			f.usableJ, f.pack = usable, p.Name
		}
	}
	sortie := pack.Sortie{OutJ: f.transit.EnergyJ, TakeJ: f.take.EnergyJ, ResetJ: f.reset.EnergyJ + f.take.MeanW*float64(t.shoot.House.TakeGap)}
	f.takes, f.leftJ = sortie.Takes(f.usableJ)
	at, ok, all := f.flight.NoReturn(samples, t.launch, f.wind, transitShare*float64(t.airframe.LevelSpeed), f.usableJ)
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
	heightM := t.midSeaM
	day := air.Day{ElevationM: t.siteSeaM, Ground: air.Standard(t.siteSeaM)}
	if w.TemperatureK.Known && w.QNHPa.Known {
		humidity := 0.0
		if h := w.Humidity(); h.Known {
			humidity = h.Value
		}
		var err error
		if day, err = air.NewDay(t.siteSeaM, w.TemperatureK.Value, w.QNHPa.Value, humidity); err != nil {
			return err
		}
		f.airKnown = true
	}
	state := day.At(heightM)
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
		f.wind = at.Vector()
	}
	return nil
}

// lift weighs the rig and fits its power model.
func (t *Take) lift() {
	var packs *shoot.PackType
	t.packs = rigPacks(t.shoot, t.Rig)
	for _, p := range t.packs {
		if m := t.shoot.Kit().Pack(p.Model); packs == nil || m.Mass > packs.Mass {
			packs = m
		}
	}
	items := payload(t.shoot, t.Rig, t.Slate.Lens, packs)
	t.massKg = total(items)
	t.rotors, t.fit, t.rotorErr = rotors(t.airframe)
	n := &t.numbers.Flight
	n.TakeoffMassKg = t.massKg
	n.MassMarginKg = float64(t.airframe.MaxTakeoff) - t.massKg
	if n.MassMarginKg < 0 {
		t.find(Stop, TopicFlight, "take-off mass", kg(t.massKg), kg(float64(t.airframe.MaxTakeoff)), "maker's limit", "leave behind "+leaveBehind(items, -n.MassMarginKg))
	}
	if packs == nil {
		t.find(Stop, TopicFlight, "packs", "none fits", "one at least", "shelf", "add a pack that fits "+t.airframe.Name)
	}
	if t.rotorErr != nil {
		t.find(Unknown, TopicFlight, "power", "unknown", "", "momentum theory", t.rotorErr.Error())
	}
	if ceiling := float64(t.airframe.Ceiling); ceiling > 0 && t.midSeaM > ceiling {
		t.find(Stop, TopicFlight, "height above sea", metres(t.midSeaM), metres(ceiling), "maker's limit", "choose another airframe")
	}
	if t.shoot.House.Reserve == 0 {
		t.find(Unknown, TopicFlight, "reserve at landing", "unknown", "", "house rule", "add reserve: to house:")
	}
}

// leaveBehind names the lightest item that brings the rig under its limit, or the heaviest there is.
func leaveBehind(items []roll, overKg float64) string {
	best := ""
	bestKg := math.Inf(1)
	for _, i := range items[1:] {
		if i.MassKg >= overKg && i.MassKg < bestKg {
			best, bestKg = i.What, i.MassKg
		}
	}
	if best == "" {
		return fmt.Sprintf("more than one item: %s over", kg(overKg))
	}
	return fmt.Sprintf("%s (%s)", best, kg(bestKg))
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
	hover := 0.0
	for _, t := range a.takes {
		for _, q := range t.packs {
			if q == p && t.rotorErr == nil {
				if f, err := t.rotors.At(t.massKg, air.Standard(t.midSeaM).Density()); err == nil {
					hover = math.Max(hover, f.HoverW()/float64(max(1, t.airframe.PacksFitted)))
				}
			}
		}
	}
	b, err := battery(s.Kit(), p).Budget(coldest, hover, 1, float64(s.House.Reserve))
	if err != nil {
		return 0, 0
	}
	return b.UsableJ / 3600, b.DeliveredJ / 3600
}
