package assess

import (
	"fmt"
	"math"
	"slices"

	"fieldfare/model/exposure"
	"fieldfare/model/geo"
	"fieldfare/model/gimbal"
	"fieldfare/plan/rule"
)

// Rungs are the classes of shot from easy to hard, as a pilot climbs them.
var Rungs = []string{"trainer", "wide and open", "near objects", "between objects", "close to moving subjects"}

// crew holds the shot's class against the pilot's rung, and the certificates against the dates.
func (t *Take) crew() {
	pilot := t.shoot.Person(t.Rig.Pilot)
	class := t.numbers.Move.Class
	if pilot != nil && class != "" {
		need, has := slices.Index(Rungs, class), slices.Index(Rungs, pilot.Rung)
		switch {
		case pilot.Rung == "":
			t.find(Unknown, TopicCrew, "rung of "+pilot.Name, "unknown", class, "house rule", "enter rung: for the pilot")
		case has < need:
			t.find(Stop, TopicCrew, "rung of "+pilot.Name, pilot.Rung, class, "house rule", "practise this class first, fly it with another pilot, or ease the shot")
		}
	}
	if pilot == nil {
		return
	}
	last := t.shoot.Dates[len(t.shoot.Dates)-1]
	valid := false
	for _, c := range pilot.Certificates {
		switch {
		case c.Expires == nil:
			t.find(Unknown, TopicCrew, c.Title+" of "+pilot.Name, "expiry unknown", last.String(), "shoot file", "enter expires:")
		case c.Expires.Before(last):
			t.find(Stop, TopicCrew, c.Title+" of "+pilot.Name, "expires "+c.Expires.String(), last.String(), "shoot file", "renew it before the shoot")
		default:
			valid = true
		}
	}
	if len(pilot.Certificates) == 0 {
		t.find(Unknown, TopicCrew, "certificate of "+pilot.Name, "unknown", "", "local rules", "enter certificates: for the pilot")
	} else {
		t.putFact("pilot_certified", rule.Is(valid))
	}
}

// outfitItems are what the gimbal carries, in the mount's frame: X right, Y forward, Z up from
// the axes, the camera plate taken to hold the body's mounting screw at the axes' height.
func (t *Take) outfitItems(lensName string, filters []string) []gimbal.Item {
	k := t.shoot.Kit()
	body := t.outfit.body
	items := []gimbal.Item{{Name: body.Name, MassKg: float64(body.Mass), On: gimbal.Tilt,
		At: geo.Vec3{Y: float64(body.CentreForward), Z: float64(body.CentreUp) - float64(body.CentreUp)}}}
	l := k.Lens(lensName)
	front := float64(body.MountForward)
	items = append(items, gimbal.Item{Name: l.Name, MassKg: float64(l.Mass), On: gimbal.Tilt, At: geo.Vec3{Y: front + float64(l.CentreForward)}})
	for i, name := range filters {
		f := k.Filter(name)
		items = append(items, gimbal.Item{Name: f.Name, MassKg: float64(f.Mass), On: gimbal.Tilt,
			At: geo.Vec3{Y: front + 2*float64(l.CentreForward) + 0.004*float64(i+1)}})
	}
	return items
}

// balance works out how far the camera plate moves for this slate's lens and a filter.
func (t *Take) balance() {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	if g == nil {
		return
	}
	items := t.outfitItems(t.Slate.Lens, nil)
	payload := 0.0
	for _, i := range items {
		payload += i.MassKg
	}
	n := &t.numbers.Balance
	n.PayloadKg = known(payload)
	if limit := float64(g.Payload); limit > 0 && payload > limit {
		t.find(Stop, TopicBalance, "gimbal payload", kg(payload), kg(limit), "maker's limit", "choose a lighter camera package")
	}
	if err := gimbal.Check(items); err != nil {
		t.find(Unknown, TopicBalance, "balance", "unknown", "", "statics", err.Error())
		return
	}
	setting := gimbal.Settings(items, balanceArmM)[gimbal.CameraForward]
	n.TiltNmm, n.ShiftMM = known(setting.MomentNM*1000), known(setting.ShiftM*1000)
	if travel := float64(g.MoveTravel); travel > 0 && math.Abs(setting.ShiftM) > travel {
		t.find(Stop, TopicBalance, "camera plate must move", fmt.Sprintf("%.0f mm", setting.ShiftM*1000), fmt.Sprintf("%.0f mm", travel*1000), "maker's travel; static moments", fmt.Sprintf("add %.0f g behind the axis, or choose another lens", 1000*math.Abs(setting.CounterweightKg)))
	}
	if torque := float64(g.Torque); torque > 0 {
		n.TorqueShare = known(math.Abs(setting.MomentNM) / torque)
	} else {
		t.find(Unknown, TopicBalance, "motor torque", "unknown", "", "shelf", "enter torque: for the gimbal")
	}
}

// balanceArmM is where a counterweight sits behind the tilt axis (common practice, no source).
const balanceArmM = 0.06

// match compares the camera cards of each scene, at the first moment each slate has its light.
func (a *Assessor) match(kept map[string]bool) {
	var cards []exposure.Card
	for _, t := range a.Takes() {
		cards = append(cards, exposure.Card{Scene: scene(t.Slate.Slate), Slate: t.Slate.Slate, Format: t.Slate.Format, FrameRate: float64(t.Slate.Rate),
			ShutterAngleDeg: t.wish(0).ShutterAngle.Deg()})
	}
	for _, d := range exposure.Match(cards) {
		for _, slate := range d.Slates {
			if t := a.takes[slate]; t != nil && !kept[slate] {
				t.find(Severity(d.Severity), TopicMatch, d.What+" within scene "+d.Scene, d.String(), "the same", practice, d.Mend)
			}
		}
	}
}
