// Package draw makes the pictures that the page and the book share.
//
// A picture is drawn from values that the models gave; nothing is computed here but places on
// paper. Colours are CSS custom properties with a day and a night value, which a page may set
// itself: --paper, --ink, --faint, --land, --sun, --moon, --wanted.
//
// Source: the trade's sun chart (altitude over azimuth), no standard followed.
//
// Not modelled: labels that avoid each other in every case.
package draw

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// SkyStrip is the sky over one spot on one local day: the skyline in silhouette, the ways of sun
// and moon with their hours, and the sector that the shot wants the sun in.
type SkyStrip struct {
	ID      string    // prefix of the ids in the picture, unique on its page
	Title   string    // "4B at the chapel"
	Place   sky.Place // of the spot
	Day     time.Time // any moment of the day, in the site's zone
	Skyline sky.Skyline
	Wanted  []Sector
}

// Sector is a part of the sky: clockwise from azimuth From to To, between two altitudes.
type Sector struct {
	From, To  unit.Angle
	Low, High unit.Angle
	Label     string
}

// The strip's measures, in user units of which a page shows about one to a pixel.
const (
	stripWidth, stripLeft, stripRight = 960.0, 34.0, 14.0
	stripTop, stripBottom             = 56.0, 44.0
	stripPerDegree                    = 3.1
	stripLowest                       = -6.0 // degrees of altitude at the foot
)

// stripSheet holds the day and night dress.
const stripSheet = `
.sky{--paper:#f7f1e4;--ink:#2c2721;--faint:#b9ad97;--land:#8b7f6b;--sun:#b4540a;--moon:#4a5f7a;--wanted:#d9a441;font:11px serif}
@media (prefers-color-scheme:dark){.sky{--paper:#211d18;--ink:#e9e0cf;--faint:#5d5446;--land:#40392f;--sun:#f0a24e;--moon:#9db4d3;--wanted:#8a6a25}}
.sky text{fill:var(--ink);stroke:var(--paper);stroke-width:3px;stroke-linejoin:round;paint-order:stroke}
.sky .head{font-size:14px}
.sky .grid{stroke:var(--faint);stroke-width:.5;fill:none}
.sky .land{fill:var(--land);stroke:var(--ink);stroke-width:1}
.sky .way{fill:none;stroke-linecap:round}
.sky .way.sun{stroke:var(--sun);stroke-width:2}
.sky .way.moon{stroke:var(--moon);stroke-width:1.2;stroke-dasharray:5 3}
.sky text.sun{fill:var(--sun)}
.sky text.moon{fill:var(--moon)}
.sky .wanted{fill:var(--wanted);fill-opacity:.35;stroke:var(--wanted)}
`

// strip is the picture being drawn.
type strip struct {
	b       strings.Builder
	top     float64 // degrees of altitude at the head
	middle  float64 // degrees of azimuth at the middle
	height  float64
	skyline sky.Skyline
}

// SVG writes the strip as one SVG element.
func (s SkyStrip) SVG(w io.Writer) error {
	sun, err := s.Place.SunDay(s.Day)
	if err != nil {
		return err
	}
	moon, err := s.Place.MoonDay(s.Day)
	if err != nil {
		return err
	}
	start, err := sky.At(sun.From)
	if err != nil {
		return err
	}
	seconds := sun.To.Sub(sun.From).Seconds()
	almanac, err := sky.NewAlmanac(s.Place, start, start.Add(seconds))
	if err != nil {
		return err
	}
	sunWay, moonWay := almanac.SunTrack(start, seconds, 300), almanac.MoonTrack(start, seconds, 300)

	d := &strip{skyline: s.Skyline, top: 30, middle: 180}
	for _, p := range sunWay {
		d.top = max(d.top, p.Altitude.Deg()+8)
	}
	for _, p := range moonWay {
		d.top = max(d.top, p.Altitude.Deg()+8)
	}
	for _, e := range s.Skyline {
		d.top = max(d.top, e.Deg()+8)
	}
	d.top = min(90, d.top)
	if sun.Transit.Happens() { // the middle of the picture is where the sun stands highest
		if at, err := sky.At(sun.Transit.At); err == nil && math.Cos(float64(almanac.Sun(at).Azimuth)) > 0 {
			d.middle = 0
		}
	}
	d.height = stripTop + (d.top-stripLowest)*stripPerDegree + stripBottom

	d.open(cmp.Or(s.ID, "sky"), s.Title, s.describe(sun, moon))
	d.grid()
	for _, sector := range s.Wanted {
		d.sector(sector)
	}
	d.way(moonWay, "moon")
	d.way(sunWay, "sun")
	d.land()
	d.hours(almanac, start, sun, false)
	d.hours(almanac, start, sun, true)
	d.direct(almanac, start, seconds, sun.From)
	d.azimuths()
	d.text(stripLeft, d.height-6, "", "start", "Planning aid: cloud, haze, trees and buildings are not in it. Hours are local.")
	d.text(stripLeft, 16, "head", "start", s.Title)
	d.text(stripLeft, 31, "", "start", s.Day.Format("Monday 2 January 2006")+", "+headline(sun, moon))
	d.b.WriteString("</svg>\n")
	_, err = io.WriteString(w, d.b.String())
	return err
}

