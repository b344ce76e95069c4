package book

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fieldfare/desk/draw"
	"fieldfare/desk/paper"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// slate prints one shot.
func (p *printer) slate(x *check.Slate) {
	p.Page(x.Slate+"  "+x.Title, "Slate "+x.Slate)
	starts, where := p.planned(x.Slate)
	x = p.asPlanned(x, starts)
	p.board(x, where)
	if assess.Has(x.Findings, assess.Stop) {
		p.Band("STOP: not to be flown as planned. See findings.")
	} else if len(x.Windows) == 0 {
		p.Band("NO WINDOW on the shooting dates. See findings.")
	}
	p.frames(x)
	p.cards(x)
	p.drawings(x)
	p.strips(x, starts)
	p.numbers(x)
	p.findings(x)
}

// asPlanned is the slate with the numbers and findings of the hour at which the day has it, so
// that the crew reads what they will meet; without one, of its best hour.
func (p *printer) asPlanned(x *check.Slate, starts []time.Time) *check.Slate {
	if len(starts) == 0 {
		return x
	}
	own := *x
	now := p.Assessor.Take(x.Slate).At(starts[0])
	own.At, own.Numbers, own.Findings = now.At, now.Numbers, now.Findings
	return &own
}

// strips prints the light of the planned days, or of the first days of the shoot.
func (p *printer) strips(x *check.Slate, starts []time.Time) {
	d := p.PDF
	printed := 0
	for _, date := range p.shoot.Dates {
		has := len(starts) == 0 && printed < 2
		for _, at := range starts {
			has = has || shoot.DateOf(at) == date
		}
		if !has {
			continue
		}
		printed++
		p.Room(draw.LightStripMM + 1)
		y := d.GetY()
		draw.NewLightStrip(p.Assessor, x, date, starts).Draw(p.Pen(paper.Margin, y), p.Width())
		d.SetXY(paper.Margin, y+draw.LightStripMM+0.6)
	}
}

// board is the head of the page in the manner of a clapper board.
func (p *printer) board(x *check.Slate, where []string) {
	d := p.PDF
	y := d.GetY()
	const w, h = 26.0, 17.0
	d.SetFillColor(0, 0, 0)
	d.Rect(paper.Margin, y, w, h, "F")
	d.SetTextColor(255, 255, 255)
	size := 30.0
	for p.Face(paper.Style{Mono: true, Bold: true, Pt: size}); d.GetStringWidth(x.Slate) > w-2 && size > 7; size-- {
		p.Face(paper.Style{Mono: true, Bold: true, Pt: size - 1})
	}
	d.SetXY(paper.Margin, y)
	p.Cell(w, h, x.Slate, "C")
	d.SetTextColor(0, 0, 0)
	left := paper.Margin + w + 4
	middle := p.Width() - w - 4 - 58
	at := p.Block(paper.Style{Mono: true, Bold: true, Pt: 12}, left, y, middle, x.Title)
	if x.Wish != "" {
		at = p.Block(paper.Style{Italic: true, Pt: 8.5}, left, at+0.4, middle, x.Wish)
	}
	at = p.Block(little, left, at+0.4, middle, fmt.Sprintf("%s, %.0f s. Light: %s.", strings.Join(x.Numbers.Move.Moves, ", then "), x.Numbers.Move.DurationS, strings.Join(x.Light, ", ")))
	day := strings.Join(where, "\n")
	if day == "" {
		if day = "not in the day: " + or(p.leftOut(x.Slate)); len(day) > 70 {
			day = "not in the day, see findings" // the reason stands whole under the last day
		}
	}
	right := p.pairs(paper.Margin+p.Width()-55, y, 55, [][2]string{{"wanted", x.Priority}, {"planned", day}, {"rig, lens", x.Rig + ", " + or(x.Lens)}, {"launch", x.Launch}})
	d.SetXY(paper.Margin, max(y+h, max(at, right))+1.2)
}

// frames prints the storyboard, where there is one.
func (p *printer) frames(x *check.Slate) {
	own := p.stories[x.Slate]
	if len(own) == 0 {
		return
	}
	d := p.PDF
	const gap = 1.5
	w := (p.Width() - gap*float64(len(own)-1)) / float64(len(own))
	y, low := d.GetY(), 0.0
	for i, f := range own {
		left := paper.Margin + float64(i)*(w+gap)
		h := w * float64(f.h) / float64(f.w)
		p.JPEG(left, y, w, h, f.jpeg)
		d.SetLineWidth(0.25)
		d.Rect(left, y, w, h, "D")
		p.Block(paper.Style{Mono: true, Pt: 6}, left, y+h+0.3, w, f.label)
		low = max(low, h)
	}
	d.SetXY(paper.Margin, y+low+3.6)
}

