package shoot

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/plan/move"
	"fieldfare/plan/rule"
)

// merge adds the gear of another shelf file; a name may stand once per kind.
func (k *Kit) merge(more *Kit, m marks) Mistakes {
	var wrong Mistakes
	seen := func(kind string, i int, name string, taken bool) {
		if taken {
			wrong = append(wrong, m.at(fmt.Sprintf("%s[%d].name", kind, i), fmt.Sprintf("%q stands on the shelf twice", name), "rename one of them", name))
		}
	}
	for i, x := range more.Airframes {
		seen("airframes", i, x.Name, k.Airframe(x.Name) != nil)
		k.Airframes = append(k.Airframes, x)
	}
	for i, x := range more.Gimbals {
		seen("gimbals", i, x.Name, k.Gimbal(x.Name) != nil)
		if x.Axes != 2 && x.Axes != 3 {
			wrong = append(wrong, m.at(fmt.Sprintf("gimbals[%d].axes", i), "a mount has 2 or 3 axes", "", fmt.Sprint(x.Axes)))
		}
		k.Gimbals = append(k.Gimbals, x)
	}
	for i, x := range more.Cameras {
		seen("cameras", i, x.Name, k.Camera(x.Name) != nil)
		k.Cameras = append(k.Cameras, x)
	}
	for i, x := range more.Lenses {
		seen("lenses", i, x.Name, k.Lens(x.Name) != nil)
		k.Lenses = append(k.Lenses, x)
	}
	for i, x := range more.Filters {
		seen("filters", i, x.Name, k.Filter(x.Name) != nil)
		k.Filters = append(k.Filters, x)
	}
	for i, x := range more.Packs {
		seen("packs", i, x.Name, k.Pack(x.Name) != nil)
		if wh := float64(x.Capacity) * float64(x.Voltage) / 3600; x.Mass > 0 && wh/float64(x.Mass) > 400 {
			wrong = append(wrong, m.at(fmt.Sprintf("packs[%d].capacity", i),
				fmt.Sprintf("%.0f Wh in %s is %.0f Wh/kg, more than any lithium pack holds", wh, x.Mass, wh/float64(x.Mass)),
				"check capacity, voltage and mass", x.Capacity.String()))
		}
		k.Packs = append(k.Packs, x)
	}
	for i, x := range more.Chargers {
		seen("chargers", i, x.Name, k.Charger(x.Name) != nil)
		k.Chargers = append(k.Chargers, x)
	}
	for i, x := range more.Radios {
		seen("radios", i, x.Name, k.Radio(x.Name) != nil)
		k.Radios = append(k.Radios, x)
	}
	positive := func(kind string, i int, fields map[string]float64) {
		for _, name := range sortedKeys(fields) {
			if v := fields[name]; !(v > 0) {
				wrong = append(wrong, m.at(fmt.Sprintf("%s[%d].%s", kind, i, name), "must be more than zero", "", fmt.Sprint(v)))
			}
		}
	}
	for i, x := range more.Airframes {
		positive("airframes", i, map[string]float64{"mass": float64(x.Mass), "max_takeoff": float64(x.MaxTakeoff), "rotors": float64(x.Rotors),
			"rotor_diameter": float64(x.RotorDiameter), "hover.mass": float64(x.Hover.Mass), "hover.time": float64(x.Hover.Time), "hover.energy": float64(x.Hover.Energy),
			"level_speed": float64(x.LevelSpeed), "climb_speed": float64(x.ClimbSpeed), "descent_speed": float64(x.DescentSpeed), "acceleration": float64(x.Acceleration), "tilt_limit": float64(x.TiltLimit), "yaw_rate": float64(x.YawRate)})
	}
	for i, x := range more.Cameras {
		positive("cameras", i, map[string]float64{"mass": float64(x.Mass), "sensor_width": float64(x.SensorWidth), "sensor_height": float64(x.SensorHeight)})
	}
	for i, x := range more.Lenses {
		positive("lenses", i, map[string]float64{"mass": float64(x.Mass), "focal": float64(x.Focal)})
		if x.Smallest < x.Widest {
			wrong = append(wrong, m.at(fmt.Sprintf("lenses[%d].smallest", i), "the smallest aperture is wider than the widest", "swap them", x.Smallest.String()))
		}
	}
	for i, x := range more.Packs {
		positive("packs", i, map[string]float64{"capacity": float64(x.Capacity), "voltage": float64(x.Voltage), "mass": float64(x.Mass)})
	}
	return append(wrong, more.plausible(m)...)
}

