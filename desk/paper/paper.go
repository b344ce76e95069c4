// Package paper is the stationery of everything that fieldfare prints: pages with the safety
// sentence, the shoot file's mark and a number on each, headings that become bookmarks, tables, and
// a pen that puts the pictures of package draw into the PDF.
//
// Units: millimetres on paper, points for type. Source: ISO 32000 by way of the fpdf library; the
// type is the Go fonts (BSD licence), embedded.
// Validity: Latin, Greek and Cyrillic text; A4 and US Letter. A letter that the fonts lack is an
// error that names it: no paper goes out with holes. The same content gives the same bytes.
//
// Not modelled: right-to-left scripts, structure tags.
package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"sort"
	"strings"
	"sync"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// Style is a face of the type.
type Style struct {
	Mono, Bold, Italic bool
	Pt                 float64
}

// Sheet is a document being printed.
type Sheet struct {
	PDF      *fpdf.Fpdf
	o        Options
	mark     string
	section  string // stands at the head of each page
	begun    bool   // the section has a page
	entries  []entry
	pictures int
	missing  map[rune]string
	broken   error
}

// Options describe a document.
type Options struct {
	Title   string    // of the document
	Job     string    // the shoot's title
	Caution string    // printed on each page
	Source  []byte    // the shoot file, for its mark
	Version string    // of the program
	Dated   time.Time // the document's own date, so that equal content gives equal bytes
	Letter  bool      // US Letter in place of A4
}

type entry struct {
	title string
	level int
	page  int
	link  int
}

// Margin is left free on all sides; Foot is kept for the foot of the page.
const (
	Margin = 14.0
	Foot   = 17.5
)

// Mark is how a shoot file is told apart on paper: the first twelve digits of its SHA-256.
func Mark(source []byte) string {
	hash := sha256.Sum256(source)
	return hex.EncodeToString(hash[:])[:12]
}

// New starts a document without a page.
func New(o Options) *Sheet {
	size := "A4"
	if o.Letter {
		size = "Letter"
	}
	d := fpdf.New("P", "mm", size, "")
	s := &Sheet{PDF: d, o: o, mark: Mark(o.Source), missing: map[rune]string{}}
	d.SetMargins(Margin, Margin, Margin)
	d.SetAutoPageBreak(true, Foot)
	d.SetCellMargin(0)
	d.SetCatalogSort(true)
	d.SetCreationDate(o.Dated)
	d.SetModificationDate(o.Dated)
	d.SetTitle(o.Job+": "+o.Title, true)
	d.SetSubject("planning aid; shoot file "+s.mark, true)
	d.SetCreator("fieldfare "+o.Version, true)
	d.SetProducer("fieldfare, fpdf", true)
	d.SetLang("en")
	for _, f := range []struct {
		family, style string
		ttf           []byte
	}{{"text", "", goregular.TTF}, {"text", "B", gobold.TTF}, {"text", "I", goitalic.TTF}, {"mono", "", gomono.TTF}, {"mono", "B", gomonobold.TTF}} {
		d.AddUTF8FontFromBytes(f.family, f.style, bytes.Clone(f.ttf)) // the library writes into what it is given
	}
	d.AliasNbPages("{nn}")
	d.SetHeaderFunc(s.head)
	d.SetFooterFunc(s.foot)
	return s
}

func (s *Sheet) head() {
	if s.section == "" { // a cover
		return
	}
	d := s.PDF
	d.SetXY(Margin, 7)
	s.Face(Style{Mono: true, Pt: 7})
	s.Cell(s.Width()/2, 4, s.o.Job, "L")
	running := s.section
	if s.begun {
		running += ", continued"
	}
	s.begun = true
	s.Cell(s.Width()/2, 4, running, "R")
	d.SetLineWidth(0.2)
	d.Line(Margin, 11.5, Margin+s.Width(), 11.5)
	d.SetXY(Margin, Margin)
}

func (s *Sheet) foot() {
	d := s.PDF
	_, h := d.GetPageSize()
	d.SetDrawColor(0, 0, 0)
	d.SetTextColor(0, 0, 0)
	d.SetLineWidth(0.2)
	d.Line(Margin, h-16.5, Margin+s.Width(), h-16.5)
	d.SetXY(Margin, h-16)
	s.Face(Style{Pt: 7})
	s.need(s.o.Caution)
	d.MultiCell(s.Width(), 2.9, s.o.Caution, "", "L", false)
	d.SetXY(Margin, h-9.7)
	s.Face(Style{Mono: true, Pt: 7})
	s.Cell(s.Width()*0.8, 4, fmt.Sprintf("shoot file %s   fieldfare %s", s.mark, s.o.Version), "L")
	s.Cell(s.Width()*0.2, 4, fmt.Sprintf("page %d of {nn}", d.PageNo()), "R")
}