// describe tells in words what the picture shows.
func (s SkyStrip) describe(sun sky.SunDay, moon sky.MoonDay) string {
	text := fmt.Sprintf("Altitude over azimuth on %s at latitude %.4f, longitude %.4f. %s.",
		s.Day.Format("2 January 2006"), s.Place.Latitude.Deg(), s.Place.Longitude.Deg(), headline(sun, moon))
	for _, w := range s.Wanted {
		text += fmt.Sprintf(" Wanted: %s, azimuth %.0f to %.0f degrees, altitude %.0f to %.0f degrees.",
			w.Label, w.From.Wrapped().Deg(), w.To.Wrapped().Deg(), w.Low.Deg(), w.High.Deg())
	}
	if len(s.Skyline) == 0 {
		text += " The horizon is drawn level: no terrain was given."
	}
	return text
}

func headline(sun sky.SunDay, moon sky.MoonDay) string {
	word := func(name string, o sky.Occurrence) string {
		if o.Happens() {
			return name + " " + o.At.Format("15:04")
		}
		return "no " + name + " (" + o.Reason + ")"
	}
	phase := "waning"
	if moon.Phase.Waxing {
		phase = "waxing"
	}
	return fmt.Sprintf("%s, %s; moon %.0f %% lit, %s",
		word("sunrise", sun.Sunrise), word("sunset", sun.Sunset), 100*moon.Phase.IlluminatedFraction, phase)
}

func (d *strip) x(azimuth unit.Angle) float64 {
	fromLeft := math.Mod(azimuth.Deg()-d.middle+180+720, 360)
	return stripLeft + fromLeft/360*(stripWidth-stripLeft-stripRight)
}

func (d *strip) y(altitude unit.Angle) float64 {
	return stripTop + (d.top-max(stripLowest, min(d.top, altitude.Deg())))*stripPerDegree
}

func (d *strip) open(id, title, description string) {
	fmt.Fprintf(&d.b, `<svg xmlns="http://www.w3.org/2000/svg" class="sky" viewBox="0 0 %.0f %.0f" width="100%%" role="img" aria-labelledby="%s-title %s-desc">`+"\n",
		stripWidth, d.height, escape(id), escape(id))
	fmt.Fprintf(&d.b, "<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", escape(id), escape(title), escape(id), escape(description))
	fmt.Fprintf(&d.b, "<style>%s</style>\n<rect width=\"%.0f\" height=\"%.1f\" fill=\"var(--paper)\"/>\n", stripSheet, stripWidth, d.height)
}

func (d *strip) text(x, y float64, class, anchor, words string) {
	fmt.Fprintf(&d.b, "<text x=\"%.1f\" y=\"%.1f\" class=\"%s\" text-anchor=\"%s\">%s</text>\n", x, y, class, anchor, escape(words))
}

// grid rules the altitudes.
func (d *strip) grid() {
	for h := 0.0; h < d.top; h += 10 {
		y := d.y(unit.Angle(h) * unit.Degree)
		fmt.Fprintf(&d.b, "<path class=\"grid\" d=\"M%.1f %.1fH%.1f\"/>\n", stripLeft, y, stripWidth-stripRight)
		d.text(stripLeft-5, y+4, "", "end", fmt.Sprintf("%.0f°", h))
	}
}

// azimuths names the points of the compass along the foot.
func (d *strip) azimuths() {
	for i, name := range []string{"N", "NE", "E", "SE", "S", "SW", "W", "NW"} {
		x := d.x(unit.Angle(45*i) * unit.Degree)
		foot := d.height - stripBottom
		fmt.Fprintf(&d.b, "<path d=\"M%.1f %.1fv6\" stroke=\"var(--ink)\"/>\n", x, foot)
		d.text(x, foot+19, "", "middle", fmt.Sprintf("%s %d°", name, 45*i))
	}
}

