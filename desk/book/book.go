// Package book prints the papers of a shoot as one PDF: cover, day, slates, findings and
// cautions. It lays out; every number comes from packages check and call.
//
// Units: millimetres on paper. Source: ISO 32000 by way of the fpdf library; fonts are the
// Go fonts (BSD licence), embedded.
// Validity: Latin, Greek and Cyrillic text; A4 and Letter. The same shoot gives the same bytes.
//
// Not modelled: right-to-left scripts.
package book

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// Content is what the book is made of.
type Content struct {
	Shoot   *shoot.Shoot
	Check   *check.Check
	Sheet   *call.Sheet
	Source  []byte // the shoot file, for its hash
	Version string // of the program
	Letter  bool   // US Letter in place of A4
}

// Print returns the PDF.
func Print(c Content) ([]byte, error) {
	size := "A4"
	if c.Letter {
		size = "Letter"
	}
	p := &printer{Content: c, pdf: fpdf.New("P", "mm", size, "")}
	hash := sha256.Sum256(c.Source)
	p.mark = hex.EncodeToString(hash[:])[:12]
	p.setup()
	p.cover()
	p.days()
	for i := range c.Check.Slates {
		p.slate(&c.Check.Slates[i])
	}
	var b bytes.Buffer
	if err := p.pdf.Output(&b); err != nil {
		return nil, fmt.Errorf("cannot print the book: %w", err)
	}
	return b.Bytes(), nil
}

type printer struct {
	Content
	pdf  *fpdf.Fpdf
	mark string
}

const margin = 16.0

func (p *printer) setup() {
	d := p.pdf
	d.SetMargins(margin, margin, margin)
	d.SetAutoPageBreak(true, 20)
	d.SetCellMargin(0)
	d.SetCatalogSort(true)
	day := p.Shoot.Dates[0].Midnight(time.UTC)
	d.SetCreationDate(day) // the file's own date, so that equal shoots give equal bytes
	d.SetModificationDate(day)
	d.SetTitle(p.Shoot.Title+": flight book", true)
	d.SetCreator("fieldfare "+p.Version, true)
	d.SetLang("en")
	d.AddUTF8FontFromBytes("text", "", goregular.TTF)
	d.AddUTF8FontFromBytes("text", "B", gobold.TTF)
	d.AddUTF8FontFromBytes("text", "I", goitalic.TTF)
	d.AddUTF8FontFromBytes("slate", "", gomono.TTF)
	d.AddUTF8FontFromBytes("slate", "B", gomonobold.TTF)
	d.AliasNbPages("{pages}")
	d.SetFooterFunc(func() {
		d.SetY(-16)
		d.SetFont("text", "", 6.5)
		d.MultiCell(0, 3, check.Safety, "T", "L", false)
		d.SetFont("slate", "", 6.5)
		d.CellFormat(0, 4, fmt.Sprintf("%s  shoot file %s  fieldfare %s", p.Shoot.Title, p.mark, p.Version), "", 0, "L", false, 0, "")
		d.CellFormat(0, 4, fmt.Sprintf("%d / {pages}", d.PageNo()), "", 0, "R", false, 0, "")
	})
}

func (p *printer) heading(text string, level int) {
	d := p.pdf
	d.Bookmark(text, level, -1)
	d.SetFont("text", "B", []float64{17, 13, 10.5}[level])
	d.MultiCell(0, []float64{9, 7, 6}[level], text, "", "L", false)
	if level < 2 {
		y := d.GetY()
		w, _ := d.GetPageSize()
		d.SetLineWidth(0.4)
		d.Line(margin, y, w-margin, y)
		d.SetY(y + 2)
	}
}

func (p *printer) text(style string, size float64, text string) {
	p.pdf.SetFont("text", style, size)
	p.pdf.MultiCell(0, size*0.45, text, "", "L", false)
}

func (p *printer) cover() {
	p.pdf.AddPage()
	p.heading(p.Shoot.Title, 0)
	p.text("", 10, fmt.Sprintf("%s\n%s, %s\n%s (%s)", p.Shoot.Production, p.Shoot.Site.Name, p.Shoot.Site.Origin, strings.Join(p.Check.Dates, ", "), p.Check.Zone))
	p.pdf.Ln(4)
	p.heading("Cautions", 1)
	for _, c := range p.Check.Cautions {
		p.text("", 9, "- "+c)
	}
	p.pdf.Ln(3)
	p.heading("Crew", 1)
	for _, x := range p.Shoot.Crew {
		p.text("", 9, fmt.Sprintf("%s: %s. Rung: %s. %s", x.Name, strings.Join(x.Roles, ", "), or(x.Rung), x.Phone))
	}
	p.pdf.Ln(3)
	p.heading("Contacts", 1)
	for _, x := range p.Shoot.Contacts {
		p.text("", 9, fmt.Sprintf("%s  %s  %s", x.Who, or(x.Phone), x.Why))
	}
	p.text("", 9, "Nearest hospital: "+or(p.Shoot.Site.Hospital))
}

func or(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}