// Width is that of the text.
func (s *Sheet) Width() float64 {
	w, _ := s.PDF.GetPageSize()
	return w - 2*Margin
}

// Bottom is the lowest line of the text.
func (s *Sheet) Bottom() float64 {
	_, h := s.PDF.GetPageSize()
	return h - Foot
}

// Room makes sure that a block of the height fits, on a new page if need be.
func (s *Sheet) Room(mm float64) {
	if s.PDF.GetY()+mm > s.Bottom() {
		s.PDF.AddPage()
	}
}

// Section starts a page with a title that is in contents and bookmarks.
func (s *Sheet) Section(title string) {
	s.Page(title, title)
	s.Title(title)
}

// Page starts a page under a running head, in contents and bookmarks, without printing a title.
func (s *Sheet) Page(title, running string) {
	s.section, s.begun = running, false
	s.PDF.AddPage()
	s.Entry(title, 0)
}

// Entry puts the present place into contents and bookmarks.
func (s *Sheet) Entry(title string, level int) {
	s.need(title)
	s.PDF.Bookmark(title, level, -1)
	link := s.PDF.AddLink()
	s.PDF.SetLink(link, -1, -1)
	s.entries = append(s.entries, entry{title, level, s.PDF.PageNo(), link})
}

// Title prints a page's title.
func (s *Sheet) Title(title string) {
	s.Face(Style{Mono: true, Bold: true, Pt: 15})
	s.Paragraph(6.5, title)
	d := s.PDF
	d.SetLineWidth(0.6)
	d.Line(Margin, d.GetY()+0.7, Margin+s.Width(), d.GetY()+0.7)
	d.SetY(d.GetY() + 3)
}

// Head prints a heading within a page.
func (s *Sheet) Head(title string) {
	s.Room(12)
	d := s.PDF
	d.SetY(d.GetY() + 1.4)
	s.Face(Style{Mono: true, Bold: true, Pt: 8.5})
	s.Paragraph(3.8, strings.ToUpper(title))
	d.SetLineWidth(0.2)
	d.Line(Margin, d.GetY()+0.1, Margin+s.Width(), d.GetY()+0.1)
	d.SetY(d.GetY() + 0.9)
}

// HeadMM is the height of a heading of one line.
const HeadMM = 1.4 + 3.8 + 0.9

// Face chooses the type.
func (s *Sheet) Face(f Style) {
	family, style := "text", ""
	if f.Mono {
		family = "mono"
	}
	switch {
	case f.Bold:
		style = "B"
	case f.Italic && !f.Mono:
		style = "I"
	}
	s.PDF.SetFont(family, style, f.Pt)
}

// Paragraph prints text over the width from the present x, lines of the height.
func (s *Sheet) Paragraph(line float64, text string) {
	s.need(text)
	s.PDF.MultiCell(0, line, text, "", "L", false)
}

// Text prints a paragraph in a style.
func (s *Sheet) Text(f Style, text string) {
	s.Face(f)
	s.Paragraph(f.Pt*0.44, text)
}

// Cell prints one line in a box of the width; align is L, C or R.
func (s *Sheet) Cell(w, h float64, text, align string) {
	s.need(text)
	s.PDF.CellFormat(w, h, text, "", 0, align, false, 0, "")
}

// Lines breaks text as Block sets it into a column of the width.
func (s *Sheet) Lines(f Style, w float64, text string) []string {
	s.Face(f)
	s.need(text)
	var lines []string
	for _, part := range strings.Split(text, "\n") {
		lines = append(lines, s.split(part, w)...)
	}
	return lines
}

// BlockMM is the height of text set into a column of the width by Block.
func (s *Sheet) BlockMM(f Style, w float64, text string) float64 {
	return float64(len(s.Lines(f, w, text))) * f.Pt * 0.42
}

// Block prints text into a column at a place and returns the y below it.
func (s *Sheet) Block(f Style, x, y, w float64, text string) float64 {
	for _, l := range s.Lines(f, w, text) {
		s.PDF.SetXY(x, y)
		s.PDF.CellFormat(w, f.Pt*0.42, l, "", 0, "L", false, 0, "")
		y += f.Pt * 0.42
	}
	return y
}

