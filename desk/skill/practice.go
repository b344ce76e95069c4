package skill

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/template"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/shoot"
)

// Course is where and by whom practice is flown.
type Course struct {
	Class   logbook.ShotClass // what it is to earn
	Pilot   string
	Place   shoot.Place // the middle of open, level ground
	Date    shoot.Date
	Zone    string
	Terrain string // elevation file, copied into the folder
}

// drills holds a practice form of each move, at a distance for open ground and at a
// tighter one: the harder the class, the nearer the cone and the smaller the sweep. The
// figures are common practice, no source. No drill goes nearer to anything solid than a
// cone on the ground.
var drills = map[string]string{
	"static":         `{move: static, subject: cone A, bearing: 180 deg, distance: NEAR m, height: HIGH m, duration: 20 s}`,
	"push in":        `{move: push in, subject: cone A, bearing: 180 deg, distance: FAR m, height: HIGH m, end_distance: NEAR m, speed: 2 m/s}`,
	"pull out":       `{move: pull out, subject: cone A, bearing: 180 deg, distance: NEAR m, height: HIGH m, end_distance: FAR m, speed: 2 m/s}`,
	"truck":          `{move: truck, subject: cone A, bearing: 180 deg, distance: NEAR m, height: HIGH m, side: right, travel: 25 m, speed: 2 m/s}`,
	"pedestal":       `{move: pedestal, subject: cone A, bearing: 180 deg, distance: NEAR m, height: HIGH m, rise: 15 m, speed: 1.5 m/s}`,
	"boom":           `{move: boom, subject: cone A, bearing: 180 deg, distance: NEAR m, height: HIGH m, rise: 12 m, speed: 1.5 m/s}`,
	"arc":            `{move: arc, subject: cone A, bearing: 180 deg, radius: NEAR m, height: HIGH m, sweep: 120 deg, speed: 2 m/s}`,
	"orbit":          `{move: arc, subject: cone A, bearing: 180 deg, radius: NEAR m, height: HIGH m, sweep: 360 deg, speed: 2.5 m/s}`,
	"reveal":         `{move: pan, subject: cone B, bearing: 180 deg, distance: NEAR m, height: HIGH m, to_subject: cone A, duration: 10 s}`,
	"fly-through":    `{move: flyover, subject: cone A, bearing: 180 deg, distance: FAR m, height: HIGH m, travel: 70 m, speed: 3 m/s}`,
	"parallel track": `{move: parallel track, subject: cart, distance: NEAR m, height: HIGH m, side: left, duration: 20 s}`,
	"lead":           `{move: lead, subject: cart, distance: NEAR m, height: HIGH m, duration: 20 s}`,
	"follow":         `{move: follow, subject: cart, distance: NEAR m, height: HIGH m, duration: 20 s}`,
}

// reach is the working distance, flying height and far distance in metres by class.
var reach = map[logbook.ShotClass][3]int{
	logbook.Trainer: {40, 15, 70}, logbook.WideOpen: {30, 12, 60}, logbook.NearObjects: {20, 8, 50},
	logbook.Between: {15, 8, 45}, logbook.CloseMoving: {25, 10, 50}, logbook.TwoOperator: {25, 10, 50},
}

const practiceShoot = `# Practice for the class "{{.Class}}": open, level ground away from people, cones on the
# ground, a trainer aircraft. Graded by fieldfare log score: within {{.Grade.DistanceM}} m of the path,
# {{.Grade.SpeedMS}} m/s of the speed{{if .Grade.AimDeg}}, {{.Grade.AimDeg}} deg of the aim{{end}}; passed from {{.Grade.Pass}}.
# {{.Caution}}
fieldfare: 1
title: {{printf "%q" .Title}}
dates: [{{.Date}}]
zone: {{.Zone}}
measures: metric

site:
  name: Practice ground
  origin: {{.Place}}
  terrain: {{.Terrain}}
  features: site.geojson      # mark where people may be before you fly
  ground_cover: open

house:
  reserve: 30 %
  clearance: 5 m
  wire_clearance: 50 m
  people_distance: 50 m
  subject_distance: 10 m
  wind: 6 m/s
  gust: 9 m/s
  visibility: 3 km
  reaction_time: 2 s
  position_error: 2 m
  crossing_time: 5 s
  thrust_margin: 30 %
  link_margin: 10 dB
  setup_time: 5 min
  lens_change: 10 min
  filter_change: 3 min
  launch_move: 10 min
  take_gap: 45 s
  white_balance_step: 100 K

rules: [house-strict]

crew:
  - {name: {{printf "%q" .Pilot}}, roles: [pilot, lead], rung: trainer}

subjects:
  - {name: cone A, at: {{printf "%q" .ConeA}}, width: 0.4 m, depth: 0.4 m, height: 0.5 m}
  - {name: cone B, at: {{printf "%q" .ConeB}}, width: 0.4 m, depth: 0.4 m, height: 0.5 m}
{{- if .Cart}}
  - {name: cart, track: cart.csv, width: 0.8 m, depth: 1.2 m, height: 0.8 m, drift: 0.2 m/s}   # remote-controlled, nobody aboard
{{- end}}

rigs:
  - {name: trainer, airframe: Example 8, gimbal: Example mount, camera: Example camera, lenses: [Example 25], pilot: {{printf "%q" .Pilot}}, trainer: true}

packs:
  - {name: T1, model: Example pack, cycles: 0}
  - {name: T2, model: Example pack, cycles: 0}

slates:
{{- range .Slates}}
  - slate: {{.Slate}}
    title: {{printf "%q" .Title}}
    priority: must
    rig: trainer
    lens: Example 25
    launch: start
    format: C4K
    rate: 25 fps
    takes: {{$.Takes}}
    subject: {{.Subject}}
    light: [daylight]
    moves:
      - {{.Move}}
{{- end}}
`

