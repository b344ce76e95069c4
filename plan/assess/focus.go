package assess

import (
	"fmt"
	"math"

	"fieldfare/model/exposure"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/shoot"
)

// focusOn names what the focus is checked on before take-off: a real thing of the site that is seen from the
// launch spot, at a distance that keeps the wanted range sharp.
func (t *Take) focusOn(card *exposure.Card) {
	eye := t.launch.Add(geo.Vec3{Z: eyeM})
	best, least := "", math.Inf(1)
	look := func(name string, at geo.Vec3) {
		d := at.Sub(eye)
		away := d.Norm()
		if away < card.FocusFromM || card.FocusToM != nil && away > *card.FocusToM {
			return
		}
		off := math.Abs(math.Log(away / card.FocusM))
		if off >= least {
			return
		}
		if s := t.shoot.Ground().LineOfSight(eye, at, float64(t.shoot.Site.Refraction)); !s.Clear {
			return
		}
		azimuth := unit.Angle(math.Atan2(d.X, d.Y)).Wrapped()
		best, least = fmt.Sprintf("%s, %s %s of %s", name, metres(away), compass(azimuth), t.Slate.Launch), off
	}
	features := t.shoot.Features()
	for i := range features {
		f := &features[i]
		switch f.Kind {
		case shoot.Building, shoot.Bridge, shoot.Tree, shoot.Mast:
			if f.Name != "" && len(f.Places) > 0 {
				look(f.Name, middle(f.Places).Add(geo.Vec3{Z: f.HeightM / 2}))
			}
		}
	}
	for i := range t.shoot.Subjects {
		x := &t.shoot.Subjects[i]
		if s := t.around.subjects[x.Name]; s != nil && !s.Moves() {
			m, _ := s.At(0)
			look(x.Name, m.Box.Centre())
		}
	}
	if best != "" {
		card.FocusCheck = best + "; " + card.FocusCheck
	}
}

func middle(all []geo.Vec3) (m geo.Vec3) {
	for _, p := range all {
		m = m.Add(p.Scale(1 / float64(len(all))))
	}
	return m
}

// compass is one of the eight winds.
func compass(azimuth unit.Angle) string {
	names := [...]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	return names[int(math.Round(azimuth.Deg()/45))%len(names)]
}
