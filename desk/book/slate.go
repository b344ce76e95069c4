package book

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/draw"
	"fieldfare/desk/paper"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
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
	card, rig := p.cameraCard(x), p.rigCard(x)
	numbers, safety, findings, strips := p.numbers(x), p.safety(x), p.findingsOf(x), p.stripDates(starts)
	rest := p.cardsMM(card, rig) + 2*paper.HeadMM + p.TableMM(numbers) + p.BlockMM(little, p.Width(), safety) + findings.height() + float64(len(strips))*stripMM
	wide, high := p.fit(x, p.Bottom()-p.PDF.GetY()-rest-1)
	p.frames(x, wide)
	p.cards(card, rig)
	p.drawings(x, high)
	for _, date := range strips {
		p.strip(x, date, starts)
	}
	p.Head(fmt.Sprintf("Numbers beside their limits, for %s", x.At.Format("Mon 2 Jan 15:04")))
	p.Table(numbers)
	p.Head("Safety and contingencies")
	p.PDF.SetXY(paper.Margin, p.Block(little, paper.Margin, p.PDF.GetY(), p.Width(), safety))
	findings.print()
}

// Heights of the drawings of a path, and the least share of their full width that frames are printed with.
const (
	lowDrawing, fairDrawing, highDrawing = 29.0, 35.0, 48.0

	narrowFrames = 0.78
)

