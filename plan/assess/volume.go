package assess

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/unit"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// stopPitch is the pitch at which the aircraft is taken to brake (SORA 2.5 annex A allows at most 45).
const stopPitch = 30 * unit.Degree

// fallDragShare per square metre of an aircraft's square outline: the greatest drag area that a
// fall is followed with (common practice, no source).
const fallDragShare = 0.4

// parachuteOpenS is how long a parachute takes to carry (common practice, no source).
const parachuteOpenS = 2.0

// Volumes are the upright volumes around a path.
type Volumes struct {
	GeographyM   float64 // half width of the flight geography
	ContingencyM float64 // around it
	BufferM      float64 // ground risk buffer around that
	TopM         float64 // of the contingency volume, above ground
}

// Volumes returns the volumes of the take; ok is false where they are not known.
func (t *Take) Volumes() (v Volumes, ok bool) {
	if t.Unsolved != nil || t.numbers.Safety.BufferM == nil {
		return Volumes{}, false
	}
	return Volumes{t.care.geographyM, t.care.contingencyM, t.care.bufferM, *t.numbers.Safety.ContingencyTopM}, true
}

func (t *Take) volumes(n *SafetyNumbers, facts rule.Facts) {
	size := float64(t.airframe.Size)
	c := &t.care
	c.geographyM = math.Max(float64(t.shoot.House.PositionError), risk.SmallestFlightGeography(size)/2)
	speed := math.Max(1, t.numbers.Move.TopSpeedMS)
	height := math.Max(1, t.numbers.Move.HighestM) + c.geographyM
	if t.shoot.House.ReactionTime == 0 {
		t.find(Unknown, TopicSafety, "pilot's reaction time", "1 s taken, the least that the source allows", "", risk.BasisContingencyVolume, "add reaction_time: to house:")
	}
	around, err := t.contingencyVolume(speed, height)
	if err != nil {
		t.find(Unknown, TopicSafety, "contingency volume", "unknown", "", risk.BasisContingencyVolume, err.Error())
		return
	}
	c.contingencyM, c.riseM = around.HorizontalM, around.HeightM-height
	n.GeographyM, n.ContingencyM, n.ContingencyTopM = known(c.geographyM), known(c.contingencyM), known(around.HeightM)
	buffer, err := risk.OneToOneBuffer(around.HeightM, size)
	if err != nil {
		t.find(Unknown, TopicSafety, "ground risk buffer", "unknown", "", risk.BasisGroundRiskBuffer, err.Error())
		return
	}
	c.bufferM, n.BufferM = buffer, known(buffer)
	if b, err := risk.BallisticBuffer(speed, around.HeightM, size); err == nil {
		n.BallisticM = known(b)
	}
	t.near(n, facts)
	if d := float64(t.shoot.Site.People); d > 0 {
		class, err := risk.GroundRiskClass(t.massKg, size, t.numbers.Move.TopSpeedMS, d*1e6)
		if err == nil {
			n.GroundRisk = &class
			facts["people_density"] = rule.Of(d)
			facts["ground_risk_class"] = rule.Of(float64(class)) // no mitigation is taken to hold
		} else {
			t.find(Caution, TopicSafety, "intrinsic ground risk class", "outside the table", "", risk.BasisGroundRiskClass, err.Error())
		}
	} else {
		t.find(Unknown, TopicSafety, "intrinsic ground risk class", "unknown", "", risk.BasisGroundRiskClass, "add people: (people per km2) to site:")
	}
}

// contingencyVolume is that around a flight geography of a height above ground, flown at a speed.
func (t *Take) contingencyVolume(speedMS, heightM float64) (risk.Contingency, error) {
	return risk.Volume{SpeedMS: speedMS, GeographyHeightM: heightM,
		ReactionS: math.Max(1, float64(t.shoot.House.ReactionTime)), Recovery: risk.StopInAir, PitchOrBank: stopPitch,
		Height: risk.SatelliteNavigation, Allowances: risk.DefaultAllowances()}.Contingency()
}

// Reached is a feature that lies in one of a take's volumes.
type Reached struct {
	Kind      string  `json:"kind"`
	Name      string  `json:"name"`
	DistanceM float64 `json:"level_distance_m"` // from the path
	Volume    string  `json:"volume"`           // the innermost that it lies in
	FromS     float64 `json:"from_s"`
	ToS       float64 `json:"to_s"`
}

