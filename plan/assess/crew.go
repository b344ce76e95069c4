package assess

import (
	"slices"

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