// check holds the document against itself: references, order, time and place.
func (s *Shoot) check() Mistakes {
	c := &checker{s: s}
	s.framed()
	if h := s.House.Smear; !(h >= 0 && h < 1e4) {
		c.fail("house.smear_px", fmt.Sprint(h), "a smear is a number of pixels, 0 or more", "write smear_px: 2")
	}
	if s.Format != 1 && s.marks["fieldfare"].line > 0 {
		c.fail("fieldfare", fmt.Sprint(s.Format), "this program reads version 1 of the file", "write fieldfare: 1")
	}
	c.dates()
	c.people()
	c.rigs()
	c.packs()
	c.plausible()
	c.subjects()
	c.permissions()
	c.stated()
	c.slates()
	c.cycles()
	return c.wrong
}

type checker struct {
	s     *Shoot
	wrong Mistakes
}

func (c *checker) fail(at, value, what, mend string) {
	c.wrong = append(c.wrong, c.s.marks.at(at, what, mend, value))
}

// refer complains of a name that nothing answers to.
func (c *checker) refer(at, name, kind string, known []string) bool {
	if name == "" || slices.Contains(known, name) {
		return true
	}
	c.fail(at, name, fmt.Sprintf("no %s is called %q", kind, name), suggest(name, known))
	return false
}

func (c *checker) once(at, name, kind string, seen map[string]bool) {
	if strings.TrimSpace(name) == "" && c.s.marks[at].line > 0 {
		c.fail(at, name, "the name is empty", "give each its own name")
	}
	if name != "" && seen[name] {
		c.fail(at, name, fmt.Sprintf("%s %q stands twice", kind, name), "give each its own name")
	}
	seen[name] = true
}

func names[T any](all []T, of func(*T) string) []string {
	out := make([]string, len(all))
	for i := range all {
		out[i] = of(&all[i])
	}
	return out
}

func (c *checker) dates() {
	seen := map[string]bool{}
	for i, d := range c.s.Dates {
		if d == (Date{}) {
			continue
		}
		c.once(fmt.Sprintf("dates[%d]", i), d.String(), "date", seen)
		if i > 0 && d.Before(c.s.Dates[i-1]) {
			c.fail(fmt.Sprintf("dates[%d]", i), d.String(), "the dates are not in order", "sort them")
		}
	}
	for _, d := range c.s.Dates {
		if c.s.Call == nil || c.s.location == nil || d == (Date{}) {
			continue
		}
		if _, err := c.s.Call.On(d, c.s.location); err != nil {
			c.fail("call", c.s.Call.String(), err.Error(), "choose another time")
		}
	}
	c.wrong = append(c.wrong, c.calls()...)
}

func (c *checker) calls() Mistakes {
	sub := &checker{s: c.s}
	people := names(c.s.Crew, func(p *Person) string { return p.Name })
	for i, call := range c.s.Calls {
		at := fmt.Sprintf("calls[%d]", i)
		for j, who := range call.Who {
			sub.refer(fmt.Sprintf("%s.who[%d]", at, j), who, "crew member", people)
		}
		days := c.s.Dates
		if call.Date != nil {
			days = []Date{*call.Date}
		}
		for _, d := range days {
			if c.s.location == nil || d == (Date{}) {
				continue
			}
			if _, err := call.At.On(d, c.s.location); err != nil {
				sub.fail(at+".at", call.At.String(), err.Error(), "choose another time")
			}
		}
	}
	return sub.wrong
}

func (c *checker) people() {
	seen := map[string]bool{}
	for i, p := range c.s.Crew {
		c.once(fmt.Sprintf("crew[%d].name", i), p.Name, "crew member", seen)
	}
}