// split breaks text into lines of at most the width in the present face; a word wider than that is
// broken.
func (s *Sheet) split(text string, w float64) []string {
	var lines []string
	line, used := "", 0.0
	space := s.PDF.GetStringWidth(" ")
	for _, word := range strings.Fields(text) {
		width := s.PDF.GetStringWidth(word)
		if line != "" && used+space+width <= w {
			line, used = line+" "+word, used+space+width
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for width > w {
			head := s.fitting(word, w)
			if len(head) == len(word) {
				break
			}
			lines, word = append(lines, head), word[len(head):]
			width = s.PDF.GetStringWidth(word)
		}
		line, used = word, width
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// fitting is as much of a word as fits, at least one letter.
func (s *Sheet) fitting(word string, w float64) string {
	used := 0.0
	for i, r := range word {
		used += s.PDF.GetStringWidth(string(r))
		if used > w && i > 0 {
			return word[:i]
		}
	}
	return word
}

// Band prints white words on a black bar: what must not be overlooked.
func (s *Sheet) Band(text string) {
	s.Room(9)
	d := s.PDF
	y := d.GetY()
	s.Face(Style{Mono: true, Bold: true, Pt: 10})
	lines := s.split(text, s.Width()-6)
	h := 4.6*float64(len(lines)) + 2.4
	d.SetFillColor(0, 0, 0)
	d.Rect(Margin, y, s.Width(), h, "F")
	d.SetTextColor(255, 255, 255)
	s.need(text)
	for i, l := range lines {
		d.SetXY(Margin+3, y+1.2+4.6*float64(i))
		d.CellFormat(s.Width()-6, 4.6, l, "", 0, "L", false, 0, "")
	}
	d.SetTextColor(0, 0, 0)
	d.SetXY(Margin, y+h+1.5)
}

// Contents prints page numbers and links of all entries; call it on a page kept for it, when
// everything else is printed.
func (s *Sheet) Contents(page int, y float64, columns int) {
	d := s.PDF
	last := d.PageNo()
	d.SetPage(page)
	d.SetAutoPageBreak(false, 0)
	const step = 4.6
	fit := int((s.Bottom() - y) / step)
	rows := (len(s.entries) + columns - 1) / columns
	rows = min(max(rows, 1), fit)
	gap := 8.0
	w := (s.Width() - gap*float64(columns-1)) / float64(columns)
	for i, e := range s.entries {
		col := i / rows
		if col >= columns {
			break
		}
		x := Margin + float64(col)*(w+gap) + float64(e.level)*3
		at := y + float64(i%rows)*step
		s.Face(Style{Mono: true, Bold: e.level == 0, Pt: 8})
		title := e.title
		for d.GetStringWidth(title) > w-10-float64(e.level)*3 {
			r := []rune(title)
			title = string(r[:len(r)-1])
		}
		d.SetXY(x, at)
		d.CellFormat(w-8-float64(e.level)*3, step, title, "", 0, "L", false, e.link, "")
		s.Face(Style{Mono: true, Pt: 8})
		d.CellFormat(8, step, fmt.Sprint(e.page), "", 0, "R", false, e.link, "")
		d.SetLineWidth(0.1)
		d.SetDashPattern([]float64{0.3, 0.9}, 0)
		d.Line(x, at+step-0.4, x+w-float64(e.level)*3, at+step-0.4)
		d.SetDashPattern(nil, 0)
	}
	d.SetAutoPageBreak(true, Foot)
	d.SetPage(last)
}

// Bytes finishes the document.
func (s *Sheet) Bytes() ([]byte, error) {
	if len(s.missing) > 0 {
		return nil, s.lacking()
	}
	if s.broken != nil {
		return nil, s.broken
	}
	var b bytes.Buffer
	if err := s.PDF.Output(&b); err != nil {
		return nil, fmt.Errorf("cannot print %s: %w", s.o.Title, err)
	}
	return b.Bytes(), nil
}

func (s *Sheet) lacking() error {
	var runes []rune
	for r := range s.missing {
		runes = append(runes, r)
	}
	sort.Slice(runes, func(i, j int) bool { return runes[i] < runes[j] })
	var list []string
	for _, r := range runes[:min(len(runes), 8)] {
		list = append(list, fmt.Sprintf("%q (U+%04X) in %q", r, r, s.missing[r]))
	}
	return fmt.Errorf("cannot print %s: the embedded fonts hold Latin, Greek and Cyrillic and lack %s; write it in one of these scripts", s.o.Title, strings.Join(list, ", "))
}

// glyphs tells which letters the type has: those that all faces share.
var glyphs = sync.OnceValue(func() func(r rune) bool {
	var faces []*sfnt.Font
	for _, ttf := range [][]byte{goregular.TTF, gobold.TTF, goitalic.TTF, gomono.TTF, gomonobold.TTF} {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			return func(r rune) bool { return r < 127 }
		}
		faces = append(faces, f)
	}
	var mu sync.Mutex
	known := map[rune]bool{}
	return func(r rune) bool {
		if r >= ' ' && r < 127 || r == '\n' {
			return true
		}
		mu.Lock()
		defer mu.Unlock()
		if has, ok := known[r]; ok {
			return has
		}
		has := true
		var b sfnt.Buffer
		for _, f := range faces {
			if g, err := f.GlyphIndex(&b, r); err != nil || g == 0 {
				has = false
			}
		}
		known[r] = has
		return has
	}
})

// need notes letters that the type lacks.
func (s *Sheet) need(text string) {
	has := glyphs()
	for _, r := range text {
		if !has(r) && s.missing[r] == "" {
			s.missing[r] = text
		}
	}
}