type drill struct{ Slate, Title, Subject, Move string }

// WritePractice makes a practice shoot folder for a rung. It refuses a folder that holds
// a shoot already and a move it has no drill for.
func WritePractice(dir string, c Course, rung Rung) error {
	if len(rung.Moves) == 0 {
		return fmt.Errorf("practice: the ladder names no moves for %q", rung.Class)
	}
	r, ok := reach[rung.Class]
	if !ok {
		return fmt.Errorf("practice: class %q is not one of %q", rung.Class, logbook.ShotClasses)
	}
	place := func(bearing unit.Angle, m float64) string {
		p, _ := geo.Direct(geo.LatLon(c.Place), bearing, m)
		return shoot.Place(p).String()
	}
	v := struct {
		Course
		Grade                 Grade
		Title, Caution        string
		ConeA, ConeB, Terrain string
		Cart                  bool
		Takes                 int
		Slates                []drill
	}{Course: c, Grade: rung.Grade, Title: "Practice: " + string(rung.Class), Caution: review.Caution, ConeA: c.Place.String(), ConeB: place(90*unit.Degree, 20), Terrain: filepath.Base(c.Terrain), Takes: max(1, (rung.Passes+len(rung.Moves)-1)/len(rung.Moves))}
	for i, name := range rung.Moves {
		text, ok := drills[name]
		if !ok {
			return fmt.Errorf("practice: there is no drill for the move %q", name)
		}
		move := strings.NewReplacer("NEAR", fmt.Sprint(r[0]), "HIGH", fmt.Sprint(r[1]), "FAR", fmt.Sprint(r[2])).Replace(text)
		d := drill{Slate: fmt.Sprintf("P%d", i+1), Title: name, Subject: "cone A", Move: move}
		switch {
		case strings.Contains(move, "subject: cart"):
			d.Subject, v.Cart = "cart", true
		case strings.Contains(move, "subject: cone B"):
			d.Subject = "cone B"
		}
		v.Slates = append(v.Slates, d)
	}
	var text bytes.Buffer
	if err := template.Must(template.New("practice").Parse(practiceShoot)).Execute(&text, v); err != nil {
		return err
	}
	terrain, err := os.ReadFile(c.Terrain)
	if err != nil {
		return fmt.Errorf("practice: elevation file: %w", err)
	}
	if err := shoot.Start(dir, c.Place, c.Date, c.Zone); err != nil {
		return err
	}
	if err := shoot.Save(filepath.Join(dir, v.Terrain), terrain); err != nil {
		return err
	}
	if v.Cart {
		// A straight run east at 2 m/s, 60 m, past cone A.
		var b strings.Builder
		b.WriteString("# the cart's run, from its cue\ntime [s],latitude [deg],longitude [deg]\n")
		for t := 0; t <= 60; t += 5 {
			p, _ := geo.Direct(geo.LatLon(c.Place), 90*unit.Degree, float64(2*t)-60)
			fmt.Fprintf(&b, "%d,%.7f,%.7f\n", t, p.Lat.Deg(), p.Lon.Deg())
		}
		if err := shoot.Save(filepath.Join(dir, "cart.csv"), []byte(b.String())); err != nil {
			return err
		}
	}
	return shoot.Save(filepath.Join(dir, shoot.FileName), text.Bytes())
}
