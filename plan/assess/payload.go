package assess

import (
	"fmt"
	"math"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/rig"
	"fieldfare/model/unit"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// How much is lost without an item, where the crew does not say (common practice, no source).
const (
	worthExtra  = 1
	worthFilter = 2
	worthPack   = 3
	worthLens   = 4
)

// payload lists everything that leaves the ground for the slate, filters apart: they are
// chosen by the light and weigh little, so the heaviest stack of two counts. Positions are from
// the gimbal's axes, where a balanced camera package has its centre of mass; placed is false where
// the shelf does not say where the airframe's or the packs' centre is.
func payload(s *shoot.Shoot, r *shoot.Rig, lens string, packs *shoot.PackType) (items []rig.Item, placed bool) {
	k := s.Kit()
	frame := k.Airframe(r.Airframe)
	at := func(forward, up *unit.Length) geo.Vec3 {
		if forward == nil || up == nil {
			return geo.Vec3{}
		}
		return geo.Vec3{Y: float64(*forward), Z: float64(*up)}
	}
	placed = frame.CentreForward != nil && frame.CentreUp != nil && (packs == nil || frame.PacksForward != nil && frame.PacksUp != nil)
	items = []rig.Item{{Name: "airframe " + frame.Name, MassKg: float64(frame.Mass), At: at(frame.CentreForward, frame.CentreUp)}}
	if packs != nil {
		n := max(1, frame.PacksFitted)
		items = append(items, rig.Item{Name: "pack " + packs.Name, MassKg: float64(n) * float64(packs.Mass), At: at(frame.PacksForward, frame.PacksUp)})
	}
	add := func(name string, kg float64, x rig.Item) {
		if kg > 0 {
			x.Name, x.MassKg = name, kg
			items = append(items, x)
		}
	}
	if g := k.Gimbal(r.Gimbal); g != nil {
		add("gimbal "+g.Name, float64(g.Mass), rig.Item{})
	}
	if c := k.Camera(r.Camera); c != nil {
		add("camera "+c.Name, float64(c.Mass), rig.Item{})
	}
	if l := k.Lens(lens); l != nil {
		add("lens "+l.Name, float64(l.Mass), rig.Item{})
	}
	heaviest := [2]float64{}
	for _, name := range r.Filters {
		m := float64(k.Filter(name).Mass)
		switch {
		case m > heaviest[0]:
			heaviest[0], heaviest[1] = m, heaviest[0]
		case m > heaviest[1]:
			heaviest[1] = m
		}
	}
	add("two heaviest filters", heaviest[0]+heaviest[1], rig.Item{Spare: true, Worth: worthFilter})
	for _, x := range r.Extras {
		worth := x.Worth
		if worth == 0 {
			worth = worthExtra
		}
		add(x.Name, float64(x.Mass), rig.Item{At: geo.Vec3{X: float64(x.Y), Y: float64(x.X), Z: float64(x.Z)}, Spare: !x.Keep, Worth: worth})
	}
	return items, placed
}

func total(items []rig.Item) (kg float64) {
	for _, i := range items {
		kg += i.MassKg
	}
	return kg
}

// classMass are the greatest take-off masses of the class labels of the European Union, in kg:
// Delegated Regulation (EU) 2019/945, annex, parts 1 to 5 (from memory).
var classMass = map[string]float64{"C0": 0.25, "C1": 0.9, "C2": 4, "C3": 25, "C4": 25}

// massLimits are those of maker, class label and rule profiles.
func (t *Take) massLimits() []rig.Limit {
	limits := []rig.Limit{{Basis: "maker's limit", MaxKg: float64(t.airframe.MaxTakeoff)}}
	if kg, ok := classMass[t.airframe.Class]; ok {
		limits = append(limits, rig.Limit{Basis: "class " + t.airframe.Class + ", Delegated Regulation (EU) 2019/945 (from memory)", MaxKg: kg})
	}
	for _, p := range t.shoot.Profiles() {
		if kg, ok := massUnder(p, t.facts); ok {
			limits = append(limits, rig.Limit{Basis: "rules " + p.ID, MaxKg: kg})
		}
	}
	return limits
}

// heaviestKg is beyond every mass that a rule for such aircraft speaks of.
const heaviestKg = 1000.0

// massUnder finds the mass below which a profile's rules on mass are met with the take's other facts; ok is
// false where it has none, or where mass decides nothing.
func massUnder(p *rule.Profile, facts rule.Facts) (kg float64, ok bool) {
	about, _ := p.Split(map[string]bool{"take_off_mass": true})
	with := rule.Facts{}
	for name, v := range facts {
		with[name] = v
	}
	broken := func(kg float64) bool {
		with["take_off_mass"] = rule.Of(kg)
		for _, r := range rule.Evaluate(about, with) {
			if r.Outcome == rule.Broken {
				return true
			}
		}
		return false
	}
	low, high := 1e-3, heaviestKg
	if broken(low) || !broken(high) {
		return 0, false
	}
	for high-low > 1e-4 {
		if mid := (low + high) / 2; broken(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return math.Round(high*1e3) / 1e3, true
}

// leaveMost is how many ways to get under a limit are listed.
const leaveMost = 5

// weigh rolls up what flies: mass against every limit, centre of mass, and what to leave behind.
func (t *Take) weigh() {
	packs := heaviestPack(t.shoot, t.Rig)
	items, placed := payload(t.shoot, t.Rig, t.Slate.Lens, packs)
	load, err := rig.Roll(items)
	n := &t.numbers.Flight.Load
	n.Items, n.Limits, n.Leave = []ItemNumbers{}, []MassLimit{}, []LeaveNumbers{}
	for i, x := range items {
		item := ItemNumbers{What: x.Name, MassKg: x.MassKg}
		if placed || i > 1 || i == 1 && packs == nil {
			item.RightMM, item.ForwardMM, item.UpMM = known(1000*x.At.X), known(1000*x.At.Y), known(1000*x.At.Z)
		}
		n.Items = append(n.Items, item)
	}
	if err != nil {
		t.find(Unknown, TopicFlight, "take-off mass", "unknown", "", "statics", err.Error())
		return
	}
	var worst rig.Excess
	for _, e := range load.Against(t.massLimits()) {
		if !e.Known {
			t.find(Unknown, TopicFlight, "take-off mass against the "+e.Basis, kg(load.MassKg), "unknown", "shelf", "enter max_takeoff: for the airframe")
			continue
		}
		n.Limits = append(n.Limits, MassLimit{e.Basis, e.MaxKg, e.OverKg})
		if e.OverKg > 0 && e.OverKg > worst.OverKg {
			worst = e
		}
	}
	if worst.OverKg > 0 {
		for _, l := range rig.LeaveBehind(append(items, t.lighter(packs)...), worst.OverKg, leaveMost) {
			n.Leave = append(n.Leave, LeaveNumbers{l.Names, l.MassKg, l.Worth})
		}
		mend := fmt.Sprintf("nothing that may be left is enough: %s over; choose another airframe", kg(worst.OverKg))
		if len(n.Leave) > 0 {
			mend = fmt.Sprintf("leave behind %s (%s)", strings.Join(n.Leave[0].Items, " and "), kg(n.Leave[0].MassKg))
		}
		// A rule's own severity is the rule's to say.
		if !strings.HasPrefix(worst.Basis, "rules ") {
			t.find(Stop, TopicFlight, "take-off mass", kg(load.MassKg), kg(worst.MaxKg), worst.Basis, mend)
		} else {
			t.find(Note, TopicFlight, "take-off mass", kg(load.MassKg), kg(worst.MaxKg), worst.Basis, mend)
		}
	}
	t.centre(load, placed)
}

// lighter are exchanges that shed mass: another lens that the rig carries, another pack that fits.
func (t *Take) lighter(packs *shoot.PackType) (items []rig.Item) {
	k := t.shoot.Kit()
	if l := k.Lens(t.Slate.Lens); l != nil {
		for _, name := range t.Rig.Lenses {
			if other := k.Lens(name); other.Mass < l.Mass {
				items = append(items, rig.Item{Name: fmt.Sprintf("lens %s for %s", l.Name, other.Name), MassKg: float64(l.Mass - other.Mass), Spare: true, Worth: worthLens})
			}
		}
	}
	if packs == nil {
		return items
	}
	seen := map[string]bool{packs.Name: true}
	for _, p := range t.packs {
		if other := k.Pack(p.Model); !seen[other.Name] && other.Mass < packs.Mass {
			seen[other.Name] = true
			n := float64(max(1, t.airframe.PacksFitted))
			items = append(items, rig.Item{Name: fmt.Sprintf("pack %s for %s", packs.Name, other.Name), MassKg: n * float64(packs.Mass-other.Mass), Spare: true, Worth: worthPack})
		}
	}
	return items
}

// offCentre is how much more than the mean the outermost rotors may have to give for an aircraft that
// hangs out of its middle (common practice, no source).
const offCentre = 0.10

func (t *Take) centre(load rig.Load, placed bool) {
	if !placed {
		t.find(Unknown, TopicFlight, "centre of mass", "unknown", "", "shelf", "enter centre_forward:, centre_up:, packs_forward: and packs_up: for the airframe")
		return
	}
	x, y := load.Centre.X, load.Centre.Y-float64(t.airframe.HubForward)
	n := &CentreNumbers{RightMM: 1000 * x, ForwardMM: 1000 * y, UpMM: 1000 * (load.Centre.Z - float64(t.airframe.RotorAbove))}
	t.numbers.Flight.Load.Centre = n
	// Rotors even on a circle of radius R: a centre of mass d off its middle asks 1 ± 2 d/R of them (statics).
	radius := (float64(t.airframe.Size) - float64(t.airframe.RotorDiameter)) / 2
	if radius <= 0 {
		return
	}
	spread := 2 * math.Hypot(x, y) / radius
	n.ThrustPct = 100 * spread
	if spread > offCentre {
		t.find(Caution, TopicFlight, "centre of mass out of the rotors' middle", fmt.Sprintf("%.0f mm forward, %.0f mm right; rotors %s apart", n.ForwardMM, n.RightMM, percent(spread)), percent(offCentre), "statics; "+practice, "move the packs "+packMove(load, x, y, t))
	}
}

// packMove says where the packs go to bring the centre of mass back.
func packMove(load rig.Load, x, y float64, t *Take) string {
	p := heaviestPack(t.shoot, t.Rig)
	if p == nil {
		return "or an extra"
	}
	mm := 1000 * load.MassKg / (float64(p.Mass) * float64(max(1, t.airframe.PacksFitted)))
	var moves []string
	say := func(v float64, plus, minus string) {
		if v := v * mm; v > 0.5 {
			moves = append(moves, fmt.Sprintf("%.0f mm %s", v, minus))
		} else if v < -0.5 {
			moves = append(moves, fmt.Sprintf("%.0f mm %s", -v, plus))
		}
	}
	say(y, "forward", "back")
	say(x, "right", "left")
	return strings.Join(moves, " and ")
}
