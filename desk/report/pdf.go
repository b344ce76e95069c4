package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"fieldfare/desk/review"
	"fieldfare/model/geo"
)

// page is an A4 document in the papers' plain style.
type page struct {
	*fpdf.Fpdf
	caution string
}

func newPage(title, caution string, made time.Time, landscape bool) *page {
	o := "P"
	if landscape {
		o = "L"
	}
	p := &page{fpdf.New(o, "mm", "A4", ""), caution}
	p.AddUTF8FontFromBytes("text", "", bytes.Clone(goregular.TTF)) // the library writes into what it is given
	p.AddUTF8FontFromBytes("text", "B", bytes.Clone(gobold.TTF))
	p.SetTitle(title, true)
	p.SetCreationDate(made)
	p.SetModificationDate(made)
	p.SetMargins(15, 15, 15)
	p.SetAutoPageBreak(true, 20)
	p.SetCellMargin(0.8)
	p.SetFooterFunc(func() {
		w, h := p.GetPageSize()
		p.SetY(h - 17)
		p.SetFont("text", "", 6.5)
		p.SetTextColor(90, 90, 90)
		p.MultiCell(w-60, 3, p.caution, "", "L", false)
		p.SetXY(w-45, h-17)
		p.CellFormat(30, 3, fmt.Sprintf("page %d", p.PageNo()), "", 0, "R", false, 0, "")
		p.SetTextColor(0, 0, 0)
	})
	p.AddPage()
	p.SetFont("text", "B", 14)
	p.MultiCell(0, 6.5, title, "", "L", false)
	p.Ln(2)
	return p
}

func (p *page) width() float64 {
	w, _ := p.GetPageSize()
	l, _, r, _ := p.GetMargins()
	return w - l - r
}

// table prints a table with columns as wide as their text, long text wrapped and the
// header repeated on each page.
func (p *page) table(t *Table) {
	p.room(22) // title, head and a first row stay together
	p.SetFont("text", "B", 10)
	p.CellFormat(0, 6, t.Title, "", 1, "L", false, 0, "")
	if len(t.Rows) == 0 {
		p.SetFont("text", "", 8)
		p.CellFormat(0, 5, "nothing in the log", "", 1, "L", false, 0, "")
	} else {
		p.SetFont("text", "", 7.5)
		want := make([]float64, len(t.Columns))
		least := make([]float64, len(t.Columns))
		for _, row := range append([][]string{t.Columns}, t.Rows...) {
			for i, c := range row {
				want[i] = max(want[i], p.GetStringWidth(c)*1.08+2.2)
				for _, word := range strings.Fields(c) {
					least[i] = min(max(least[i], p.GetStringWidth(word)*1.08+2.2), 40)
				}
			}
		}
		widths := fit(want, least, p.width())
		head := func() {
			p.SetFont("text", "B", 7.5)
			p.row(t.Columns, widths, true)
			p.SetFont("text", "", 7.5)
		}
		head()
		_, h := p.GetPageSize()
		for _, row := range t.Rows {
			if p.GetY()+p.rowHeight(row, widths) > h-22 {
				p.AddPage()
				head()
			}
			p.row(row, widths, false)
		}
	}
	p.SetFont("text", "", 7.5)
	for _, n := range t.Notes {
		p.MultiCell(0, 3.8, "Note: "+n, "", "L", false)
	}
	p.Ln(3)
}

// fit narrows the widest columns until all fit, never below their longest word.
func fit(want, least []float64, room float64) []float64 {
	w := append([]float64(nil), want...)
	for range 1000 {
		var sum float64
		widest := -1
		for i := range w {
			sum += w[i]
			if w[i] > least[i] && (widest < 0 || w[i] > w[widest]) {
				widest = i
			}
		}
		if sum <= room {
			return w
		}
		if widest < 0 {
			for i := range w {
				w[i] *= room / sum
			}
			return w
		}
		w[widest] = max(least[widest], w[widest]-max(1, (sum-room)/4))
	}
	return w
}

const lineMM = 3.7

func (p *page) rowHeight(cells []string, widths []float64) float64 {
	n := 1
	for i, c := range cells {
		n = max(n, len(p.SplitText(c, widths[i])))
	}
	return float64(n)*lineMM + 0.8
}

