package assess

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
)

// Wanted is a part of the sky in which the slate wants the sun: azimuths clockwise From to To,
// altitudes Low to High.
type Wanted struct {
	From, To  unit.Angle
	Low, High unit.Angle
	Words     string
}

// Wanted puts the slate's light words on the sky, seen with the camera of mid take. Words that no
// direction answers (shade, night) are not among them.
func (t *Take) Wanted() (all []Wanted) {
	for _, word := range t.Slate.Light {
		side := 0.0
		name := word
		switch word {
		case "side light left":
			name, side = "side light", -1
		case "side light right":
			name, side = "side light", 1
		}
		b, ok := bands[name]
		if !ok {
			continue
		}
		w := Wanted{Words: word, Low: 0, High: 90 * unit.Degree, From: 0, To: 2 * math.Pi}
		if b.what == "solar altitude" {
			w.Low, w.High = unit.Angle(b.from)*unit.Degree, unit.Angle(b.to)*unit.Degree
			all = append(all, w)
			continue
		}
		for _, s := range []float64{-1, 1} {
			if side != 0 && s != side {
				continue
			}
			near, far := t.midAzimuth+unit.Angle(s*b.from)*unit.Degree, t.midAzimuth+unit.Angle(s*b.to)*unit.Degree
			if s < 0 {
				near, far = far, near
			}
			w.From, w.To = near.Wrapped(), far.Wrapped()
			all = append(all, w)
		}
	}
	return all
}

// SubjectSkyline returns the terrain's horizon around the subject at mid take, and where that is; ok is
// false where the terrain is not known.
func (t *Take) SubjectSkyline() (line terrain.Skyline, at geo.Vec3, ok bool) {
	if len(t.skylines) == 0 {
		return terrain.Skyline{}, geo.Vec3{}, false
	}
	return t.skylines[0], t.skylines[0].Eye, true
}