// land fills the skyline down to the foot.
func (d *strip) land() {
	fmt.Fprintf(&d.b, "<path class=\"land\" d=\"M%.1f %.1f", stripLeft, d.height-stripBottom)
	for i := 0; i <= 720; i++ {
		azimuth := unit.Angle(d.middle-180+float64(i)/2) * unit.Degree
		x := stripLeft + float64(i)/720*(stripWidth-stripLeft-stripRight)
		fmt.Fprintf(&d.b, "L%.1f %.1f", x, d.y(d.skyline.At(azimuth)))
	}
	fmt.Fprintf(&d.b, "V%.1fZ\"/>\n", d.height-stripBottom)
}

// way draws a body's track, broken at the picture's edge and where it is under the foot.
func (d *strip) way(points []sky.TrackPoint, class string) {
	fmt.Fprintf(&d.b, "<path class=\"way %s\" d=\"", class)
	pen, last := false, 0.0
	for _, p := range points {
		x, y := d.x(p.Azimuth), d.y(p.Altitude)
		if p.Altitude.Deg() < stripLowest {
			pen = false
			continue
		}
		if !pen || math.Abs(x-last) > stripWidth/2 {
			fmt.Fprintf(&d.b, "M%.1f %.1f", x, y)
		} else {
			fmt.Fprintf(&d.b, "L%.1f %.1f", x, y)
		}
		pen, last = true, x
	}
	d.b.WriteString("\"/>\n")
}

// hours marks the full hours of the zone at which the body is in view: each for the sun, every
// third for the moon.
func (d *strip) hours(a *sky.Almanac, start sky.Instant, day sky.SunDay, ofSun bool) {
	look, class, every, size := a.Moon, "moon", 3, 1.8
	if ofSun {
		look, class, every, size = a.Sun, "sun", 1, 2.6
	}
	for t := day.From.Truncate(time.Hour); t.Before(day.To); t = t.Add(30 * time.Minute) {
		if t.Before(day.From) || t.Minute() != 0 || t.Hour()%every != 0 {
			continue
		}
		p := look(start.Add(t.Sub(day.From).Seconds()))
		if p.Altitude <= max(0, d.skyline.At(p.Azimuth)) {
			continue
		}
		x, y := d.x(p.Azimuth), d.y(p.Altitude)
		fmt.Fprintf(&d.b, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"var(--%s)\" stroke=\"var(--paper)\"/>\n", x, y, size, class)
		d.text(x, y-7, class, "middle", t.Format("15"))
	}
}

// direct names the minutes at which the sun clears the skyline and goes behind it.
func (d *strip) direct(a *sky.Almanac, start sky.Instant, seconds float64, from time.Time) {
	if len(d.skyline) == 0 {
		return
	}
	over := func(t float64) float64 { return float64(a.SunOver(d.skyline, start.Add(t))) }
	for _, c := range sky.Crossings(over, 0, seconds, 60, 1) {
		p := a.Sun(start.Add(c.At))
		x, y := d.x(p.Azimuth), d.y(p.Altitude)
		words, anchor, dx := "sun out ", "end", -9.0
		if !c.Rising {
			words, anchor, dx = "sun behind ", "start", 9
		}
		fmt.Fprintf(&d.b, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"4.5\" fill=\"none\" stroke=\"var(--sun)\" stroke-width=\"1.5\"/>\n", x, y)
		d.text(x+dx, y+4, "", anchor, words+from.Add(time.Duration(c.At)*time.Second).Format("15:04"))
	}
}

// sector marks a wanted part of the sky, in two pieces if it crosses the picture's edge.
func (d *strip) sector(s Sector) {
	width := (s.To - s.From).Wrapped().Deg() / 360 * (stripWidth - stripLeft - stripRight)
	left, right := d.x(s.From), stripWidth-stripRight
	low, high := d.y(s.Low), d.y(s.High)
	box := func(x, w float64) {
		fmt.Fprintf(&d.b, "<rect class=\"wanted\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"/>\n", x, high, w, low-high)
	}
	box(left, min(width, right-left))
	if left+width > right {
		box(stripLeft, left+width-right)
	}
	d.text(left, high-5, "", "start", s.Label)
}

// escape makes words safe as XML text or attribute.
func escape(words string) string {
	var b strings.Builder
	// A strings.Builder never fails to write.
	_ = xml.EscapeText(&b, []byte(words))
	return b.String()
}
