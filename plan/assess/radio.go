package assess

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/radio"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// radioSamples along a path, radioStepM along each terrain profile.
const (
	radioSamples = 16
	radioStepM   = 15.0
	antennaM     = 2.0 // ground antenna above ground (common practice, no source)
)

const basisRadio = "ITU-R P.525, P.526 (Bullington's construction from memory), buildings and trees as edges"

// radioWorld is the ground with everything that a wave bends over.
func (t *Take) radioWorld() *cover {
	return t.covered(0, shoot.Building, shoot.Tree, shoot.Bridge)
}

// radio works out every link of the rig at its weakest moment.
func (t *Take) radio() {
	set := t.shoot.Kit().Radio(t.Rig.Radio)
	if set == nil {
		t.find(Unknown, TopicRadio, "radio links", "no radio entered for this rig", "", basisRadio, "add radio: to the rig")
		return
	}
	if t.Unsolved != nil {
		return
	}
	station := t.launch
	station.Z += antennaM
	path := t.radioPath(radioSamples)
	for i := range set.Links {
		t.link(&set.Links[i], station, path)
	}
}

func (t *Take) radioPath(n int) (path []radio.Moment) {
	for _, m := range t.sparse(n) {
		path = append(path, radio.Moment{TimeS: m.TimeS, Pos: m.Pos})
	}
	return path
}

// budgetOf puts a link of the shelf in the model's terms. The same budget holds in both directions.
func budgetOf(l *shoot.Link) radio.Link {
	return radio.Link{FrequencyHz: float64(l.Frequency), PowerW: float64(l.Power), Tx: radio.Antenna{GainDBi: float64(l.AirGain)},
		Rx: radio.Antenna{GainDBi: float64(l.GroundGain)}, BlockingDB: float64(l.Blocking), BandwidthHz: float64(l.Bandwidth),
		NoiseFigureDB: float64(l.NoiseFigure), RequiredSNRDB: float64(l.Required)}
}

// eirp is the link's equivalent isotropic radiated power in watts: the control link is sent from
// the ground, the others from the air.
func eirp(l *shoot.Link) float64 {
	gain := float64(l.AirGain)
	if l.Use == "control" {
		gain = float64(l.GroundGain)
	}
	return radio.Watts(radio.EIRP(float64(l.Power), gain, 0))
}

func (t *Take) link(l *shoot.Link, station geo.Vec3, path []radio.Moment) {
	n := RadioNumbers{Use: l.Use, EIRPmW: known(eirp(l) * 1000)}
	defer func() { t.numbers.Radio = append(t.numbers.Radio, n) }()
	budget := budgetOf(l)
	readings, err := budget.Along(t.radioWorld(), station, path, radioStepM)
	if err != nil || len(readings) == 0 {
		t.find(Unknown, TopicRadio, l.Use+" link", "unknown", "", basisRadio, fmt.Sprint(err))
		return
	}
	worst := readings[radio.Weakest(readings)]
	n.MarginDB, n.AtS = known(worst.Budget.MarginDB), known(worst.TimeS)
	if !worst.Overhead {
		n.Clear = known(worst.FresnelShare)
	}
	limit := float64(t.shoot.House.LinkMargin)
	mend := "stand the station where it sees the path, or come nearer"
	if worst.TerrainKnown && worst.Budget.MarginDB < math.Max(limit, 0) {
		if stand, margin, ok := t.bestStand(budget, path); ok {
			n.Stand, n.StandDB = stand, known(margin)
			if margin > worst.Budget.MarginDB+0.5 && stand != t.Slate.Launch {
				mend = fmt.Sprintf("stand its ground end at %s, where the weakest moment has %s, or come nearer", stand, decibels(margin))
			}
		}
	}
	switch {
	case !worst.TerrainKnown:
		t.findAt(worst.TimeS, Unknown, TopicRadio, l.Use+" link's margin", "at most "+decibels(worst.Budget.MarginDB), "", basisRadio+"; terrain unknown", "extend the elevation grid")
		return
	case worst.Budget.MarginDB < 0:
		t.findAt(worst.TimeS, Stop, TopicRadio, l.Use+" link's margin", decibels(worst.Budget.MarginDB), "0 dB", basisRadio, mend)
	case limit == 0:
		t.find(Unknown, TopicRadio, l.Use+" link's margin", decibels(worst.Budget.MarginDB), "unknown", "house rule", "add link_margin: to house:")
	case worst.Budget.MarginDB < limit:
		t.findAt(worst.TimeS, Caution, TopicRadio, l.Use+" link's margin", decibels(worst.Budget.MarginDB), decibels(limit), "house rule; "+basisRadio, mend)
	}
	switch l.Use {
	case "control":
		t.putFact("link_margin", rule.Of(worst.Budget.MarginDB))
		if !worst.Overhead {
			t.putFact("fresnel_clearance", rule.Of(worst.FresnelShare))
		}
	case "video":
		t.putFact("video_margin", rule.Of(worst.Budget.MarginDB))
	}
}

// bestStand is the place among the site's launch, observer and set spots and the pilot's from which a
// link is strongest at its weakest moment.
func (t *Take) bestStand(l radio.Link, path []radio.Moment) (name string, marginDB float64, ok bool) {
	names := []string{t.Slate.Launch}
	at := []geo.Vec3{t.launch.Add(geo.Vec3{Z: antennaM})}
	if t.Slate.Pilot != nil {
		names, at = append(names, "the pilot's place"), append(at, t.pilot.Add(geo.Vec3{Z: antennaM - eyeM}))
	}
	features := t.shoot.Features()
	for i := range features {
		f := &features[i]
		switch f.Kind {
		case shoot.Launch, shoot.Observer, shoot.Set:
			if f.Shape == shoot.Point && f.OnGround && (f.Kind != shoot.Launch || f.Name != t.Slate.Launch) {
				names, at = append(names, describe(f)), append(at, f.Places[0].Add(geo.Vec3{Z: antennaM}))
			}
		}
	}
	best, stands, err := l.BestStand(t.radioWorld(), at, path, radioStepM)
	if err != nil || best < 0 || best >= len(stands) || !stands[best].Weakest.TerrainKnown {
		return "", 0, false
	}
	return names[stands[best].Index], stands[best].Weakest.Budget.MarginDB, true
}
