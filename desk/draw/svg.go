package draw

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/png"
	"io"
	"strings"
	"unicode/utf8"
)

// penSheet is the day and night dress of a picture; a page may set the properties itself.
const penSheet = `.pen{--paper:#fff;--ink:#111;font-family:"Go","Liberation Sans",sans-serif}
@media (prefers-color-scheme:dark){.pen{--paper:#1b1815;--ink:#e9e0cf}}
.pen .mono{font-family:"Go Mono","Liberation Mono",monospace}.pen .bold{font-weight:bold}
.pen .halo{stroke:var(--paper);stroke-width:.6;stroke-linejoin:round;paint-order:stroke}`

// svgPen writes SVG.
type svgPen struct {
	b     strings.Builder
	id    string
	clips int
}

// SVG draws a picture of the size in millimetres as one SVG element. The id keeps several pictures
// on one page apart.
func SVG(w io.Writer, id, title string, widthMM, heightMM float64, draw func(Pen)) error {
	p := &svgPen{id: id}
	fmt.Fprintf(&p.b, `<svg xmlns="http://www.w3.org/2000/svg" class="pen" viewBox="0 0 %s %s" width="100%%" role="img" aria-labelledby="%s-title">`+"\n", mm(widthMM), mm(heightMM), escape(id))
	fmt.Fprintf(&p.b, "<title id=\"%s-title\">%s</title>\n<style>%s</style>\n", escape(id), escape(title), penSheet)
	fmt.Fprintf(&p.b, "<rect width=\"%s\" height=\"%s\" fill=\"var(--paper)\"/>\n", mm(widthMM), mm(heightMM))
	draw(p)
	p.b.WriteString("</svg>\n")
	_, err := io.WriteString(w, p.b.String())
	return err
}

func mm(v float64) string {
	s := strings.TrimRight(fmt.Sprintf("%.2f", v), "0")
	return strings.TrimSuffix(s, ".")
}

func tone(shade float64) string {
	switch {
	case shade <= 0:
		return "var(--ink)"
	case shade >= 1:
		return "var(--paper)"
	}
	return fmt.Sprintf("color-mix(in srgb,var(--ink) %.0f%%,var(--paper))", 100*(1-shade))
}

func (p *svgPen) ink(k Ink) string {
	fill, stroke := "none", ""
	if k.Filled {
		fill = tone(k.Fill)
	}
	if k.LineMM > 0 {
		stroke = fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, tone(k.Line), mm(k.LineMM))
		if len(k.Dash) > 0 {
			var d []string
			for _, v := range k.Dash {
				d = append(d, mm(v))
			}
			stroke += ` stroke-dasharray="` + strings.Join(d, " ") + `"`
		}
	}
	return `fill="` + fill + `"` + stroke
}

func (p *svgPen) Shape(k Ink, closed bool, dots ...Dot) {
	if len(dots) < 2 {
		return
	}
	fmt.Fprintf(&p.b, `<path %s d="`, p.ink(k))
	for i, d := range dots {
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		fmt.Fprintf(&p.b, "%s%s %s", letter, mm(d.X), mm(d.Y))
	}
	if closed {
		p.b.WriteString("Z")
	}
	p.b.WriteString("\"/>\n")
}

func (p *svgPen) Circle(k Ink, at Dot, r float64) {
	fmt.Fprintf(&p.b, "<circle %s cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", p.ink(k), mm(at.X), mm(at.Y), mm(r))
}

func (p *svgPen) Words(l Lettering, at Dot, text string) {
	var class []string
	if l.Mono {
		class = append(class, "mono")
	}
	if l.Bold {
		class = append(class, "bold")
	}
	if l.Halo {
		class = append(class, "halo")
	}
	anchor := [...]string{"start", "middle", "end"}[l.Anchor]
	fmt.Fprintf(&p.b, "<text class=\"%s\" x=\"%s\" y=\"%s\" font-size=\"%s\" fill=\"%s\" text-anchor=\"%s\">%s</text>\n",
		strings.Join(class, " "), mm(at.X), mm(at.Y), mm(l.SizeMM), tone(l.Shade), anchor, escape(text))
}

// Width is a guess: SVG is set by whoever shows it.
func (p *svgPen) Width(l Lettering, text string) float64 {
	return 0.58 * l.SizeMM * float64(utf8.RuneCountInString(text))
}

func (p *svgPen) Picture(at Dot, w, h float64, img image.Image) {
	var b bytes.Buffer
	if png.Encode(&b, img) != nil { // a bytes.Buffer does not fail; an image without size does
		return
	}
	fmt.Fprintf(&p.b, "<image x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\" href=\"data:image/png;base64,%s\"/>\n",
		mm(at.X), mm(at.Y), mm(w), mm(h), base64.StdEncoding.EncodeToString(b.Bytes()))
}

func (p *svgPen) Clip(at Dot, w, h float64, draw func()) {
	p.clips++
	id := fmt.Sprintf("%s-clip%d", escape(p.id), p.clips)
	fmt.Fprintf(&p.b, "<clipPath id=\"%s\"><rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/></clipPath>\n<g clip-path=\"url(#%s)\">\n",
		id, mm(at.X), mm(at.Y), mm(w), mm(h), id)
	draw()
	p.b.WriteString("</g>\n")
}