func (c *checker) rigs() {
	k := c.s.kit
	people := names(c.s.Crew, func(p *Person) string { return p.Name })
	airframes := names(k.Airframes, func(x *Airframe) string { return x.Name })
	gimbals := names(k.Gimbals, func(x *Gimbal) string { return x.Name })
	cameras := names(k.Cameras, func(x *Camera) string { return x.Name })
	lenses := names(k.Lenses, func(x *Lens) string { return x.Name })
	filters := names(k.Filters, func(x *Filter) string { return x.Name })
	radios := names(k.Radios, func(x *Radio) string { return x.Name })
	seen := map[string]bool{}
	for i, r := range c.s.Rigs {
		at := fmt.Sprintf("rigs[%d]", i)
		c.once(at+".name", r.Name, "rig", seen)
		c.refer(at+".airframe", r.Airframe, "airframe on the shelf", airframes)
		c.refer(at+".gimbal", r.Gimbal, "gimbal on the shelf", gimbals)
		c.refer(at+".camera", r.Camera, "camera on the shelf", cameras)
		c.refer(at+".radio", r.Radio, "radio on the shelf", radios)
		c.refer(at+".pilot", r.Pilot, "crew member", people)
		c.refer(at+".operator", r.Operator, "crew member", people)
		if !r.Trainer {
			for _, need := range []struct{ key, value string }{{"gimbal", r.Gimbal}, {"camera", r.Camera}} {
				if need.value == "" {
					c.fail(at+"."+need.key, "", "a rig that films needs a "+need.key, "add "+need.key+": with a name from the shelf, or trainer: true")
				}
			}
			if len(r.Lenses) == 0 {
				c.fail(at+".lenses", "", "a rig that films needs a lens", "add lenses: [...] with names from the shelf")
			}
		}
		for j, l := range r.Lenses {
			c.refer(fmt.Sprintf("%s.lenses[%d]", at, j), l, "lens on the shelf", lenses)
		}
		for j, f := range r.Filters {
			c.refer(fmt.Sprintf("%s.filters[%d]", at, j), f, "filter on the shelf", filters)
		}
		if p := c.s.Person(r.Pilot); p != nil && !slices.Contains(p.Roles, "pilot") {
			c.fail(at+".pilot", r.Pilot, fmt.Sprintf("%s has no pilot's role", r.Pilot), "choose a pilot or add the role")
		}
		if p := c.s.Person(r.Operator); p != nil && !slices.Contains(p.Roles, "operator") {
			c.fail(at+".operator", r.Operator, fmt.Sprintf("%s has no operator's role", r.Operator), "choose an operator or add the role")
		}
	}
}

func (c *checker) packs() {
	models := names(c.s.kit.Packs, func(p *PackType) string { return p.Name })
	chargers := names(c.s.kit.Chargers, func(p *Charger) string { return p.Name })
	seen := map[string]bool{}
	for i, p := range c.s.Packs {
		at := fmt.Sprintf("packs[%d]", i)
		c.once(at+".name", p.Name, "pack", seen)
		c.refer(at+".model", p.Model, "pack on the shelf", models)
		if p.Charge < 0 || p.Charge > 1 {
			c.fail(at+".charge", p.Charge.String(), "a charge lies between 0 and 100 %", "")
		}
		if p.Cycles < 0 {
			c.fail(at+".cycles", fmt.Sprint(p.Cycles), "cycles cannot be negative", "")
		}
	}
	for i, name := range c.s.Charging.Chargers {
		c.refer(fmt.Sprintf("charging.chargers[%d]", i), name, "charger on the shelf", chargers)
	}
}

func (c *checker) subjects() {
	seen := map[string]bool{}
	for i, x := range c.s.Subjects {
		at := fmt.Sprintf("subjects[%d]", i)
		c.once(at+".name", x.Name, "subject", seen)
		switch {
		case x.At == nil && x.Track == "":
			c.fail(at, x.Name, "a subject stands at a place or moves on a track", "add at: or track:")
		case x.At != nil && x.Track != "":
			c.fail(at+".track", x.Track, "a subject has either a place or a track", "remove one")
		}
		if x.At != nil && c.s.ground != nil {
			p := c.s.frame.ToSite(geo.LatLon(*x.At), 0)
			if _, ok := c.s.ground.HeightAt(p.X, p.Y); !ok {
				c.fail(at+".at", x.At.String(), "lies outside the terrain or where it has no data", "check the letters N, S, E, W or extend the grid")
			}
		}
	}
}

func (c *checker) permissions() {
	for i, p := range c.s.Permissions {
		at := fmt.Sprintf("permissions[%d]", i)
		for key, m := range map[string]*Moment{"starts": p.Starts, "ends": p.Ends} {
			if m != nil && c.s.location != nil {
				if _, err := m.In(c.s.location); err != nil {
					c.fail(at+"."+key, m.String(), err.Error(), "choose another time")
				}
			}
		}
		if p.Starts != nil && p.Ends != nil && c.s.location != nil {
			from, err1 := p.Starts.In(c.s.location)
			to, err2 := p.Ends.In(c.s.location)
			if err1 == nil && err2 == nil && !to.After(from) {
				c.fail(at+".ends", p.Ends.String(), "it ends before it starts", "swap the two")
			}
		}
		var areas []string
		for _, f := range c.s.features {
			if f.Kind == Area {
				areas = append(areas, f.Name)
			}
		}
		if c.s.features != nil {
			c.refer(at+".area", p.Area, "area on the site", areas)
		}
		for j, permit := range p.Covers {
			c.refer(fmt.Sprintf("%s.covers[%d]", at, j), permit, "permit of a rule profile", c.s.permits)
		}
		if p.LeadDays < 0 {
			c.fail(at+".lead_days", fmt.Sprint(p.LeadDays), "a lead time cannot be negative", "")
		}
	}
}