// cards prints what the operator sets and what the rig is, side by side.
func (p *printer) cards(x *check.Slate) {
	d := p.PDF
	y := d.GetY()
	half := p.Width()/2 - 1.5
	left := p.cameraCard(x, paper.Margin, y, half)
	right := p.rigCard(x, paper.Margin+half+3, y, half)
	low := max(left, right) + 0.8
	d.SetLineWidth(0.3)
	d.Rect(paper.Margin, y, half, low-y, "D")
	d.Rect(paper.Margin+half+3, y, half, low-y, "D")
	d.SetXY(paper.Margin, low+1.5)
}

func (p *printer) cameraCard(x *check.Slate, left, y, w float64) float64 {
	left, w = left+1.5, w-3
	c := x.Numbers.Picture.Card
	if c == nil {
		y = p.Block(paper.Style{Mono: true, Bold: true, Pt: 8.5}, left, y+1, w, "CAMERA CARD")
		return p.Block(plain, left, y+0.5, w, "unknown: no setting could be chosen; see findings")
	}
	y = p.Block(paper.Style{Mono: true, Bold: true, Pt: 8.5}, left, y+1, w, "CAMERA CARD for "+x.At.Format("Mon 2 Jan 15:04"))
	filters := filtersOf(c.Filters)
	if c.Graduated != "" {
		filters += ", " + c.Graduated
	}
	white := "set on location"
	if c.WhiteBalanceK > 0 {
		white = fmt.Sprintf("%.0f K", c.WhiteBalanceK)
	}
	big := paper.Style{Mono: true, Bold: true, Pt: 10.5}
	y = p.Block(big, left, y+0.8, w, fmt.Sprintf("f/%.3g  1/%.0f s  ISO %.0f", c.Aperture, 1/c.ShutterS, c.ISO))
	y = p.Block(big, left, y, w, fmt.Sprintf("%s  %s", filters, white))
	if fitted := p.fitted(x.Slate); fitted != "" && fitted != filtersOf(c.Filters) {
		y = p.Block(paper.Style{Bold: true, Pt: 7}, left, y, w, "caution: the call sheet fits "+fitted+"; at the planned hour the card asks for "+filtersOf(c.Filters))
	}
	sharp := "to infinity"
	if c.SharpToM != nil {
		sharp = fmt.Sprintf("to %.0f m", *c.SharpToM)
	}
	y = p.Block(little, left, y+0.5, w, fmt.Sprintf("%s at %g fps, shutter angle %.0f°. Focus %.0f m: %s. Sharp from %.0f m %s. Stabiliser %s.", c.Format, c.FrameRate, c.ShutterAngleDeg, c.FocusM, c.FocusCheck, c.SharpFromM, sharp, c.Stabiliser))
	takes := unknownWord
	if c.TakesLeft != nil {
		takes = fmt.Sprint(*c.TakesLeft)
	}
	y = p.Block(little, left, y, w, fmt.Sprintf("Takes that the card holds: %s. EV100 %s.", takes, number(x.Numbers.Picture.EV100, "%.1f")))
	for _, r := range c.Remarks {
		if r.Severity == "note" {
			continue
		}
		text := r.Severity + ": " + r.What + " " + r.Value
		if r.Mend != "" {
			text += "; " + r.Mend
		}
		y = p.Block(little, left, y, w, text)
	}
	return y
}

func filtersOf(names []string) string {
	if len(names) == 0 {
		return "no filter"
	}
	return strings.Join(names, " + ")
}

// fitted is the filter that the call sheet puts on the lens for a slate.
func (p *printer) fitted(slate string) string {
	for _, d := range p.Sheet.Days {
		for _, s := range d.Sorties {
			for _, x := range s.Slates {
				if x.Slate == slate {
					return s.Filter
				}
			}
		}
	}
	return ""
}