func (p *page) row(cells []string, widths []float64, head bool) {
	h := p.rowHeight(cells, widths)
	x, y := p.GetXY()
	if head {
		p.SetFillColor(235, 235, 230)
		var sum float64
		for _, w := range widths {
			sum += w
		}
		p.Rect(x, y, sum, h, "F")
	}
	at := x
	for i, c := range cells {
		p.SetXY(at, y+0.4)
		p.MultiCell(widths[i], lineMM, c, "", "L", false)
		at += widths[i]
	}
	p.SetDrawColor(200, 200, 200)
	p.SetLineWidth(0.1)
	p.Line(x, y+h, at, y+h)
	p.SetXY(x, y+h)
}

// PDF prints tables one under the other. made is the date written into the file.
func PDF(w io.Writer, title string, made time.Time, tables ...*Table) error {
	wide := false
	for _, t := range tables {
		wide = wide || len(t.Columns) > 6
	}
	p := newPage(title, Caution, made, wide)
	for _, t := range tables {
		p.table(t)
	}
	return p.Output(w)
}

// ReviewPDF prints the review of a sortie: numbers, map, profiles and what to change.
func ReviewPDF(w io.Writer, r *review.Report, made time.Time) error {
	p := newPage("Sortie "+r.Sortie+": planned against flown", r.Caution, made, false)
	p.SetFont("text", "", 8.5)
	p.MultiCell(0, 4.2, fmt.Sprintf("Recorded %s to %s UTC.  Fastest %.1f m/s.  Highest above ground %s.  Least clearance %s.  Nearest people %s.  Energy used %s%s.  %s",
		r.From.Format("2006-01-02 15:04:05"), r.To.Format("15:04:05"), r.MaxSpeedMS, metres(r.MaxAboveM), metres(r.MinClearM), metres(r.MinPeopleM),
		number(r.EnergyUsedWh, "%.1f Wh"), number(r.EnergyRatio, " (%.2f of the prediction)"), windText(r.Wind)), "", "L", false)
	p.Ln(2)
	p.heading("What to change")
	if len(r.Change) == 0 {
		p.MultiCell(0, 4, "Nothing that the recording shows. What it does not hold is listed as unknown below.", "", "L", false)
	}
	for _, c := range r.Change {
		p.MultiCell(0, 4, "–  "+c, "", "L", false)
	}
	p.Ln(1.5)
	p.siteMap(r)
	for i := range r.Takes {
		p.profiles(&r.Takes[i])
	}
	events := newTable("Events", "what", "from (UTC)", "to", "worst", "limit", "basis")
	for _, e := range r.Events {
		events.add(e.What, e.From.Format("15:04:05.0"), e.To.Format("15:04:05.0"), e.Text(), e.LimitText, e.Basis)
	}
	if len(r.Events) > 0 {
		p.table(events)
	}
	t := newTable("Findings", "severity", "slate", "what", "value", "limit", "basis", "mend")
	for _, f := range r.Findings {
		t.add(f.Severity, f.Slate, f.What, f.Value, f.Limit, f.Basis, f.Mend)
	}
	p.table(t)
	return p.Output(w)
}

func (p *page) heading(text string) {
	p.SetFont("text", "B", 10)
	p.CellFormat(0, 5.5, text, "", 1, "L", false, 0, "")
	p.SetFont("text", "", 8.5)
}

func metres(v *float64) string { return number(v, "%.1f m") }

func number(v *float64, format string) string {
	if v == nil {
		if strings.HasPrefix(format, " (") {
			return ""
		}
		return "unknown"
	}
	return fmt.Sprintf(format, *v)
}

func windText(w *review.Wind) string {
	if w == nil {
		return "Wind from drift: unknown."
	}
	return fmt.Sprintf("Wind from drift %.1f ± %.1f m/s from %03.0f° (%s).", w.SpeedMS, w.SE, w.FromDeg, w.Note)
}