func (c *checker) stated() {
	rigs := names(c.s.Rigs, func(x *Rig) string { return x.Name })
	seen := map[string]bool{}
	for i := range c.s.Stated {
		x := &c.s.Stated[i]
		at := fmt.Sprintf("stated[%d]", i)
		c.refer(at+".rig", x.Rig, "rig", rigs)
		c.once(at+".fact", strings.TrimSpace(x.Fact+" "+x.Rig), "fact", seen)
		if x.Fact == "" || x.Is == "" {
			continue
		}
		var err error
		if x.value, err = rule.State(x.Fact, x.Is); err != nil {
			c.fail(at, x.Is, err.Error(), "facts that can be stated: "+strings.Join(rule.Stateable(), ", "))
		}
	}
}

func (c *checker) slates() {
	rigs := names(c.s.Rigs, func(x *Rig) string { return x.Name })
	subjects := names(c.s.Subjects, func(x *Subject) string { return x.Name })
	slates := names(c.s.Slates, func(x *Slate) string { return x.Slate })
	seen := map[string]bool{}
	for i := range c.s.Slates {
		x := &c.s.Slates[i]
		at := fmt.Sprintf("slates[%d]", i)
		c.once(at+".slate", x.Slate, "slate", seen)
		c.refer(at+".rig", x.Rig, "rig", rigs)
		c.refer(at+".subject", x.Subject, "subject", subjects)
		if c.s.features != nil {
			c.refer(at+".launch", x.Launch, "launch spot", c.s.spots(Launch))
		}
		for j, a := range x.After {
			c.refer(fmt.Sprintf("%s.after[%d]", at, j), a, "slate", slates)
		}
		for j, l := range x.Light {
			c.refer(fmt.Sprintf("%s.light[%d]", at, j), l, "light", Lights)
		}
		for j, spot := range x.Spotters {
			c.refer(fmt.Sprintf("%s.spotters[%d]", at, j), spot, "observer spot on the site", c.s.spots(Observer))
		}
		if x.Takes < 0 {
			c.fail(at+".takes", fmt.Sprint(x.Takes), "takes cannot be negative", "")
		}
		c.camera(at, x)
		c.times(at, x)
		c.axis(at, x)
		c.moves(at, x, subjects)
	}
}

// points are the names of the site's point features and of subjects.
func (s *Shoot) points() []string {
	all := names(s.Subjects, func(x *Subject) string { return x.Name })
	for _, f := range s.features {
		if f.Shape == Point && f.Name != "" {
			all = append(all, f.Name)
		}
	}
	return all
}

// axis holds the line of action's two ends.
func (c *checker) axis(at string, x *Slate) {
	if n := len(x.Axis); n != 0 && (n != 2 || x.Axis[0] == x.Axis[1]) {
		c.fail(at+".axis", strings.Join(x.Axis, ", "), "a line of action runs between two different subjects or points", "name two, as axis: [groom, bride]")
		return
	}
	for j, name := range x.Axis {
		c.refer(fmt.Sprintf("%s.axis[%d]", at, j), name, "subject or named point", c.s.points())
	}
}

// framed gives each step the slate's subject where it names none, unless it says where else to look.
func (s *Shoot) framed() {
	for i := range s.Slates {
		for j := range s.Slates[i].Moves {
			if step := &s.Slates[i].Moves[j]; step.Subject == "" && step.Look == nil && step.Move != move.KeyFrames {
				step.Subject = s.Slates[i].Subject
			}
		}
	}
}

// moves holds each step's names and grammar; the grammar's errors begin with their field's path.
func (c *checker) moves(at string, x *Slate, subjects []string) {
	for j, step := range x.Moves {
		c.refer(fmt.Sprintf("%s.moves[%d].subject", at, j), step.Subject, "subject", subjects)
		c.refer(fmt.Sprintf("%s.moves[%d].to_subject", at, j), step.ToSubject, "subject", subjects)
	}
	for _, err := range move.Validate(x.Moves) {
		path, what, found := strings.Cut(err.Error(), ": ")
		if !found {
			path, what = "moves", err.Error()
		}
		c.fail(at+"."+path, "", what, "")
	}
}

