package draw

import (
	"fmt"
	"io"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// SlateLight draws a slate's sky strip on a date: the terrain's skyline around its subject, sun and
// moon, and where the slate wants the sun. The id keeps several strips on one page apart.
func SlateLight(w io.Writer, a *assess.Assessor, t *assess.Take, date shoot.Date, id string) error {
	line, eye, ok := t.SubjectSkyline()
	if !ok {
		return fmt.Errorf("slate %s: the terrain around its subject is not known", t.Slate.Slate)
	}
	at := a.Shoot.Frame().ToLatLon(geo.Vec3{X: eye.X, Y: eye.Y})
	place, err := sky.NewPlace(at.Lat, at.Lon, eye.Z)
	if err != nil {
		return err
	}
	strip := SkyStrip{ID: id, Title: fmt.Sprintf("%s at %s", t.Slate.Slate, t.Slate.Subject), Place: place,
		Day: date.Midnight(a.Shoot.Location())}
	for _, p := range line.Points {
		strip.Skyline = append(strip.Skyline, p.Elevation)
	}
	for _, x := range t.Wanted() {
		strip.Wanted = append(strip.Wanted, Sector{From: x.From, To: x.To, Low: x.Low, High: x.High, Label: x.Words})
	}
	return strip.SVG(w)
}
