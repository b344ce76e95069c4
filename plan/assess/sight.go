package assess

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/terrain"
	"fieldfare/plan/move"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// sightStepM is how finely lines of sight are sampled where buildings are looked at.
const sightStepM = 5.0

// sightMoments along a path at which lines of sight are drawn.
const sightMoments = 60

const (
	basisSight   = "terrain and obstacles between eye and aircraft"
	basisSpotter = "terrain and obstacles; " + risk.BasisLineOfSight
)

// Stand is a place from which somebody of the crew watches the aircraft, and when.
type Stand struct {
	Name  string   `json:"name"`
	Eye   geo.Vec3 `json:"-"`
	FromS float64  `json:"from_s"` // first and last moment at which nobody before it in the list sees the aircraft
	ToS   float64  `json:"to_s"`
}

// sees reports whether the line from an eye to a point is clear of terrain and obstacles; known
// is false where it leaves the known terrain.
func (t *Take) sees(eye, p geo.Vec3) (clear, known bool) {
	clear, known, _ = t.view(eye, p)
	return clear, known
}

// view is sees, with what stands in the way.
func (t *Take) view(eye, p geo.Vec3) (clear, known bool, by string) {
	s := t.shoot.Ground().LineOfSight(eye, p, terrain.RefractionLight)
	if s.Known && !s.Clear {
		return false, true, "the ground"
	}
	if o := t.screen(eye, p); o != nil {
		return false, true, cmp.Or(o.Name, "unnamed "+o.Kind)
	}
	return s.Clear, s.Known, ""
}

// watch is who of the crew sees a point.
type watch struct {
	pilot, pilotSure bool    // whether the pilot does, and whether that is known
	pilotBy          string  // what stands between, where that is known
	nearM            float64 // to who sees it: the pilot within the limit before a spotter, +Inf for nobody
	by               int     // the spotter who has it within the limit, -1 where none is needed or none has
	settled          bool    // whether it is known that nobody sees it, where nobody does
}

// watched asks the pilot, and then spotters until one has the point within the limit. A pilot who
// stands where the ground is not known sees nothing for sure.
func (t *Take) watched(p geo.Vec3, stands []Stand, limitM float64) watch {
	clear, known, by := t.view(t.pilot, p)
	_, standing := t.shoot.Ground().HeightAt(t.pilot.X, t.pilot.Y) // else nobody knows how high the eye is
	known = known && standing
	w := watch{pilot: clear && known, pilotSure: known, pilotBy: by, nearM: math.Inf(1), by: -1, settled: known}
	if w.pilot {
		w.nearM = p.Sub(t.pilot).Norm()
	}
	for i := range stands {
		if w.nearM <= limitM {
			break // the pilot, or a spotter before this one, has it
		}
		seen, sure := t.sees(stands[i].Eye, p)
		w.settled = w.settled && sure
		if !seen || !sure {
			continue
		}
		if w.nearM = math.Min(w.nearM, p.Sub(stands[i].Eye).Norm()); w.nearM <= limitM {
			w.by = i
		}
	}
	return w
}

// eyeAt is a standing person's eye at a feature.
func eyeAt(f *shoot.Feature) geo.Vec3 { return f.Places[0].Add(geo.Vec3{Z: eyeM}) }

// spotters are the observer spots that the slate mans.
func (t *Take) spotters() (all []*shoot.Feature) {
	for _, name := range t.Slate.Spotters {
		for _, f := range t.ofKind(shoot.Observer) {
			if f.Name == name {
				all = append(all, f)
			}
		}
	}
	return all
}

// standsAt are places to watch from at observer spots.
func standsAt(posted []*shoot.Feature) []Stand {
	stands := make([]Stand, len(posted))
	for i, f := range posted {
		stands[i] = Stand{Name: f.Name, Eye: eyeAt(f), FromS: math.NaN(), ToS: math.NaN()}
	}
	return stands
}