func (p *printer) rigCard(x *check.Slate, left, y, w float64) float64 {
	left, w = left+1.5, w-3
	rig := p.shoot.Rig(x.Rig)
	f, b := x.Numbers.Flight, x.Numbers.Balance
	y = p.Block(paper.Style{Mono: true, Bold: true, Pt: 8.5}, left, y+1, w, "RIG AND BALANCE")
	crew := "pilot " + rig.Pilot
	if rig.Operator != "" {
		crew += ", operator " + rig.Operator
	} else {
		crew += ", frames alone"
	}
	y = p.Block(strong, left, y+0.8, w, fmt.Sprintf("%s: %s, %s, %s, %s", rig.Name, rig.Airframe, or(rig.Gimbal), or(rig.Camera), or(x.Lens)))
	y = p.Block(little, left, y, w, crew+". Registration "+or(rig.Mark)+".")
	most := 0.0
	if a := p.shoot.Kit().Airframe(rig.Airframe); a != nil {
		most = float64(a.MaxTakeoff)
	}
	y = p.Block(little, left, y, w, fmt.Sprintf("Take-off mass %.2f kg of %s. Camera package %s.", f.TakeoffMassKg, limit(most, "%.2f kg"), number(b.PayloadKg, "%.2f kg")))
	shift := "unknown"
	if b.ShiftMM != nil {
		switch v := *b.ShiftMM; {
		case math.Abs(v) < 0.5:
			shift = "where it is"
		case v > 0:
			shift = fmt.Sprintf("%.0f mm forward of its middle", v)
		default:
			shift = fmt.Sprintf("%.0f mm back of its middle", -v)
		}
	}
	y = p.Block(little, left, y, w, fmt.Sprintf("Camera plate %s. Tilt moment left %s N mm; share of the motor's torque %s.", shift, number(b.TiltNmm, "%.1f"), share(b.TorqueShare)))
	y = p.Block(little, left, y, w, fmt.Sprintf("Hover %s, thrust to weight %s. One rotor stops: %s.", number(f.HoverPowerW, "%.0f W"), number(f.ThrustRatio, "%.2f"), or(f.RotorOut)))
	takes := unknownWord
	if f.TakesPerPack != nil {
		takes = fmt.Sprint(*f.TakesPerPack)
	}
	return p.Block(little, left, y, w, fmt.Sprintf("A take %s, launch and way there and back %s, usable above reserve %s: %s takes on a pack.", number(f.TakeEnergyWh, "%.0f Wh"), number(f.TransitEnergyWh, "%.0f Wh"), number(f.UsableEnergyWh, "%.0f Wh"), takes))
}

func share(v *float64) string {
	if v == nil {
		return unknownWord
	}
	return fmt.Sprintf("%.0f %%", 100**v)
}

// drawings prints the path from above and from the side.
func (p *printer) drawings(x *check.Slate) {
	d := p.PDF
	const h = 45.0
	p.Room(h + 2)
	y := d.GetY()
	half := p.Width()/2 - 1.5
	line := draw.NewFlightLine(p.Assessor, x)
	line.DrawPlan(p.Pen(paper.Margin, y), half, h)
	line.DrawSide(p.Pen(paper.Margin+half+3, y), half, h)
	d.SetXY(paper.Margin, y+h+1.5)
}