// fit shares the room that the words of a page leave between frames and drawings: how wide the frames are printed, as
// a share of the full width, and how high the drawings. The narrowest frames have their words beside them.
func (p *printer) fit(x *check.Slate, room float64) (wide, high float64) {
	full := p.framesMM(x, 1)
	room -= drawingGap
	high = min(highDrawing, room-full)
	if high >= fairDrawing || full == 0 {
		return 1, max(lowDrawing, high)
	}
	_, whole := p.frameSize(p.stories[x.Slate], 1)
	less := whole * (1 - narrowFrames)
	wide = max(narrowFrames, 1-(1-narrowFrames)*(fairDrawing-high)/less)
	return wide, max(lowDrawing, min(fairDrawing, room-p.framesMM(x, wide)))
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

// stripMM is the room that a light strip takes.
const stripMM = draw.LightStripMM + 0.6

// stripDates are the dates whose light is printed: the planned ones, or the first two of the shoot.
func (p *printer) stripDates(starts []time.Time) []shoot.Date {
	if len(starts) == 0 {
		return p.shoot.Dates[:min(2, len(p.shoot.Dates))]
	}
	var dates []shoot.Date
	for _, date := range p.shoot.Dates {
		if slices.ContainsFunc(starts, func(at time.Time) bool { return shoot.DateOf(at) == date }) {
			dates = append(dates, date)
		}
	}
	return dates
}

// strip prints the light of a date.
func (p *printer) strip(x *check.Slate, date shoot.Date, starts []time.Time) {
	p.Room(stripMM)
	y := p.PDF.GetY()
	draw.NewLightStrip(p.Assessor, x, date, starts).Draw(p.Pen(paper.Margin, y), p.Width())
	p.PDF.SetXY(paper.Margin, y+stripMM)
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
	const aside = 68.0
	middle := p.Width() - w - 4 - aside - 3
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
	right := p.pairs(paper.Margin+p.Width()-aside, y, aside, [][2]string{{"wanted", x.Priority}, {"planned", day}, {"rig, lens", x.Rig + ", " + or(x.Lens)}, {"launch", x.Launch}})
	d.SetXY(paper.Margin, max(y+h, max(at, right))+1.2)
}

// frameGap is the least distance between frames, frameLabel the room of the words below, underFrames what is left free
// where they stand beside.
const frameGap, frameLabel, underFrames = 1.5, 3.8, 1.2

// frameSize is that of a slate's frames when they take a share of the full width.
func (p *printer) frameSize(own []story, share float64) (w, h float64) {
	w = (p.Width() - frameGap*float64(len(own)-1)) / float64(len(own)) * share
	for _, f := range own {
		h = max(h, w*float64(f.h)/float64(f.w))
	}
	return w, h
}

func (p *printer) framesMM(x *check.Slate, share float64) float64 {
	own := p.stories[x.Slate]
	if len(own) == 0 {
		return 0
	}
	_, h := p.frameSize(own, share)
	if share <= narrowFrames {
		return h + underFrames
	}
	return h + frameLabel
}

// frames prints the storyboard, where there is one.
func (p *printer) frames(x *check.Slate, share float64) {
	own := p.stories[x.Slate]
	if len(own) == 0 {
		return
	}
	d := p.PDF
	w, _ := p.frameSize(own, share)
	step, beside := (p.Width()-w)/float64(max(1, len(own)-1)), share <= narrowFrames
	if beside {
		step = (p.Width() + frameGap) / float64(len(own))
	}
	label, y := paper.Style{Mono: true, Pt: 7}, d.GetY()
	for i, f := range own {
		left, h := paper.Margin+float64(i)*step, w*float64(f.h)/float64(f.w)
		p.JPEG(left, y, w, h, f.jpeg)
		d.SetLineWidth(0.25)
		d.Rect(left, y, w, h, "D")
		if beside {
			p.Block(label, left+w+1, y, step-w-1-frameGap, strings.Replace(f.label, ", ", ",\n", 1))
		} else {
			p.Block(label, left, y+h+0.2, w, f.label)
		}
	}
	d.SetXY(paper.Margin, y+p.framesMM(x, share))
}

// part is a paragraph of a card.
type part struct {
	style paper.Style
	text  string
	above float64 // mm
}

// Room between the two cards, within their rims and below them.
const cardGap, cardRim, underCards = 3.0, 1.5, 1.2

// cardShares divide the width between camera and rig so that the two cards come out about equally high.
var cardShares = [2]float64{0.43, 0.57}

// cardWidth is that of the words on a card.
func (p *printer) cardWidth(i int) float64 { return (p.Width()-cardGap)*cardShares[i] - 2*cardRim }

func (p *printer) cardMM(i int, card []part) float64 {
	sum := 0.8
	for _, x := range card {
		sum += x.above + p.BlockMM(x.style, p.cardWidth(i), x.text)
	}
	return sum
}

func (p *printer) cardsMM(cards ...[]part) (h float64) {
	for i, card := range cards {
		h = max(h, p.cardMM(i, card))
	}
	return h + underCards
}

// cards prints what the operator sets and what the rig is, side by side.
func (p *printer) cards(cards ...[]part) {
	d := p.PDF
	top, x := d.GetY(), paper.Margin
	h := p.cardsMM(cards...) - underCards
	for i, card := range cards {
		w, y := p.cardWidth(i), top
		d.SetLineWidth(0.3)
		d.Rect(x, top, w+2*cardRim, h, "D")
		for _, a := range card {
			y = p.Block(a.style, x+cardRim, y+a.above, w, a.text)
		}
		x += w + 2*cardRim + cardGap
	}
	d.SetXY(paper.Margin, top+h+underCards)
}

// cardTitle heads a card.
var cardTitle = paper.Style{Mono: true, Bold: true, Pt: 8.5}

func (p *printer) cameraCard(x *check.Slate) []part {
	c := x.Numbers.Picture.Card
	if c == nil {
		return []part{{cardTitle, "CAMERA CARD", 1}, {plain, "unknown: no setting could be chosen; see findings", 0.5}}
	}
	card := []part{{cardTitle, "CAMERA CARD for " + x.At.Format("Mon 2 Jan 15:04"), 1}}
	white := "set on location"
	if c.WhiteBalanceK > 0 {
		white = fmt.Sprintf("%.0f K", c.WhiteBalanceK)
	}
	set := fmt.Sprintf("f/%.3g  1/%.0f s  ISO %.0f  %s  %s", c.Aperture, 1/c.ShutterS, c.ISO, call.Filter(c), white)
	big := paper.Style{Mono: true, Bold: true, Pt: 10}
	for big.Pt > 9 && len(p.Lines(big, p.cardWidth(0), set)) > 1 {
		big.Pt -= 0.1
	}
	card = append(card, part{big, set, 0.6})
	if fitted := p.fitted(x.Slate); fitted != "" && fitted != call.Filter(c) {
		card = append(card, part{strongLittle, "caution: the call sheet fits " + fitted + "; at the planned hour the card asks for " + call.Filter(c), 0.2})
	}
	sharp := "to infinity"
	if c.SharpToM != nil {
		sharp = fmt.Sprintf("to %.0f m", *c.SharpToM)
	}
	takes := unknownWord
	if c.TakesLeft != nil {
		takes = fmt.Sprint(*c.TakesLeft)
	}
	card = append(card, part{little, fmt.Sprintf("%s at %g fps, shutter angle %.0f°. Focus %.0f m: %s. Sharp from %.0f m %s. Stabiliser %s. Takes that the card holds: %s. EV100 %s.",
		c.Format, c.FrameRate, c.ShutterAngleDeg, c.FocusM, c.FocusCheck, c.SharpFromM, sharp, c.Stabiliser, takes, number(x.Numbers.Picture.EV100, "%.1f")), 0.5})
	for _, r := range c.Remarks {
		if r.Severity == "note" || slices.ContainsFunc(x.Findings, func(f assess.Finding) bool { return f.What == r.What }) {
			continue // the findings hold it
		}
		text := r.Severity + ": " + r.What + " " + r.Value
		if r.Mend != "" {
			text += "; " + r.Mend
		}
		card = append(card, part{little, text, 0})
	}
	return card
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

func (p *printer) rigCard(x *check.Slate) []part {
	rig := p.shoot.Rig(x.Rig)
	f, b := x.Numbers.Flight, x.Numbers.Balance
	crew := "pilot " + rig.Pilot
	if rig.Operator != "" {
		crew += ", operator " + rig.Operator
	} else {
		crew += ", frames alone"
	}
	most := 0.0
	if a := p.shoot.Kit().Airframe(rig.Airframe); a != nil {
		most = float64(a.MaxTakeoff)
	}
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
	takes := unknownWord
	if f.TakesPerPack != nil {
		takes = fmt.Sprint(*f.TakesPerPack)
	}
	return []part{
		{cardTitle, "RIG AND BALANCE", 1},
		{strong, fmt.Sprintf("%s: %s, %s, %s, %s", rig.Name, rig.Airframe, or(rig.Gimbal), or(rig.Camera), or(x.Lens)), 0.6},
		{little, crew + ". Registration " + or(rig.Mark) + ".", 0},
		{little, fmt.Sprintf("Take-off mass %.2f kg of %s. Camera package %s. Camera plate %s. Tilt moment left %s N mm; share of the motor's torque %s.",
			f.TakeoffMassKg, limit(most, "%.2f kg"), number(b.PayloadKg, "%.2f kg"), shift, number(b.TiltNmm, "%.1f"), share(b.TorqueShare)), 0},
		{little, fmt.Sprintf("Hover %s, thrust to weight %s. One rotor stops: %s. A take %s, launch and way there and back %s, usable above reserve %s: %s takes on a pack.",
			number(f.HoverPowerW, "%.0f W"), number(f.ThrustRatio, "%.2f"), or(f.RotorOut), number(f.TakeEnergyWh, "%.0f Wh"), number(f.TransitEnergyWh, "%.0f Wh"), number(f.UsableEnergyWh, "%.0f Wh"), takes), 0},
	}
}

func share(v *float64) string {
	if v == nil {
		return unknownWord
	}
	return fmt.Sprintf("%.0f %%", 100**v)
}

// drawingGap is left free below the drawings.
const drawingGap = 0.8

// drawings prints the path from above and from the side.
func (p *printer) drawings(x *check.Slate, h float64) {
	d := p.PDF
	p.Room(h + drawingGap)
	y := d.GetY()
	half := p.Width()/2 - 1.5
	line := draw.NewFlightLine(p.Assessor, x)
	line.DrawPlan(p.Pen(paper.Margin, y), half, h)
	line.DrawSide(p.Pen(paper.Margin+half+3, y), half, h)
	d.SetXY(paper.Margin, y+h+drawingGap)
}

// numbers are those that matter beside their limits. Whether one is kept is the findings' word.
func (p *printer) numbers(x *check.Slate) paper.Table {
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
	for i := range rows {
		rows[i][1], rows[i][4] = "!"+rows[i][1], "!"+rows[i][4]
	}
	return paper.Table{Tight: true, Weights: []float64{34, 28, 35, 29, 23, 34}, Rows: rows}
}

// safety is what contains a failure, and where to go then.
func (p *printer) safety(x *check.Slate) string {
	n := &x.Numbers
	s := n.Safety
	see := unknownWord
	if s.PilotSees != nil {
		see = map[bool]string{true: "clear throughout", false: "BLOCKED"}[*s.PilotSees]
	}
	risk := unknownWord
	if s.GroundRisk != nil {
		risk = fmt.Sprint(*s.GroundRisk)
	}
	volumes := fmt.Sprintf("Contingency volume %s beyond the path and up to %s above ground; ground risk buffer %s more. A dead aircraft falls at most %s from under it with %s, %s. Intrinsic ground risk class %s. Pilot's line of sight: %s.",
		number(s.ContingencyM, "%.0f m"), number(s.ContingencyTopM, "%.0f m"), number(s.BufferM, "%.0f m"), number(s.FallM, "%.0f m"), number(s.FallEnergyJ, "%.0f J"), map[bool]string{true: "in the hour's wind", false: "in still air"}[s.FallWind], risk, see)
	back := ""
	if n.Flight.NoReturnS != nil {
		back = fmt.Sprintf(" Point of no return at %.0f s.", *n.Flight.NoReturnS)
	}
	return volumes + "\n" + fmt.Sprintf("Lost link: climb to %s above sea before the way home.%s Emergency landing from the worst moment: %s. Level distance of the spots: %s. Accident: hospital %s. Fly-away: %s.",
		number(s.LostLinkM, "%.0f m"), back, nearestSpot(&s), p.escapes(x), or(p.shoot.Site.Hospital), p.flyAway())
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