// inSight draws the lines of sight of the pilot and of the spotters that the slate mans.
func (t *Take) inSight(n *SafetyNumbers, facts rule.Facts) {
	t.care.skyline = t.around.Skyline(t.pilot)
	path := t.sparse(sightMoments)
	limit, err := risk.AttitudeLineOfSight(risk.Rotorcraft, float64(t.airframe.Size))
	if err != nil {
		t.find(Unknown, TopicSafety, "line-of-sight limit", "unknown", "", risk.BasisLineOfSight, err.Error())
		limit = math.Inf(1)
	} else {
		t.care.alosM, n.AttitudeM, n.SightLimitM = limit, known(limit), known(limit)
	}
	pilotSees, pilotSure, sure := true, true, true
	blockedAt := math.NaN()
	stands := standsAt(t.spotters())
	lost := math.NaN() // first moment that nobody sees
	far := math.NaN()  // first moment that is seen, but by nobody within the limit
	watchM := 0.0
	for _, m := range path {
		n.PilotM = math.Max(n.PilotM, m.Pos.Sub(t.pilot).Norm())
		w := t.watched(m.Pos, stands, limit)
		pilotSure = pilotSure && w.pilotSure
		if !w.pilot && pilotSees && w.pilotSure {
			pilotSees, blockedAt = false, m.TimeS
		}
		if w.by >= 0 {
			if math.IsNaN(stands[w.by].FromS) {
				stands[w.by].FromS = m.TimeS
			}
			stands[w.by].ToS = m.TimeS
		}
		near := w.nearM
		switch {
		case math.IsInf(near, 1) && !w.settled:
			sure = false
		case math.IsInf(near, 1):
			if math.IsNaN(lost) {
				lost = m.TimeS
			}
		case near > limit && math.IsNaN(far):
			far = m.TimeS
		}
		if !math.IsInf(near, 1) {
			watchM = math.Max(watchM, near)
		}
	}
	facts["distance_to_pilot"] = rule.Of(n.PilotM)
	t.care.watchM = watchM
	if pilotSure || !pilotSees {
		n.PilotSees = &pilotSees
	}
	switch {
	case !math.IsNaN(lost):
		facts["line_of_sight"] = rule.Is(false)
		t.findAt(lost, Stop, TopicSafety, "line of sight to the aircraft", "blocked by "+t.blinding(lost), "clear throughout", basisSight, t.whereToStand(path, limit))
	case !sure:
		t.find(Unknown, TopicSafety, "line of sight to the aircraft", "unknown", "clear throughout", "elevation grid", "extend the grid between pilot and path")
	default:
		facts["line_of_sight"] = rule.Is(true)
		t.care.watched = true
	}
	if !math.IsNaN(far) {
		t.findAt(far, Stop, TopicSafety, "distance from the pilot", metres(n.PilotM), metres(limit), "attitude line of sight, "+risk.BasisLineOfSight, t.whereToStand(path, limit))
	}
	for _, s := range stands {
		if math.IsNaN(s.FromS) {
			t.find(Note, TopicSafety, "spotter at "+s.Name, "sees nothing that the pilot does not", "", basisSpotter, "")
			continue
		}
		t.care.stands = append(t.care.stands, s)
		n.Spotters = append(n.Spotters, s.Name)
		why := fmt.Sprintf("the pilot is up to %s away", metres(n.PilotM))
		if !math.IsNaN(blockedAt) {
			why = "the pilot's own view is blocked"
		}
		t.findAt(s.FromS, Caution, TopicSafety, "a spotter must stand at "+s.Name, fmt.Sprintf("from t = %s to %s: %s", seconds(s.FromS), seconds(s.ToS), why), "in contact with the pilot", basisSpotter, "brief the spotter; local rules may still ask that the pilot sees it too")
	}
	if need, have := len(t.care.stands), len(t.observers()); need > have {
		t.find(Stop, TopicSafety, "spotters", fmt.Sprintf("%d asked", need), fmt.Sprintf("%d in the crew without other duty", have), basisSpotter, "add an observer to the crew")
	}
}

// whereToStand says what would bring the aircraft back into sight: the spots from which spotters
// see what the pilot does not, if there are such.
func (t *Take) whereToStand(path []risk.Moment, limit float64) string {
	const otherwise = "stand the pilot elsewhere (pilot_at:), launch nearer, or move the path"
	watchers := []risk.Watcher{{Name: "pilot", Eye: t.pilot}}
	for _, f := range t.ofKind(shoot.Observer, shoot.Launch) {
		if f.Name != t.Slate.Launch {
			watchers = append(watchers, risk.Watcher{Name: f.Name, Eye: eyeAt(f)})
		}
	}
	points := make([]geo.Vec3, len(path))
	for i, m := range path {
		points[i] = m.Pos
	}
	ground := t.covered(0, shoot.Building, shoot.Tree, shoot.Bridge)
	w, err := risk.StandSpotters(ground, watchers, points, math.Min(limit, 1e5), sightStepM)
	if err != nil || w.Unseen > 0 || len(w.Keepers) < 2 {
		return otherwise + "; no marked spot sees all of it"
	}
	var names []string
	for _, k := range w.Keepers[1:] {
		names = append(names, watchers[k].Name)
	}
	return "post a spotter at " + strings.Join(names, " and at ") + " (mark it with kind observer and name it under spotters:), or " + otherwise
}