// numbers prints those that matter beside their limits. Whether one is kept is the findings' word.
func (p *printer) numbers(x *check.Slate) {
	n, h := &x.Numbers, p.shoot.House
	rig := p.shoot.Rig(x.Rig)
	air := p.shoot.Kit().Airframe(rig.Airframe)
	lower := func(house, maker float64, format string) string {
		switch {
		case house == 0 && maker == 0:
			return unknownWord
		case maker == 0 || house > 0 && house < maker:
			return fmt.Sprintf(format, house) + " house"
		}
		return fmt.Sprintf(format, maker) + " maker"
	}
	rows := [][]string{
		{"fastest", fmt.Sprintf("%.1f m/s", n.Move.TopSpeedMS), lower(0, float64(air.LevelSpeed), "%.0f m/s"), "wind, gust aloft", number(n.Weather.WindMS, "%.1f") + ", " + number(n.Weather.GustMS, "%.1f m/s"), lower(float64(h.Wind), float64(air.Wind), "%.0f") + ", " + limit(float64(h.Gust), "%.0f m/s house")},
		{"above ground", fmt.Sprintf("%.0f to %.0f m", n.Move.LowestM, n.Move.HighestM), p.ceilings(x), "visibility", kilometres(n.Weather.VisibilityM), limit(float64(h.Visibility)/1000, "%.0f km house")},
		{"clear of ground", number(n.Move.TerrainClearanceM, "%.0f m"), limit(float64(h.Clearance), "%.0f m house"), "temperature", number(n.Weather.TemperatureC, "%.0f °C"), temperatures(air)},
		{"clear of " + obstacle(n.Move.NearestObstacle), number(n.Move.ObstacleClearanceM, "%.0f m"), limit(float64(h.Clearance), "%.0f m house"), "take-off mass", fmt.Sprintf("%.2f kg", n.Flight.TakeoffMassKg), limit(float64(air.MaxTakeoff), "%.2f kg maker")},
		{"people: " + or(n.Safety.Nearest), number(n.Safety.PeopleM, "%.0f m"), limit(float64(h.PeopleDistance), "%.0f m house"), "thrust to weight", number(n.Flight.ThrustRatio, "%.2f"), limit(1+float64(h.ThrustMargin), "%.2f house")},
		{"to a moving subject", p.toSubject(x), limit(float64(h.SubjectDistance), "%.0f m house"), "density altitude", number(n.Flight.DensityAltitudeM, "%.0f m"), limit(float64(air.Ceiling), "%.0f m above sea, maker")},
		{"from the pilot", fmt.Sprintf("%.0f m", n.Safety.PilotM), number(n.Safety.SightLimitM, "%.0f m in sight"), "left after takes", number(n.Flight.ReserveLeftPct, "%.0f %%"), limit(100*float64(h.Reserve), "%.0f %% house")},
		{"blur in the picture", number(n.Picture.BlurPx, "%.1f px"), "", "crossing the picture", number(n.Picture.CrossingS, "%.1f s"), limit(float64(h.CrossingTime), "%.0f s house")},
		{"sun", fmt.Sprintf("%.0f° high at %.0f°", n.Light.SunAltitudeDeg, n.Light.SunAzimuthDeg), "from camera " + fmt.Sprintf("%.0f°", n.Light.SunFromCameraDeg), "light on the subject", number(n.Light.SubjectLx, "%.0f lx"), "sky: " + or(n.Light.Condition)},
	}
	rows = append(rows, p.links(x)...)
	p.Head(fmt.Sprintf("Numbers beside their limits, for %s", x.At.Format("Mon 2 Jan 15:04")))
	for i := range rows {
		rows[i][1], rows[i][4] = "!"+rows[i][1], "!"+rows[i][4]
	}
	p.Table(paper.Table{Pt: 6.6, Tight: true, Weights: []float64{11, 8, 10, 8, 8, 11}, Rows: rows})

	p.Head("Safety and contingencies")
	s := n.Safety
	see := unknownWord
	if s.PilotSees != nil {
		see = map[bool]string{true: "clear throughout", false: "BLOCKED"}[*s.PilotSees]
	}
	risk := unknownWord
	if s.GroundRisk != nil {
		risk = fmt.Sprint(*s.GroundRisk)
	}
	p.Text(little, fmt.Sprintf("Contingency volume %s beyond the path and up to %s above ground; ground risk buffer %s more. A dead aircraft falls at most %s from under it with %s, %s. Intrinsic ground risk class %s. Pilot's line of sight: %s.",
		number(s.ContingencyM, "%.0f m"), number(s.ContingencyTopM, "%.0f m"), number(s.BufferM, "%.0f m"), number(s.FallM, "%.0f m"), number(s.FallEnergyJ, "%.0f J"), map[bool]string{true: "in the hour's wind", false: "in still air"}[s.FallWind], risk, see))
	back := ""
	if n.Flight.NoReturnS != nil {
		back = fmt.Sprintf(" Point of no return at %.0f s.", *n.Flight.NoReturnS)
	}
	p.Text(little, fmt.Sprintf("Lost link: climb to %s above sea before the way home.%s Emergency landing from the worst moment: %s. Level distance of the spots: %s. Accident: hospital %s. Fly-away: %s.",
		number(s.LostLinkM, "%.0f m"), back, nearestSpot(&s), p.escapes(x), or(p.shoot.Site.Hospital), p.flyAway()))
}

func obstacle(name string) string {
	if name == "" {
		return "obstacles"
	}
	return name
}

