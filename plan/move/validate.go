package move

import (
	"fmt"
	"math"
	"reflect"

	"fieldfare/model/unit"
)

// needs names, for each move, what it cannot be flown without. Fields are named as in
// the shoot file; "a|b" is met by either.
var needs = map[Kind][]string{
	Static:     {"duration"},
	PushIn:     {"subject|to", "end|to|end_distance|travel"},
	PullOut:    {"subject|to", "end|to|end_distance|travel"},
	Truck:      {"travel|to", "side|to"},
	Pedestal:   {"rise|to"},
	Boom:       {"subject", "rise|to|end"},
	Pan:        {"sweep|to_subject|look"},
	Tilt:       {"sweep|to_subject|look"},
	Arc:        {"subject", "sweep"},
	Reveal:     {"subject", "rise|travel|to"},
	TopDown:    {"subject", "duration|rise|travel|sweep|to|end|end_height"},
	Flyover:    {"subject|to", "travel|to"},
	FlyThrough: {"through"},
	Lead:       {"subject", "duration"},
	Follow:     {"subject", "duration"},
	Parallel:   {"subject", "duration", "side"},
	KeyFrames:  {"keys"},
}

// takes names the fields with a meaning for each move beyond those of every move.
var takes = map[Kind]string{
	Static:     " duration look ",
	PushIn:     " end to end_distance end_height travel look ",
	PullOut:    " end to end_distance end_height travel look ",
	Truck:      " end to travel side look ",
	Pedestal:   " end to rise look ",
	Boom:       " end to rise travel ",
	Pan:        " end to_subject sweep look ",
	Tilt:       " end to_subject sweep look ",
	Arc:        " end sweep radius end_radius end_height ",
	Reveal:     " end to rise travel direction look ",
	TopDown:    " end to rise travel direction sweep end_height ",
	Flyover:    " end to travel direction look ",
	FlyThrough: " end to through look ",
	Lead:       " end end_distance end_height ",
	Follow:     " end end_distance end_height ",
	Parallel:   " end end_distance end_height side ",
	KeyFrames:  " keys ",
}

// placing are the fields that say where the first step starts, and those of every step.
const (
	placing  = " start from bearing distance height "
	everyone = " move subject speed duration easing "
)

// Validate lists everything in the steps that cannot be flown as written, each with the
// field's path ("moves[1].sweep"). It looks at the steps alone; Solve checks them against
// site and rig.
func Validate(steps []Step) []error {
	if len(steps) == 0 {
		return []error{fmt.Errorf("moves: the shot has no moves: give at least one, for example move: static with a duration")}
	}
	var errs []error
	for i := range steps {
		errs = append(errs, steps[i].validate(fmt.Sprintf("moves[%d]", i), i == 0)...)
	}
	return errs
}

// Validate is the check of one step that stands first in its shot.
func (s *Step) Validate() []error { return s.validate("move", true) }

