package shoot

import (
	"errors"
	"fmt"
	"math"
	"path"
	"strings"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

var references = map[string]airspace.Reference{"ground": airspace.AboveGround, "sea": airspace.AboveSea, "flight level": airspace.FlightLevel}

// levelOf reads a floor or ceiling: a length over the reference, or a level as airspace files
// write them.
func levelOf(text, reference string, empty airspace.Level) (airspace.Level, error) {
	if text == "" {
		return empty, nil
	}
	if l, err := unit.ParseLength(text); err == nil {
		return airspace.Level{HeightM: float64(l), Reference: references[reference]}, nil
	}
	return airspace.ParseLevel(text)
}

// volume makes the zone of an area drawn in GeoJSON.
func (f *Feature) volume(p properties, rings [][][]float64, frame geo.Frame, zone *time.Location, source string) error {
	a := &airspace.Area{Name: f.Name, Source: source}
	var err error
	if a.Status, err = airspace.ParseStatus(f.Status); err != nil {
		return err
	}
	if f.Shape != Polygon {
		return errors.New("an area is drawn as a polygon")
	}
	if a.Floor, err = levelOf(p.Floor, f.Reference, airspace.Ground); err != nil {
		return err
	}
	if a.Ceil, err = levelOf(p.Ceiling, f.Reference, airspace.Unlimited); err != nil {
		return err
	}
	for i, ring := range rings {
		points := make([]geo.LatLon, len(ring))
		for j, at := range ring {
			points[j] = geo.Degrees(at[1], at[0])
		}
		if i == 0 {
			a.Outer = points
		} else {
			a.Holes = append(a.Holes, points)
		}
	}
	if zone != nil {
		for _, span := range f.Validity {
			from, err1 := span.From.In(zone)
			to, err2 := span.To.In(zone)
			if err := errors.Join(err1, err2); err != nil {
				return err
			}
			a.Valid = append(a.Valid, airspace.Period{From: from, To: to})
		}
	}
	return f.occupy(a, frame)
}

// occupy gives the feature its zone and the short form of it.
func (f *Feature) occupy(a *airspace.Area, frame geo.Frame) error {
	z, err := a.Place(frame)
	if err != nil {
		return err
	}
	f.Zone = &z
	f.Outline = z.Polygon
	f.FloorM, f.CeilingM = a.Floor.HeightM, a.Ceil.HeightM
	if a.Ceil.Unlimited {
		f.CeilingM = math.Inf(1)
	}
	reference := a.Ceil.Reference
	if a.Ceil.Unlimited {
		reference = a.Floor.Reference
	}
	for word, r := range references {
		if r == reference {
			f.Reference = word
		}
	}
	return nil
}

// airspace reads the files of airspace that the site names. An area that cannot be read is a
// mistake and never left out.
func (s *Shoot) airspace() (wrong Mistakes) {
	for i, name := range s.Site.Airspace {
		fail := func(what, mend string) {
			wrong = append(wrong, s.marks.at(fmt.Sprintf("site.airspace[%d]", i), what, mend, name))
		}
		src, err := s.folder.read(name)
		if err != nil {
			fail("cannot be read: "+err.Error(), "put the file beside "+FileName)
			continue
		}
		var areas []airspace.Area
		switch ext := strings.ToLower(path.Ext(name)); ext {
		case ".geojson", ".json":
			drawn, more := features(name, src, s.frame, s.ground, s.location, Area)
			for _, f := range drawn {
				if f.Kind != Area {
					more = append(more, Mistake{File: name, Value: f.Kind, What: fmt.Sprintf("holds a feature of kind %q", f.Kind), Mend: "a file of airspace holds areas only; draw the rest in the file of features"})
				}
			}
			wrong = append(wrong, more...)
			s.features = append(s.features, drawn...)
			continue
		case ".kml":
			areas, err = airspace.ReadKML(name, src)
		case ".txt", ".air", ".openair":
			areas, err = airspace.ReadOpenAir(name, src)
		case ".kmz":
			fail("is a packed KML file", "unpack it and name the .kml file inside")
			continue
		default:
			fail(fmt.Sprintf("%q is not the ending of an airspace file", ext), "name it .geojson, .kml, .txt, .air or .openair")
			continue
		}
		if err != nil {
			wrong = append(wrong, spaceMistakes(name, err)...)
			continue
		}
		if len(areas) == 0 {
			fail("holds no area", "remove it from the list, or save it again with its areas")
		}
		for j := range areas {
			a := &areas[j]
			f := Feature{Name: a.Name, Kind: Area, Shape: Polygon, Status: a.Status.String(), Count: -1, Note: a.Class, Source: name, OnGround: true}
			if err := f.occupy(a, s.frame); err != nil {
				wrong = append(wrong, Mistake{File: name, Value: a.Name, What: err.Error(), Mend: "keep only the areas of the site's region in the file"})
				continue
			}
			for _, p := range f.Outline.Outer {
				at := p.At(0)
				if s.ground != nil {
					z, ok := s.ground.HeightAt(p.X, p.Y)
					f.OnGround = f.OnGround && ok
					at.Z = z
				}
				f.Places = append(f.Places, at)
			}
			s.features = append(s.features, f)
		}
	}
	return wrong
}

// spaceMistakes takes the joined errors of an airspace file apart.
func spaceMistakes(name string, err error) (wrong Mistakes) {
	all := []error{err}
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		all = joined.Unwrap()
	}
	for _, e := range all {
		m := Mistake{File: name, What: e.Error()}
		var at *airspace.Error
		if errors.As(e, &at) {
			m.Line, m.Column, m.Value, m.What = at.Line, 1, at.Area, at.Problem
		}
		wrong = append(wrong, m)
	}
	return wrong
}

// Areas returns the areas of airspace of the site, drawn or read from files.
func (s *Shoot) Areas() (all []*Feature) {
	for i := range s.features {
		if s.features[i].Kind == Area {
			all = append(all, &s.features[i])
		}
	}
	return all
}