// Names of the volumes.
const (
	InGeography   = "flight geography"
	InContingency = "contingency volume"
	InBuffer      = "ground risk buffer"
)

// Reached lists the people, roads, railways, wires and homes in the take's volumes.
func (t *Take) Reached() (all []Reached) {
	v, ok := t.Volumes()
	if !ok {
		return nil
	}
	path := t.sparse(120)
	features := t.shoot.Features()
	for i := range features {
		f := &features[i]
		switch f.Kind {
		case shoot.People, shoot.Road, shoot.Rail, shoot.Wire, shoot.Home:
		default:
			continue
		}
		r := Reached{Kind: f.Kind, Name: describe(f), DistanceM: math.Inf(1), FromS: math.NaN()}
		extent, reach := f.Extent(), v.GeographyM+v.ContingencyM+v.BufferM
		for _, m := range path {
			if extent.Distance(m.Pos.XY()) > reach+1 { // out of reach, and so not the least that counts
				continue
			}
			d := f.Distance(m.Pos)
			r.DistanceM = math.Min(r.DistanceM, d)
			if d <= reach {
				if math.IsNaN(r.FromS) {
					r.FromS = m.TimeS
				}
				r.ToS = m.TimeS
			}
		}
		switch {
		case r.DistanceM <= v.GeographyM:
			r.Volume = InGeography
		case r.DistanceM <= v.GeographyM+v.ContingencyM:
			r.Volume = InContingency
		case r.DistanceM <= reach:
			r.Volume = InBuffer
		default:
			continue
		}
		all = append(all, r)
	}
	return all
}

// near says which features lie in the volumes. Wires are an obstacle and count in the contingency
// volume only.
func (t *Take) near(n *SafetyNumbers, facts rule.Facts) {
	reach := t.care.geographyM + t.care.contingencyM + t.care.bufferM
	if n.PeopleM != nil {
		free := *n.PeopleM >= reach
		facts["buffer_clear_of_people"] = rule.Is(free)
		if !free {
			t.find(Caution, TopicSafety, "contingency volume and ground risk buffer to people ("+n.Nearest+")", metres(*n.PeopleM), metres(reach), risk.BasisContingencyVolume+"; buffer 1:1", "lower the path, fly slower, or clear the people from the buffer")
		}
	}
	words := map[string]string{
		shoot.Road: "close it, or have somebody halt traffic for the take",
		shoot.Rail: "ask the railway, and fly between trains",
		shoot.Wire: "keep the contingency volume clear of the wire, or move the path",
		shoot.Home: "tell who lives there, and ask that they stay inside",
	}
	reached := t.Reached()
	for _, kind := range []string{shoot.Road, shoot.Rail, shoot.Wire, shoot.Home} {
		var names []string
		from, nearest := math.Inf(1), math.Inf(1)
		for _, r := range reached {
			if r.Kind == kind && (kind != shoot.Wire || r.Volume != InBuffer) {
				names = append(names, r.Name)
				from, nearest = math.Min(from, r.FromS), math.Min(nearest, r.DistanceM)
			}
		}
		if len(names) == 0 {
			continue
		}
		volume, limit := InBuffer, reach
		if kind == shoot.Wire {
			volume, limit = InContingency, t.care.geographyM+t.care.contingencyM
		}
		t.findAt(from, Caution, TopicSafety, kind+" inside the "+volume+" ("+some(names)+")", metres(nearest)+" from the path", metres(limit), risk.BasisContingencyVolume+"; buffer 1:1", words[kind])
	}
}

// some names up to three things.
func some(names []string) string {
	if len(names) > 3 {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:3], ", "), len(names)-3)
	}
	return strings.Join(names, ", ")
}

// Drop is where an aircraft that dies at a moment of the path comes down.
type Drop struct {
	TimeS     float64
	From      geo.Vec3
	Pos       geo.Vec3 // of the farthest impact
	DistanceM float64
	EnergyJ   float64 // of the hardest
	SpeedMS   float64
}