func (p *printer) table(widths []float64, head []string, rows [][]string) {
	d := p.pdf
	line := func(cells []string, style string) {
		d.SetFont("text", style, 8)
		lines := 1
		split := make([][]string, len(cells))
		for i, c := range cells {
			split[i] = d.SplitText(c, widths[i]-1)
			lines = max(lines, len(split[i]))
		}
		if _, h := d.GetPageSize(); d.GetY()+float64(lines)*4 > h-22 {
			d.AddPage()
		}
		y := d.GetY()
		x := margin
		for i := range cells {
			for j, text := range split[i] {
				d.SetXY(x, y+float64(j)*4)
				d.CellFormat(widths[i], 4, text, "", 0, "L", false, 0, "")
			}
			x += widths[i]
		}
		d.SetLineWidth(0.1)
		d.Line(margin, y+float64(lines)*4+0.5, x, y+float64(lines)*4+0.5)
		d.SetXY(margin, y+float64(lines)*4+1)
	}
	line(head, "B")
	for _, r := range rows {
		line(r, "")
	}
}

func (p *printer) days() {
	clock := func(t time.Time) string { return t.Format("15:04") }
	for _, day := range p.Sheet.Days {
		p.pdf.AddPage()
		p.heading("Day "+day.Date, 0)
		p.text("", 10, fmt.Sprintf("Call %s, wrap %s.", clock(day.Call), clock(day.Wrap)))
		p.pdf.Ln(2)
		var rows [][]string
		for _, s := range day.Sorties {
			var slates []string
			for _, x := range s.Slates {
				slates = append(slates, x.Slate+" at "+clock(x.Start))
			}
			rows = append(rows, []string{clock(s.Start), clock(s.End), clock(s.Latest), s.Rig, s.Lens + ", " + s.Filter, s.Pack, s.Launch, strings.Join(slates, "; "), fmt.Sprintf("%.0f / %.0f Wh", s.EnergyWh, s.LeftWh)})
		}
		p.table([]float64{15, 15, 15, 16, 34, 11, 27, 25, 20}, []string{"take-off", "landing", "latest", "rig", "lens, filter", "pack", "from", "slates", "used / left"}, rows)
		p.pdf.Ln(2)
		for _, b := range day.Breaks {
			p.text("", 9, fmt.Sprintf("%s to %s  %s", clock(b.Start), clock(b.End), b.What))
		}
		for _, c := range day.Charges {
			p.text("", 9, fmt.Sprintf("%s to %s  charge pack %s on %s", clock(c.Start), clock(c.End), c.Pack, c.Charger))
		}
	}
	if len(p.Sheet.LeftOut) > 0 {
		p.pdf.Ln(3)
		p.heading("Left out", 1)
		for _, l := range p.Sheet.LeftOut {
			p.text("", 9, fmt.Sprintf("%s (%s): %s", l.Slate, l.Priority, l.Reason))
		}
	}
}

func (p *printer) slate(x *check.Slate) {
	p.pdf.AddPage()
	p.heading(x.Slate+"  "+x.Title, 0)
	if assess.Has(x.Findings, assess.Stop) {
		p.pdf.SetFillColor(0, 0, 0)
		p.pdf.SetTextColor(255, 255, 255)
		p.pdf.SetFont("slate", "B", 11)
		p.pdf.CellFormat(0, 8, "  STOP: not to be flown as planned, see findings", "", 1, "L", true, 0, "")
		p.pdf.SetTextColor(0, 0, 0)
		p.pdf.Ln(2)
	}
	if x.Wish != "" {
		p.text("I", 10, x.Wish)
		p.pdf.Ln(1)
	}
	p.text("", 9.5, fmt.Sprintf("%s. Rig %s, lens %s, from %s. Moves: %s. Light: %s.", x.Priority, x.Rig, x.Lens, x.Launch, strings.Join(x.Numbers.Move.Moves, ", "), strings.Join(x.Light, ", ")))
	p.pdf.Ln(2)
	p.heading("Windows", 1)
	for _, w := range x.LightOK {
		p.text("", 9, fmt.Sprintf("%s to %s. Ends: %s", w.From.Format("Mon 2 Jan 15:04"), w.To.Format("15:04"), w.Ends))
	}
	if len(x.LightOK) == 0 {
		p.text("", 9, "none on these dates")
	}
	p.pdf.Ln(2)
	if c := x.Numbers.Picture.Card; c != nil {
		p.heading("Camera card, for "+x.At.Format("Mon 15:04"), 1)
		filters := "no filter"
		if len(c.Filters) > 0 {
			filters = strings.Join(c.Filters, " + ")
		}
		p.text("B", 11, fmt.Sprintf("%s  %g fps  1/%.0f s (%.0f deg)  ISO %.0f  f/%.1f  %s  %.0f K  focus %.0f m", c.Format, c.FrameRate, 1/c.ShutterS, c.ShutterAngleDeg, c.ISO, c.Aperture, filters, c.WhiteBalanceK, c.FocusM))
		p.text("", 9, c.FocusCheck)
		p.pdf.Ln(2)
	}
	p.heading("Findings", 1)
	var rows [][]string
	for _, f := range x.Findings {
		rows = append(rows, []string{string(f.Severity), f.What, f.Value, f.Limit, f.Mend, f.Basis})
	}
	p.table([]float64{15, 35, 36, 26, 38, 28}, []string{"", "what", "found", "limit", "mend", "basis"}, rows)
}