// camera checks that the rig carries the lens, filters and format that the slate names.
func (c *checker) camera(at string, x *Slate) {
	rig := c.s.Rig(x.Rig)
	if rig == nil {
		return
	}
	if rig.Camera == "" {
		c.fail(at+".rig", x.Rig, fmt.Sprintf("rig %s carries no camera", rig.Name), "choose a rig that films, or give it camera:, gimbal: and lenses:")
		return
	}
	if x.Lens == "" {
		c.fail(at+".lens", "", "the slate names no lens", "add lens: with one of "+strings.Join(rig.Lenses, ", "))
	}
	c.refer(at+".lens", x.Lens, "lens of rig "+rig.Name, rig.Lenses)
	for j, f := range x.Filters {
		c.refer(fmt.Sprintf("%s.filters[%d]", at, j), f, "filter of rig "+rig.Name, rig.Filters)
	}
	camera := c.s.kit.Camera(rig.Camera)
	if camera == nil {
		return
	}
	if x.Format == "" {
		c.fail(at+".format", "", "the slate names no recording format", "add format: with one of "+strings.Join(names(camera.Formats, func(r *Recording) string { return r.Name }), ", "))
		return
	}
	if !c.refer(at+".format", x.Format, "recording format of "+camera.Name, names(camera.Formats, func(r *Recording) string { return r.Name })) {
		return
	}
	format := camera.Format(x.Format)
	for _, r := range format.Rates {
		if r == x.Rate {
			return
		}
	}
	rates := make([]string, len(format.Rates))
	for i, r := range format.Rates {
		rates[i] = r.String()
	}
	c.fail(at+".rate", x.Rate.String(), fmt.Sprintf("%s does not record %s at %s", camera.Name, format.Name, x.Rate), "choose one of "+strings.Join(rates, ", "))
}

func (c *checker) times(at string, x *Slate) {
	if c.s.location == nil {
		return
	}
	for _, m := range []struct {
		key string
		at  *Moment
	}{{"fixed", x.Fixed}, {"from", x.From}, {"until", x.Until}} {
		if m.at == nil {
			continue
		}
		if _, err := m.at.In(c.s.location); err != nil {
			c.fail(at+"."+m.key, m.at.String(), err.Error(), "choose another time")
		}
		if m.key != "from" && m.key != "until" && !slices.Contains(c.s.Dates, m.at.Date) {
			c.fail(at+"."+m.key, m.at.String(), "is not on a shooting date", "the dates are "+list(c.s.Dates))
		}
	}
	if x.From != nil && x.Until != nil {
		from, err1 := x.From.In(c.s.location)
		until, err2 := x.Until.In(c.s.location)
		if err1 == nil && err2 == nil && !until.After(from) {
			c.fail(at+".until", x.Until.String(), "it ends before it starts", "swap from and until")
		}
	}
}

func list(dates []Date) string {
	out := make([]string, len(dates))
	for i, d := range dates {
		out[i] = d.String()
	}
	return strings.Join(out, ", ")
}

// cycles finds slates that wait for each other.
func (c *checker) cycles() {
	after := map[string][]string{}
	for _, x := range c.s.Slates {
		after[x.Slate] = x.After
	}
	state := map[string]int{} // 1 on the way, 2 done
	var way []string
	var visit func(slate string) []string
	visit = func(slate string) []string {
		switch state[slate] {
		case 1:
			for i, w := range way {
				if w == slate {
					return append(append([]string(nil), way[i:]...), slate)
				}
			}
		case 2:
			return nil
		}
		state[slate] = 1
		way = append(way, slate)
		for _, a := range after[slate] {
			if loop := visit(a); loop != nil {
				return loop
			}
		}
		way = way[:len(way)-1]
		state[slate] = 2
		return nil
	}
	for i, x := range c.s.Slates {
		if loop := visit(x.Slate); loop != nil {
			c.fail(fmt.Sprintf("slates[%d].after", i), x.Slate, "slates wait for each other: "+strings.Join(loop, " after "), "remove one of these")
			return
		}
	}
}

func sortedKeys(m map[string]float64) []string {
	return slices.Sorted(maps.Keys(m))
}