// siteMap draws the whole flight thin, each take's plan dashed and its flight solid,
// north up, with a scale bar.
func (p *page) siteMap(r *review.Report) {
	const high = 80.0
	p.room(high + 8)
	p.heading("Map, north up: flight thin, takes as planned dashed, as flown solid")
	x0, y0 := p.GetXY()
	wide := p.width()
	lo, hi := geo.Vec3{X: math.Inf(1), Y: math.Inf(1)}, geo.Vec3{X: math.Inf(-1), Y: math.Inf(-1)}
	grow := func(v geo.Vec3) {
		lo, hi = geo.Vec3{X: min(lo.X, v.X), Y: min(lo.Y, v.Y)}, geo.Vec3{X: max(hi.X, v.X), Y: max(hi.Y, v.Y)}
	}
	for _, v := range r.Path() {
		grow(v)
	}
	for i := range r.Takes {
		planned, flown := r.Takes[i].Paths()
		for k := range planned {
			grow(planned[k])
			grow(flown[k])
		}
	}
	scale := min((wide-8)/max(hi.X-lo.X, 1), (high-8)/max(hi.Y-lo.Y, 1)) // mm per metre
	mid := lo.Lerp(hi, 0.5)
	at := func(v geo.Vec3) (float64, float64) {
		return x0 + wide/2 + (v.X-mid.X)*scale, y0 + high/2 - (v.Y-mid.Y)*scale
	}
	line := func(path []geo.Vec3) {
		if len(path) == 0 {
			return
		}
		var lx, ly float64
		for i, v := range path {
			x, y := at(v)
			if i == 0 {
				p.MoveTo(x, y)
			} else if math.Hypot(x-lx, y-ly) < 0.15 {
				continue
			} else {
				p.LineTo(x, y)
			}
			lx, ly = x, y
		}
		p.DrawPath("D")
	}
	p.SetDrawColor(120, 120, 120)
	p.SetLineWidth(0.2)
	p.Rect(x0, y0, wide, high, "D")
	p.SetLineWidth(0.12)
	line(r.Path())
	for i := range r.Takes {
		planned, flown := r.Takes[i].Paths()
		p.SetDrawColor(20, 60, 140)
		p.SetLineWidth(0.3)
		p.SetDashPattern([]float64{1.5, 1}, 0)
		line(planned)
		p.SetDashPattern(nil, 0)
		p.SetDrawColor(190, 70, 20)
		p.SetLineWidth(0.45)
		line(flown)
		if len(flown) > 0 {
			x, y := at(flown[0])
			p.SetFont("text", "B", 7)
			p.Text(x+1, y-1, r.Takes[i].Slate+"/"+fmt.Sprint(r.Takes[i].Take))
		}
	}
	bar := nice(wide / 5 / scale)
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.4)
	p.Line(x0+4, y0+high-4, x0+4+bar*scale, y0+high-4)
	p.SetFont("text", "", 7)
	p.Text(x0+4, y0+high-5.2, fmt.Sprintf("%g m", bar))
	p.SetXY(x0, y0+high+2)
}