// links puts the margins of a slate's radio links on one line.
func (p *printer) links(x *check.Slate) [][]string {
	var uses, margins []string
	weakest, when, clear := math.Inf(1), unknownWord, unknownWord
	for _, r := range x.Numbers.Radio {
		uses, margins = append(uses, r.Use), append(margins, number(r.MarginDB, "%.0f"))
		if r.MarginDB != nil && *r.MarginDB < weakest {
			weakest, when, clear = *r.MarginDB, number(r.AtS, "%.0f s"), share(r.Clear)
		}
	}
	if len(uses) == 0 {
		return [][]string{{"radio margin", unknownWord, "", "", "", ""}}
	}
	return [][]string{{strings.Join(uses, ", "), strings.Join(margins, ", ") + " dB margin", limit(float64(p.shoot.House.LinkMargin), "%.0f dB house"), "weakest link", "at " + when, "Fresnel zone clear " + clear}}
}

// toSubject is the distance to a subject that moves; one that stands is an obstacle.
func (p *printer) toSubject(x *check.Slate) string {
	if s := p.Assessor.Subjects()[p.shoot.Slate(x.Slate).Subject]; s != nil && !s.Moves() {
		return "stands still"
	}
	return number(x.Numbers.Move.SubjectDistanceM, "%.0f m")
}

func kilometres(m *float64) string {
	if m == nil {
		return unknownWord
	}
	return fmt.Sprintf("%.0f km", *m/1000)
}

func temperatures(a *shoot.Airframe) string {
	if a.Coldest == nil || a.Hottest == nil {
		return unknownWord
	}
	return fmt.Sprintf("%.0f to %.0f °C maker", float64(*a.Coldest)-273.15, float64(*a.Hottest)-273.15)
}

// ceilings names the lowest ceiling of the areas that the path starts in.
func (p *printer) ceilings(x *check.Slate) string {
	at := p.Assessor.Take(x.Slate).Path.Samples[0].Pos
	for i := range p.shoot.Features() {
		f := &p.shoot.Features()[i]
		if f.Kind == shoot.Area && f.Status == "permitted" && f.Contains(at) && !math.IsInf(f.CeilingM, 1) {
			return fmt.Sprintf("%.0f m over %s, permit", f.CeilingM, f.Reference)
		}
	}
	return unknownWord
}

func (p *printer) escapes(x *check.Slate) string {
	path := p.Assessor.Take(x.Slate).Path.Samples
	var all []string
	for i := range p.shoot.Features() {
		f := &p.shoot.Features()[i]
		if f.Kind != shoot.Landing {
			continue
		}
		near, far := math.Inf(1), 0.0
		for k := range path {
			d := f.Distance(path[k].Pos)
			near, far = math.Min(near, d), math.Max(far, d)
		}
		all = append(all, fmt.Sprintf("%s %.0f to %.0f m", or(f.Name), near, far))
	}
	if len(all) == 0 {
		return "unknown, none entered"
	}
	return strings.Join(all, ", ")
}

// nearestSpot is the landing spot that can be reached from the worst moment of the path.
func nearestSpot(s *assess.SafetyNumbers) string {
	if s.LandingSpot == "" {
		return unknownWord
	}
	return fmt.Sprintf("%s in %s with %s left", s.LandingSpot, number(s.LandingS, "%.0f s"), number(s.LandingLeftPct, "%.0f %%"))
}

// flyAway names whom to call.
func (p *printer) flyAway() string {
	for _, c := range p.shoot.Contacts {
		if strings.Contains(strings.ToLower(c.Why), "fly-away") {
			return "call " + c.Who + ", " + or(c.Phone)
		}
	}
	return "whom to call is unknown"
}

func (p *printer) findings(x *check.Slate) {
	var rows [][]string
	for _, f := range x.Findings {
		word := string(f.Severity)
		if f.Severity == assess.Stop {
			word = "!STOP"
		}
		value := f.Value
		if f.AtS != nil {
			value += fmt.Sprintf(" at %.1f s", *f.AtS)
		}
		if f.Limit != "" {
			value += "; limit " + f.Limit
		}
		rows = append(rows, []string{word, "!" + f.What, value, f.Mend, f.Basis})
	}
	p.Head("Findings")
	if len(rows) == 0 {
		p.Text(plain, "none")
		return
	}
	p.Table(paper.Table{Pt: 6.3, Tight: true, Weights: []float64{12, 32, 46, 50, 45}, Head: []string{"", "what", "found; limit", "how to mend", "basis"}, Rows: rows})
}
