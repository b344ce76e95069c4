package move_test

import (
	"reflect"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"fieldfare/plan/move"
)

const shot = `
- move: push in
  subject: bell
  start: {size: 10 %, place: "left third, lower third", horizon: upper third}
  end: {size: 45 %, place: centre}
  bearing: 140 deg
  speed: 3 m/s
- move: arc
  subject: bell
  sweep: -120 deg
  end_radius: 40 m
  end_height: 30 m
  easing: out
- move: key frames
  keys:
    - time: 4 s
      at: {east: 10 m, north: 20 m, above_ground: 15 m}
      look: {azimuth: 20 deg, tilt: -10 deg}
    - time: 9 s
      subject: bell
      framing: {size: 20 %, headroom: 15 %}
      bearing: 90 deg
`

func read(t *testing.T, text string) []move.Step {
	t.Helper()
	return steps(text)
}

// steps reads a shot that is part of a test.
func steps(text string) (out []move.Step) {
	if err := yaml.UnmarshalWithOptions([]byte(text), &out, yaml.Strict()); err != nil {
		panic(err)
	}
	return out
}

func TestStepsReadFromYAML(t *testing.T) {
	shots := read(t, shot)
	if errs := move.Validate(shots); len(errs) > 0 {
		t.Fatal(errs)
	}
	if s := shots[0]; s.Start.Place.X != 1.0/3 || s.Start.Place.Y != 2.0/3 || s.Start.Size != 0.1 || s.Speed != 3 {
		t.Errorf("first step read as %+v", s)
	}
	back, err := yaml.Marshal(shots)
	if err != nil {
		t.Fatal(err)
	}
	again := read(t, string(back))
	if again[0].Start.Place.String() != "left third, lower third" || again[2].Keys[1].Framing.Headroom.String() != "15 %" {
		t.Errorf("steps do not survive a round trip:\n%s", back)
	}
}

func TestStepsThatCannotBeFlown(t *testing.T) {
	for _, c := range []struct{ yaml, want string }{
		{`[]`, "no moves"},
		{`[{move: pan, from: {above_ground: 2 m}, look: {azimuth: 0 deg}, sweep: 0 deg, speed: 2 m/s, duration: 3 s}]`, "moves[0].speed: speed and duration"},
		{`[{move: pan, from: {above_ground: 2 m}}]`, "moves[0].sweep: a pan needs sweep or to_subject or look"},
		{`[{move: truck, subject: bell, bearing: 0 deg, distance: 9 m, side: left}]`, "moves[0].travel"},
		{`[{move: push in, subject: bell, distance: 20 m, end_distance: 5 m}]`, "moves[0].bearing"},
		{`[{move: push in, subject: bell, bearing: 3 deg, end_distance: 5 m}]`, "moves[0].distance"},
		{`[{move: static, subject: bell, bearing: 3 deg, distance: 20 m, duration: 3 s, rise: 2 m}]`, "moves[0].rise: means nothing to a static"},
		{`[{move: static, subject: bell, bearing: 3 deg, distance: 20 m, duration: 3 s}, {move: boom, subject: bell, rise: 3 m, distance: 4 m}]`, "moves[1].distance: a step starts where the one before ended"},
		{`[{move: lead, subject: truck, bearing: 3 deg, distance: 20 m, duration: 3 s}]`, "moves[0].bearing: a lead takes its place from the moving subject"},
		{`[{move: static, from: {lat: 46 deg, above_ground: 3 m}, duration: 3 s}]`, "moves[0].from.lat: lat and lon go together"},
		{`[{move: static, from: {above_ground: 3 m, above_sea: 9 m}, duration: 3 s}]`, "both given"},
		{`[{move: static, from: {above_ground: -3 m}, duration: 3 s}]`, "under ground"},
		{`[{move: static, from: {east: 1 m}, duration: 3 s}]`, "how high"},
		{`[{move: static, from: {above_ground: 3 m}, duration: 3 s, look: {tilt: -120 deg}}]`, "past straight up or down"},
		{`[{move: key frames, keys: [{time: 1 s, at: {above_ground: 2 m}, subject: bell}, {time: 1 s, at: {above_ground: 2 m}}]}]`, "moves[0].keys[1].time"},
		{`[{move: static, subject: bell, bearing: 3 deg, start: {size: 400 %}, duration: 3 s}]`, "moves[0].start.size"},
	} {
		errs := move.Validate(read(t, c.yaml))
		var all []string
		for _, e := range errs {
			all = append(all, e.Error())
		}
		if !strings.Contains(strings.Join(all, "\n"), c.want) {
			t.Errorf("%s\n  got %q\n  want one with %q", c.yaml, all, c.want)
		}
	}
}

func TestUnknownWordsAreRefused(t *testing.T) {
	for _, text := range []string{
		`[{move: zoomies}]`, `[{move: truck, side: up}]`, `[{move: truck, easing: slow}]`,
		`[{move: truck, travel: 12}]`, `[{move: arc, start: {place: nowhere}}]`, `[{move: arc, wheel: 2 m}]`,
		`[{move: arc, start: {place: "left third, left third"}}]`, `[{move: arc, start: {horizon: "3"}}]`,
	} {
		var steps []move.Step
		if err := yaml.UnmarshalWithOptions([]byte(text), &steps, yaml.Strict()); err == nil {
			t.Errorf("%s was read without complaint", text)
		}
	}
}

// Keys that name no subject are about the step's, as if each named it.
func TestKeysTakeTheSubjectOfTheStep(t *testing.T) {
	solved := func(text string) move.Path {
		t.Helper()
		steps := read(t, text)
		if errs := move.Validate(steps); len(errs) > 0 {
			t.Fatal(errs)
		}
		s, err := move.Solve(valley(steps))
		if err != nil {
			t.Fatal(err)
		}
		return s.Path
	}
	each := solved(everyMove["key frames"])
	once := solved(strings.Replace(strings.ReplaceAll(everyMove["key frames"], ", subject: bell", ""), "move: key frames", "move: key frames, subject: bell", 1))
	if !reflect.DeepEqual(each.Samples, once.Samples) {
		t.Error("the path is another when the step names the subject")
	}
	none := read(t, `[{move: key frames, keys: [{time: 0 s, at: {above_ground: 2 m}}, {time: 5 s, at: {above_ground: 9 m}}]}]`)
	if errs := move.Validate(none); len(errs) != 2 || !strings.Contains(errs[0].Error(), "moves[0].keys[0].look: nothing says where the camera points") {
		t.Errorf("keys about nothing: %v", errs)
	}
}