// profiles draws height and speed of one take over time, plan dashed and flight solid.
func (p *page) profiles(k *review.TakeReport) {
	const high = 26.0
	p.room(high + 30)
	p.heading(fmt.Sprintf("Slate %s take %d", k.Slate, k.Take))
	after := "its cue was not logged"
	if k.AfterCueS != nil {
		after = fmt.Sprintf("%+.1f s from the logged cue", *k.AfterCueS)
	}
	up, aim := "unknown", "unknown"
	if k.Up != nil {
		up = fmt.Sprintf("%+.1f m", k.Up.Mean)
	}
	if k.AimDeg != nil {
		aim = fmt.Sprintf("%.1f°", k.AimDeg.RMS)
	}
	p.SetFont("text", "", 7.5)
	p.MultiCell(0, 3.8, fmt.Sprintf("Began %s UTC, %s. From the plan: %.1f m r.m.s., worst %.1f m at %.1f s; mean %+.1f m across (right +), %s up; ahead or behind at most %+.1f m; speed %.1f m/s r.m.s.; aim %s r.m.s.",
		k.Start.Format("15:04:05.0"), after, k.DistanceM.RMS, k.DistanceM.Max, k.DistanceM.At, k.Across.Mean, up, k.Along.Max, k.Speed.RMS, aim), "", "L", false)
	p.Ln(1)
	side := newTable("Planned and flown", "what", "planned", "flown")
	for _, c := range k.Compared {
		side.add(c.What, number(c.Planned, "%.1f "+c.Unit), number(c.Flown, "%.1f "+c.Unit))
	}
	p.table(side)
	p.room(2*high + 12)
	x0, y0 := p.GetXY()
	w := (p.width() - 6) / 2
	height := func(r *review.Row) (float64, bool) {
		if r.HeightM == nil {
			return 0, false
		}
		return *r.HeightM, true
	}
	p.plot(x0, y0, w, high, "height above sea level, m", k.Rows, func(r *review.Row) (float64, bool) { return r.PlannedHeightM, true }, height)
	p.plot(x0+w+6, y0, w, high, "speed, m/s", k.Rows, func(r *review.Row) (float64, bool) { return r.PlannedSpeedMS, true }, func(r *review.Row) (float64, bool) { return r.SpeedMS, true })
	y0 += high + 5
	none := func(*review.Row) (float64, bool) { return 0, false }
	p.plot(x0, y0, w, high, "distance from the plan, m", k.Rows, none, func(r *review.Row) (float64, bool) { return r.FromPlanM(), true })
	known := func(v *float64) (float64, bool) {
		if v == nil {
			return 0, false
		}
		return *v, true
	}
	p.plot(x0+w+6, y0, w, high, "clearance, m, solid; nearest people, m, dashed", k.Rows, func(r *review.Row) (float64, bool) { return known(r.PeopleM) }, func(r *review.Row) (float64, bool) { return known(r.ClearanceM) })
	p.SetXY(x0, y0+high+5)
}

func (p *page) plot(x0, y0, w, h float64, label string, rows []review.Row, planned, flown func(*review.Row) (float64, bool)) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range rows {
		for _, f := range []func(*review.Row) (float64, bool){planned, flown} {
			if v, ok := f(&rows[i]); ok {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	if math.IsInf(lo, 0) {
		p.SetDrawColor(120, 120, 120)
		p.SetLineWidth(0.15)
		p.Rect(x0, y0, w, h, "D")
		p.SetFont("text", "", 6.5)
		p.Text(x0+1, y0+2.8, label+": unknown")
		return
	}
	if hi-lo < 1 {
		lo, hi = lo-0.5, hi+0.5
	}
	first, last := rows[0].T, max(rows[len(rows)-1].T, rows[0].T+0.1)
	p.SetDrawColor(120, 120, 120)
	p.SetLineWidth(0.15)
	p.Rect(x0, y0, w, h, "D")
	p.SetFont("text", "", 6.5)
	p.Text(x0+1, y0+2.8, label)
	p.Text(x0+w-12, y0+2.8, fmt.Sprintf("%.1f", hi))
	p.Text(x0+w-12, y0+h-0.8, fmt.Sprintf("%.1f", lo))
	p.Text(x0, y0+h+2.8, fmt.Sprintf("%.0f s", first))
	p.Text(x0+w-7, y0+h+2.8, fmt.Sprintf("%.0f s", last))
	draw := func(f func(*review.Row) (float64, bool)) {
		open, any := false, false
		for i := range rows {
			v, ok := f(&rows[i])
			if !ok {
				open = false
				continue
			}
			x, y := x0+(rows[i].T-first)/(last-first)*w, y0+h-3-(v-lo)/(hi-lo)*(h-7)
			if open {
				p.LineTo(x, y)
			} else {
				p.MoveTo(x, y)
			}
			open, any = true, true
		}
		if any {
			p.DrawPath("D")
		}
	}
	p.SetDrawColor(20, 60, 140)
	p.SetLineWidth(0.25)
	p.SetDashPattern([]float64{1.5, 1}, 0)
	draw(planned)
	p.SetDashPattern(nil, 0)
	p.SetDrawColor(190, 70, 20)
	p.SetLineWidth(0.35)
	draw(flown)
}

// room begins a new page when less than mm are left.
func (p *page) room(mm float64) {
	if _, h := p.GetPageSize(); p.GetY()+mm > h-22 {
		p.AddPage()
	}
}

// nice rounds down to 1, 2 or 5 times a power of ten.
func nice(v float64) float64 {
	e := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{5, 2, 1} {
		if v >= k*e {
			return k * e
		}
	}
	return e
}