// falls follows a dead aircraft from n moments of the path in the wind of an hour's weather, with
// any drag area up to the greatest that its size allows.
func (t *Take) falls(f *flown, n int) (drops []Drop, err error) {
	if t.Unsolved != nil {
		return nil, t.Unsolved
	}
	if f.density == 0 { // the hour's weather is none that an air can have
		return nil, f.err
	}
	around := risk.Air{DensityKgM3: f.density, SteadyMS: f.wind}
	size := float64(t.airframe.Size)
	for _, m := range t.sparse(n) {
		far, hard, err := risk.WorstFall(t.massKg, fallDragShare*size*size, m.Pos, m.Vel, around, t.shoot.Ground())
		if err != nil {
			if errors.Is(err, risk.ErrGroundUnknown) {
				err = errors.New("the terrain below is not known: extend the elevation grid")
			}
			return nil, fmt.Errorf("t = %s: %w", seconds(m.TimeS), err)
		}
		drops = append(drops, Drop{m.TimeS, m.Pos, far.Pos, far.DistanceM, hard.EnergyJ, hard.SpeedMS})
	}
	return drops, nil
}

// fallMoments along a path from which falls are followed for the findings of an hour.
const fallMoments = 12

// fall is the worst over a path in one weather.
type fall struct {
	done        bool
	farM, hardJ float64
	farAtS      float64
	peopleM     float64 // least level distance of an impact to people
	people      string
	err         error
}

// fallIn works out the falls of one weather once.
func (t *Take) fallIn(f *flown) fall {
	t.flights.mu.Lock()
	defer t.flights.mu.Unlock()
	if f.fall.done {
		return f.fall
	}
	worst := fall{done: true, peopleM: math.Inf(1)}
	drops, err := t.falls(f, fallMoments)
	worst.err = err
	for _, d := range drops {
		if d.DistanceM > worst.farM {
			worst.farM, worst.farAtS = d.DistanceM, d.TimeS
		}
		worst.hardJ = math.Max(worst.hardJ, d.EnergyJ)
		for _, p := range t.ofKind(shoot.People) {
			m := p.Distance(d.Pos)
			if f.anyDirection { // it may drift to any side
				m = math.Max(0, p.Distance(d.From)-d.DistanceM)
			}
			if m < worst.peopleM {
				worst.peopleM, worst.people = m, describe(p)
			}
		}
	}
	f.fall = worst
	return worst
}

// underChute is how far the aircraft may drift under its parachute, nil where that is not known.
func (t *Take) underChute(f *flown) *float64 {
	sink := float64(t.airframe.SinkUnderChute)
	if !t.airframe.Parachute || sink <= 0 || !f.windKnown || t.numbers.Safety.ContingencyTopM == nil {
		return nil
	}
	b, err := risk.ParachuteBuffer(math.Max(1, t.numbers.Move.TopSpeedMS), parachuteOpenS, f.gustMS, *t.numbers.Safety.ContingencyTopM, sink)
	if err != nil {
		return nil
	}
	return known(b)
}

func (t *Take) tellFalls(m *moment, a *Assessment) {
	if t.Unsolved != nil {
		return
	}
	n := &a.Numbers.Safety
	f := t.fallIn(m.flown)
	basis := risk.BasisFall + ", any drag up to its size"
	if f.err != nil {
		a.add(t.timely(Unknown, TopicSafety, "fall of a dead aircraft", "unknown", "", basis, f.err.Error()))
		return
	}
	n.FallM, n.FallEnergyJ, n.FallWind = known(f.farM), known(f.hardJ), m.flown.windKnown
	n.ParachuteM = t.underChute(m.flown)
	if !m.flown.windKnown {
		a.add(t.timely(Unknown, TopicSafety, "drift of a falling aircraft", "still air taken", "", basis, "enter wind in the forecast"))
	}
	if reach := t.care.contingencyM + t.care.bufferM; reach > 0 && f.farM > reach {
		wide := t.timely(Caution, TopicSafety, "fall of a dead aircraft", metres(f.farM)+" from the path", metres(reach)+", contingency volume and buffer", basis, "widen the buffer to this, or wait for less wind")
		wide.AtS = &f.farAtS
		a.add(wide)
	}
	size := float64(t.airframe.Size)
	if f.peopleM <= size {
		warn := t.timely(Caution, TopicSafety, "fall of a dead aircraft onto people ("+f.people+")", fmt.Sprintf("lands %s from the path, on them", metres(f.farM)), "clear of people", basis, "move the path upwind or away, or clear "+f.people)
		warn.AtS = &f.farAtS
		a.add(warn)
	}
	if t.airframe.Parachute && t.airframe.SinkUnderChute == 0 {
		a.add(t.timely(Unknown, TopicSafety, "drift under the parachute", "unknown", "", risk.BasisGroundRiskBuffer, "enter parachute_sink: for the airframe"))
	}
}