func (s *Step) validate(path string, first bool) []error {
	var errs []error
	fail := func(field, format string, args ...any) {
		errs = append(errs, fmt.Errorf("%s.%s: %s", path, field, fmt.Sprintf(format, args...)))
	}
	kind := s.Move
	if kind == Orbit {
		kind = Arc
	}
	if _, ok := needs[kind]; !ok {
		fail("move", "%q is not a move: write one of %s", s.Move, join(Kinds))
		return errs
	}
	given := s.given()
	for _, need := range needs[kind] {
		if !met(need, given) {
			fail(firstOf(need), "a %s needs %s", s.Move, oneOf(need))
		}
	}
	for _, field := range fieldOrder {
		if !given[field] || has(everyone, field) || has(takes[kind], field) {
			continue
		}
		if has(placing, field) {
			if kind == Lead || kind == Follow || kind == Parallel {
				if field == "distance" || field == "height" || field == "start" && first {
					continue
				}
				fail(field, "a %s takes its place from the moving subject: give distance, height or start", s.Move)
			} else if kind == KeyFrames {
				fail(field, "key frames carry their own places: move it into keys")
			} else if !first {
				fail(field, "a step starts where the one before ended: set the end of that step, or drop %s", field)
			}
			continue
		}
		fail(field, "means nothing to a %s: drop it", s.Move)
	}
	if first && !given["from"] && kind != Lead && kind != Follow && kind != Parallel && kind != KeyFrames {
		switch {
		case kind == FlyThrough:
			fail("from", "a %s needs from, where it starts", s.Move)
		case s.Subject == "":
			fail("from", "nothing says where the camera starts: give from, or subject with bearing")
		case !given["bearing"] && kind != TopDown && (kind != Flyover || !given["direction"]):
			fail("bearing", "nothing says from which side the subject is seen: give bearing, or from")
		case kind == TopDown || kind == Flyover:
			if !given["height"] && !given["distance"] && (s.Start == nil || s.Start.Size == 0) {
				fail("height", "nothing says how high the camera is: give height, or start with a size")
			}
		case !given["distance"] && !given["radius"] && (s.Start == nil || s.Start.Size == 0):
			fail("distance", "nothing says how far the camera is: give distance, or start with a size")
		}
	}
	if first && s.Start != nil && s.Subject == "" {
		fail("subject", "a start framing needs a subject")
	}
	if s.End != nil && s.Subject == "" && s.ToSubject == "" {
		fail("subject", "an end framing needs a subject")
	}
	if s.Start != nil {
		errs = append(errs, s.Start.Validate(path+".start")...)
		if s.Start.Horizon != nil && s.Height != nil && s.Start.Size != 0 {
			fail("height", "size, place and horizon already fix the height: drop height or start.horizon")
		}
		if s.Start.Size != 0 && given["distance"] && kind != Lead && kind != Follow && kind != Parallel {
			fail("distance", "start.size already fixes the distance: drop one of them")
		}
		if s.Start.Size != 0 && given["radius"] {
			fail("radius", "start.size already fixes the radius: drop one of them")
		}
	}
	if s.End != nil {
		errs = append(errs, s.End.Validate(path+".end")...)
		if s.End.Size != 0 && given["end_distance"] {
			fail("end_distance", "end.size already fixes the distance: drop one of them")
		}
		if s.End.Size != 0 && given["end_radius"] {
			fail("end_radius", "end.size already fixes the radius: drop one of them")
		}
		if s.End.Horizon != nil && s.EndHeight != nil && s.End.Size != 0 {
			fail("end_height", "size, place and horizon already fix the height: drop end_height or end.horizon")
		}
	}
	if s.Speed != 0 && s.Duration != 0 {
		fail("speed", "speed and duration both given: drop one of them")
	}
	for _, v := range []struct {
		field string
		value float64
	}{{"speed", float64(s.Speed)}, {"duration", float64(s.Duration)}, {"distance", float64(s.Distance)},
		{"end_distance", float64(s.EndDistance)}, {"radius", float64(s.Radius)}, {"end_radius", float64(s.EndRadius)},
		{"travel", float64(s.Travel)}, {"sweep", float64(s.Sweep)}, {"rise", float64(s.Rise)}} {
		if !finite(v.value) {
			fail(v.field, "is not a finite number")
		} else if v.value < 0 && v.field != "sweep" && v.field != "rise" && (v.field != "travel" || kind != Boom) {
			fail(v.field, "must be more than zero")
		}
	}
	if s.Duration > 3600 {
		fail("duration", "%s is longer than an hour: no pack flies it", s.Duration)
	}
	if s.Travel > 20e3 || s.Distance > 20e3 || s.EndDistance > 20e3 || s.Radius > 20e3 || s.EndRadius > 20e3 {
		fail("distance", "more than 20 km: check the unit")
	}
	if math.Abs(float64(s.Sweep)) > 20*math.Pi {
		fail("sweep", "%s is more than ten turns: check the unit", s.Sweep)
	}
	errs = append(errs, s.Look.validate(path+".look")...)
	errs = append(errs, s.From.validate(path+".from")...)
	errs = append(errs, s.To.validate(path+".to")...)
	for i := range s.Through {
		errs = append(errs, s.Through[i].validate(fmt.Sprintf("%s.through[%d]", path, i))...)
	}
	if kind == KeyFrames {
		errs = append(errs, validateKeys(s.Keys, s.Subject, path+".keys", first)...)
	}
	return errs
}