// screen is an opaque obstacle that stands on the straight line from a to b, nil for none.
func (t *Take) screen(a, b geo.Vec3) *move.Obstacle {
	dir := b.Sub(a)
	length := dir.Norm()
	for i := range t.around.obstacles {
		o := &t.around.obstacles[i]
		if !o.Shape.Opaque() {
			continue
		}
		centre, radius := o.Shape.Bounds()
		if d, _ := geo.PointSegment(centre, a, b); d > radius {
			continue
		}
		for s := sightStepM; s < length; {
			d, _ := o.Shape.Distance(a.Add(dir.Scale(s / length)))
			if d <= 0 {
				return o
			}
			s += math.Max(0.2, d)
		}
	}
	return nil
}

// sightLimit is how far the aircraft may be from whoever watches it in a ground visibility: the
// lesser of attitude and detection line of sight.
func (t *Take) sightLimit(visibilityM float64) (limitM, detectionM float64) {
	detectionM, err := risk.DetectionLineOfSight(math.Max(0, math.Min(visibilityM, 1e5)))
	if err != nil {
		return t.care.alosM, math.NaN()
	}
	return math.Min(t.care.alosM, detectionM), detectionM
}

// sightGate shuts when haze takes the aircraft out of the detection line of sight.
func (t *Take) sightGate() gate {
	limit := func(m *moment) (limitM float64, beyond bool) {
		if !m.weather.VisibilityM.Known || t.care.watchM == 0 {
			return 0, false
		}
		_, limitM = t.sightLimit(m.weather.VisibilityM.Value)
		return limitM, t.care.watchM > limitM
	}
	return gate{name: "line of sight",
		shut: func(m *moment) bool { _, beyond := limit(m); return beyond },
		tell: func(m *moment) Finding {
			limitM, _ := limit(m)
			return t.timely(Stop, TopicSafety, "distance from whoever watches the aircraft", metres(t.care.watchM), metres(limitM)+" in a visibility of "+metres(m.weather.VisibilityM.Value), "detection line of sight, "+risk.BasisLineOfSight, "wait for better visibility, or launch nearer")
		}}
}

// glareLimit is the angle within which the sun dazzles (common practice, no source).
const glareLimitDeg = 10.0

// glare is the least angle at the pilot's eye between aircraft and sun, and when; ok is false with
// the sun down or behind the terrain that the pilot sees.
func (t *Take) glare(m *moment) (least float64, atS float64, ok bool) {
	if !m.sunUp {
		return math.Pi, 0, false
	}
	if line := &t.care.skyline; len(line.Points) > 0 && m.sun.Altitude+m.sun.Semidiameter < line.At(m.sun.Azimuth) {
		return math.Pi, 0, false
	}
	least = math.Inf(1)
	for i := range t.looks {
		if a := float64(risk.SunSeparation(t.pilot, t.looks[i].pos, m.sun.Azimuth, m.sun.Altitude)); a < least {
			least, atS = a, t.looks[i].t
		}
	}
	return least, atS, true
}

func (t *Take) tellSight(m *moment, a *Assessment) {
	if t.Unsolved != nil {
		return
	}
	n := &a.Numbers.Safety
	if v := m.weather.VisibilityM; v.Known && t.care.alosM > 0 {
		limit, detection := t.sightLimit(v.Value)
		n.DetectionM, n.SightLimitM = known(detection), known(limit)
	}
	least, at, ok := t.glare(m)
	if !ok {
		return
	}
	deg := least * 180 / math.Pi
	n.GlareDeg, n.GlareAtS = known(deg), known(at)
	if deg < glareLimitDeg && !t.care.glareRuled {
		f := t.timely(Caution, TopicSafety, "sun behind the aircraft at the pilot's eye", degrees(deg)+" apart", degrees(glareLimitDeg), practice, "move the pilot (pilot_at:) or the hour")
		f.AtS = &at
		a.add(f)
	}
}