// validateKeys checks keys whose subject is the step's where they name none.
func validateKeys(keys []Key, subject, path string, first bool) []error {
	var errs []error
	if len(keys) < 2 && first {
		errs = append(errs, fmt.Errorf("%s: a free move needs at least two keys", path))
	}
	last := math.Inf(-1)
	for i := range keys {
		k := &keys[i]
		at := fmt.Sprintf("%s[%d]", path, i)
		if i == 0 && first && k.Time != 0 {
			errs = append(errs, fmt.Errorf("%s.time: the first key stands at 0 s, not %s", at, k.Time))
		}
		if !first && k.Time <= 0 {
			errs = append(errs, fmt.Errorf("%s.time: keys of a later step count from the end of the one before and are more than 0 s", at))
		}
		if !finite(float64(k.Time)) || float64(k.Time) <= last {
			errs = append(errs, fmt.Errorf("%s.time: %s is not after the key before it", at, k.Time))
		}
		last = float64(k.Time)
		framed := k.Subject != "" || subject != ""
		switch {
		case k.At == nil && (!framed || k.Framing == nil || k.Framing.Size == 0):
			errs = append(errs, fmt.Errorf("%s.at: nothing says where the camera is: give at, or subject with framing.size", at))
		case k.At == nil && k.Bearing == nil:
			errs = append(errs, fmt.Errorf("%s.bearing: nothing says from which side the subject is seen: give bearing, or at", at))
		case k.At != nil && !framed && (k.Look == nil || k.Look.Azimuth == nil || k.Look.Tilt == nil):
			errs = append(errs, fmt.Errorf("%s.look: nothing says where the camera points: give subject, or look with azimuth and tilt", at))
		}
		if k.Framing != nil {
			errs = append(errs, k.Framing.Validate(at+".framing")...)
			if k.Framing.Horizon != nil && k.Height != nil && k.At == nil {
				errs = append(errs, fmt.Errorf("%s.height: size, place and horizon already fix the height: drop height or framing.horizon", at))
			}
		}
		errs = append(errs, k.At.validate(at+".at")...)
		errs = append(errs, k.Look.validate(at+".look")...)
	}
	return errs
}

func (l *Look) validate(path string) []error {
	if l == nil {
		return nil
	}
	if l.Azimuth == nil && l.Tilt == nil {
		return []error{fmt.Errorf("%s: is empty: give azimuth, tilt or both", path)}
	}
	if l.Tilt != nil && !(math.Abs(float64(*l.Tilt)) <= math.Pi/2+1e-9) {
		return []error{fmt.Errorf("%s.tilt: %s is past straight up or down: give -90 deg to 90 deg", path, l.Tilt)}
	}
	if l.Azimuth != nil && !finite(float64(*l.Azimuth)) {
		return []error{fmt.Errorf("%s.azimuth: is not a finite number", path)}
	}
	return nil
}

func (p *Position) validate(path string) []error {
	if p == nil {
		return nil
	}
	var errs []error
	if (p.Lat == nil) != (p.Lon == nil) {
		errs = append(errs, fmt.Errorf("%s.lat: lat and lon go together", path))
	}
	if p.Lat != nil {
		if p.Point != "" || p.East != 0 || p.North != 0 {
			errs = append(errs, fmt.Errorf("%s.lat: lat and lon stand in place of point, east and north: drop one pair", path))
		}
		if !(math.Abs(float64(*p.Lat)) <= math.Pi/2) {
			errs = append(errs, fmt.Errorf("%s.lat: %s is not a latitude: are lat and lon swapped?", path, p.Lat))
		}
	}
	if p.AboveGround != nil && p.AboveSea != nil {
		errs = append(errs, fmt.Errorf("%s.above_ground: above_ground and above_sea both given: drop one of them", path))
	}
	if p.AboveGround == nil && p.AboveSea == nil && p.Point == "" {
		errs = append(errs, fmt.Errorf("%s.above_ground: nothing says how high: give above_ground or above_sea", path))
	}
	if p.AboveGround != nil && *p.AboveGround < 0 {
		errs = append(errs, fmt.Errorf("%s.above_ground: %s is under ground", path, p.AboveGround))
	}
	for _, l := range []*unit.Length{&p.East, &p.North, p.AboveGround, p.AboveSea} {
		if l != nil && !(math.Abs(float64(*l)) < 1e7) {
			errs = append(errs, fmt.Errorf("%s: %s is not on the site", path, l))
		}
	}
	return errs
}

var fieldOrder = func() []string {
	t := reflect.TypeFor[Step]()
	names := make([]string, t.NumField())
	for i := range names {
		names[i] = fieldName(t.Field(i))
	}
	return names
}()

func fieldName(f reflect.StructField) string {
	tag := f.Tag.Get("yaml")
	for i := range tag {
		if tag[i] == ',' {
			return tag[:i]
		}
	}
	return tag
}

// given tells which fields were written.
func (s *Step) given() map[string]bool {
	v := reflect.ValueOf(*s)
	m := make(map[string]bool, v.NumField())
	for i, name := range fieldOrder {
		m[name] = !v.Field(i).IsZero()
	}
	return m
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
