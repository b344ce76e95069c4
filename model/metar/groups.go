package metar

import (
	"strings"

	"fieldfare/model/air"
)

// group decodes one shared group at the head of w and returns how many words it took.
func (c *Conditions) group(w []string) int {
	word := w[0]
	if wind, ok := windGroup(word); ok {
		if c.Wind != nil {
			return 0
		}
		c.Wind = &wind
		return 1
	}
	if from, to, ok := sector(word); ok {
		if c.Wind == nil || c.Wind.VaryFrom.Known {
			return 0
		}
		c.Wind.VaryFrom, c.Wind.VaryTo = from, to
		return 1
	}
	if n := c.visibility(w); n > 0 {
		return n
	}
	switch word {
	case "CAVOK":
		c.CAVOK = true
		c.Visibility = &Visibility{M: air.Known(10000), Above: true}
		return 1
	case "SKC", "CLR", "NSC", "NCD":
		c.Sky = word
		return 1
	case "NSW":
		c.NoWeather = true
		return 1
	case "//":
		c.WeatherMissing = true
		return 1
	case "WS":
		// "WS R24", "WS ALL RWY", "WS RWY24"
		var n int
		switch {
		case len(w) > 2 && w[1] == "ALL" && (w[2] == "RWY" || w[2] == "RWYS"):
			n = 3
		case len(w) > 1 && (strings.HasPrefix(w[1], "R")) && len(w[1]) <= 7:
			n = 2
		default:
			return 0
		}
		c.Shear = append(c.Shear, strings.Join(w[:n], " "))
		return n
	}
	if shear(word) {
		c.Shear = append(c.Shear, word)
		return 1
	}
	if l, ok := layer(word); ok {
		c.Cloud = append(c.Cloud, l)
		return 1
	}
	if rest, ok := strings.CutPrefix(word, "VV"); ok && len(rest) == 3 {
		h, known := digits(rest)
		if !known && rest != "///" {
			return 0
		}
		c.SkyObscured = true
		c.VerticalVisibilityM = air.Reading{}
		if known {
			c.VerticalVisibilityM = air.Known(float64(h) * hundredFeet)
		}
		return 1
	}
	if p, ok := phenomenon(word); ok {
		c.Weather = append(c.Weather, p)
		return 1
	}
	return 0
}

// digits reads a string of digits only.
func digits(s string) (n int, ok bool) {
	if s == "" || len(s) > 6 {
		return 0, false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, true
}

// station is four letters or digits beginning with a letter (ICAO Doc 7910).
func station(w string) bool {
	if len(w) != 4 || w[0] < 'A' || w[0] > 'Z' {
		return false
	}
	for i := range len(w) {
		if (w[i] < 'A' || w[i] > 'Z') && (w[i] < '0' || w[i] > '9') {
			return false
		}
	}
	return true
}

// dayTime reads 211630Z.
func dayTime(w string) (Clock, bool) {
	if len(w) != 7 || w[6] != 'Z' {
		return Clock{}, false
	}
	return clock6(w[:6])
}

func clock6(s string) (Clock, bool) {
	n, ok := digits(s)
	c := Clock{n / 10000, n / 100 % 100, n % 100}
	return c, ok && len(s) == 6 && c.Day >= 1 && c.Day <= 31 && c.Hour <= 23 && c.Minute <= 59
}

// hourClock reads the ddhh of a period; hour 24 is the end of the day.
func hourClock(s string) (Clock, bool) {
	n, ok := digits(s)
	c := Clock{n / 100, n % 100, 0}
	return c, ok && len(s) == 4 && c.Day >= 1 && c.Day <= 31 && c.Hour <= 24
}

// trendTime reads FM1700, TL1800 or AT1200.
func trendTime(w string) (c Clock, kind string, ok bool) {
	if len(w) != 6 || (!strings.HasPrefix(w, "FM") && !strings.HasPrefix(w, "TL") && !strings.HasPrefix(w, "AT")) {
		return c, "", false
	}
	n, ok := digits(w[2:])
	c = Clock{0, n / 100, n % 100}
	return c, w[:2], ok && (c.Hour <= 23 && c.Minute <= 59 || c.Hour == 24 && c.Minute == 0)
}

// windGroup reads 24004MPS, 21016G24KT, VRB05KT, /////KT, 240P49MPS.
func windGroup(w string) (wind Wind, ok bool) {
	factor := 0.0
	var body string
	for _, u := range [...]struct {
		suffix string
		factor float64
	}{{"KT", knot}, {"MPS", 1}, {"KMH", kmh}} {
		if rest, found := strings.CutSuffix(w, u.suffix); found {
			body, factor = rest, u.factor
		}
	}
	if factor == 0 || len(body) < 5 {
		return wind, false
	}
	direction, rest := body[:3], body[3:]
	mean, gust, gusty := strings.Cut(rest, "G")
	speed := func(s string) (r air.Reading, above, ok bool) {
		if s == "//" || s == "///" {
			return r, false, true
		}
		s, above = strings.CutPrefix(s, "P")
		n, ok := digits(s)
		return air.Known(float64(n) * factor), above, ok && (len(s) == 2 || len(s) == 3)
	}
	if wind.MeanMS, wind.Above, ok = speed(mean); !ok {
		return wind, false
	}
	if gusty {
		if wind.GustMS, _, ok = speed(gust); !ok || wind.GustMS.Known && wind.GustMS.Value < wind.MeanMS.Value {
			return wind, false
		}
	}
	switch direction {
	case "VRB":
		wind.Variable = true
	case "///":
	default:
		d, isNumber := digits(direction)
		switch {
		case !isNumber || d > 360:
			return wind, false
		case d == 0 && wind.MeanMS == air.Known(0):
			wind.Calm = true
		case d == 0:
			// North is 360; 000 with a speed means nothing.
			return wind, false
		default:
			wind.From = degrees(d)
		}
	}
	return wind, true
}

// sector reads 180V240.
func sector(w string) (from, to air.Reading, ok bool) {
	if len(w) != 7 || w[3] != 'V' {
		return
	}
	a, okA := digits(w[:3])
	b, okB := digits(w[4:])
	return degrees(a), degrees(b), okA && okB && a <= 360 && b <= 360
}

func compassPoint(s string) bool {
	switch s {
	case "N", "NE", "E", "SE", "S", "SW", "W", "NW":
		return true
	}
	return false
}

// visibility reads 0600, 9999, 1200NE, 3000NDV, ////, 10SM, 1/2SM, M1/4SM, P6SM and the
// two words 2 1/2SM.
func (c *Conditions) visibility(w []string) int {
	word := w[0]
	set := func(v Visibility, taken int) int {
		if c.Visibility != nil {
			return 0
		}
		c.Visibility = &v
		return taken
	}
	if word == "////" || word == "////SM" {
		return set(Visibility{}, 1)
	}
	if whole, ok := digits(word); ok && len(word) == 1 && len(w) > 1 {
		if v, ok := miles(w[1]); ok && strings.Contains(w[1], "/") && !v.Above && !v.Below {
			v.M.Value += float64(whole) * statuteMile
			return set(v, 2)
		}
	}
	if v, ok := miles(word); ok {
		return set(v, 1)
	}
	if len(word) < 4 {
		return 0
	}
	m, ok := digits(word[:4])
	if !ok {
		return 0
	}
	v := Visibility{M: air.Known(float64(m))}
	switch suffix := word[4:]; {
	case suffix == "" || suffix == "NDV":
		switch m {
		case 9999:
			v.M, v.Above = air.Known(10000), true
		case 0:
			v.M, v.Below = air.Known(50), true
		}
		return set(v, 1)
	case compassPoint(suffix):
		// A second, directed group is the minimum; of several only the least is kept.
		if c.Visibility == nil {
			v.LeastM, v.LeastToward = v.M, suffix
			return set(v, 1)
		}
		if !c.Visibility.LeastM.Known || float64(m) < c.Visibility.LeastM.Value {
			c.Visibility.LeastM, c.Visibility.LeastToward = air.Known(float64(m)), suffix
		}
		return 1
	}
	return 0
}

// miles reads a visibility in statute miles, one word.
func miles(w string) (v Visibility, ok bool) {
	body, ok := strings.CutSuffix(w, "SM")
	if !ok {
		return v, false
	}
	body, v.Above = strings.CutPrefix(body, "P")
	if !v.Above {
		body, v.Below = strings.CutPrefix(body, "M")
	}
	top, bottom, fraction := strings.Cut(body, "/")
	n, okN := digits(top)
	value := float64(n)
	if fraction {
		d, okD := digits(bottom)
		if !okD || d == 0 || d > 16 || n >= d {
			return v, false
		}
		value /= float64(d)
	}
	v.M = air.Known(value * statuteMile)
	return v, okN && n <= 99
}

// layer reads FEW016, BKN005CB, SCT///, ///015, //////CB.
func layer(w string) (l Layer, ok bool) {
	if len(w) < 6 {
		return l, false
	}
	switch w[:3] {
	case "FEW", "SCT", "BKN", "OVC":
		l.Cover = w[:3]
	case "///":
	default:
		return l, false
	}
	if h, known := digits(w[3:6]); known {
		l.BaseM = air.Known(float64(h) * hundredFeet)
	} else if w[3:6] != "///" {
		return l, false
	}
	switch w[6:] {
	case "CB", "TCU":
		l.Type = w[6:]
	case "", "///":
	default:
		return l, false
	}
	return l, true
}

const (
	descriptors = "MI PR BC DR BL SH TS FZ "
	kinds       = "DZ RA SN SG PL IC GR GS UP FG BR HZ DU SA FU VA PY PO SQ FC SS DS "
)

// phenomenon reads a weather group: +TSRA, -RA, BR, VCSH, REFZRA, FZFG.
func phenomenon(w string) (p Phenomenon, ok bool) {
	p.Code = w
	p.Intensity = air.AmountModerate
	w, p.Recent = strings.CutPrefix(w, "RE")
	switch {
	case strings.HasPrefix(w, "+"):
		p.Intensity, w = air.AmountHeavy, w[1:]
	case strings.HasPrefix(w, "-"):
		p.Intensity, w = air.AmountLight, w[1:]
	case strings.HasPrefix(w, "VC"):
		p.Vicinity, w = true, w[2:]
	}
	if len(w)%2 != 0 || len(w) == 0 || len(w) > 8 {
		return p, false
	}
	if strings.Contains(descriptors, w[:2]+" ") {
		p.Descriptor, w = w[:2], w[2:]
	}
	for ; len(w) > 0; w = w[2:] {
		if !strings.Contains(kinds, w[:2]+" ") {
			return p, false
		}
		p.Kinds = append(p.Kinds, w[:2])
	}
	// TS stands alone, SH only in the vicinity; the other descriptors describe something.
	alone := p.Descriptor == "TS" || p.Descriptor == "SH" && p.Vicinity || p.Descriptor == "SH" && p.Recent
	return p, len(p.Kinds) > 0 && len(p.Kinds) <= 3 || alone && len(p.Kinds) == 0
}

// temperatures reads 17/16, M02/M07, 25/, ///12, 06/XX.
func temperatures(w string) (t, d air.Reading, ok bool) {
	first, second, found := strings.Cut(w, "/")
	if strings.HasPrefix(w, "///") && len(w) > 3 {
		first, second, found = "//", w[3:], true
	} else if w == "/////" {
		first, second, found = "//", "//", true
	}
	read := func(s string) (air.Reading, bool) {
		if s == "//" || s == "XX" {
			return air.Reading{}, true
		}
		s, below := strings.CutPrefix(s, "M")
		n, ok := digits(s)
		if below {
			n = -n
		}
		return air.Known(float64(n) + zeroC), ok && len(s) == 2 && n >= -80 && n <= 60
	}
	if !found {
		return t, d, false
	}
	var okT, okD bool
	t, okT = read(first)
	if second == "" {
		return t, air.Reading{}, okT && first != "//"
	}
	d, okD = read(second)
	return t, d, okT && okD
}

// pressure reads Q1018, A2990, Q////, QNH2992INS.
func pressure(w string) (air.Reading, bool) {
	if body, ok := strings.CutPrefix(w, "QNH"); ok {
		n, okN := digits(strings.TrimSuffix(body, "INS"))
		return plausible(float64(n) / 100 * inchMercury), okN && strings.HasSuffix(body, "INS") && len(body) == 7 && plausible(float64(n)/100*inchMercury).Known
	}
	if len(w) != 5 || w[0] != 'Q' && w[0] != 'A' {
		return air.Reading{}, false
	}
	if w[1:] == "////" {
		return air.Reading{}, true
	}
	n, ok := digits(w[1:])
	pa := float64(n) * 100
	if w[0] == 'A' {
		pa = float64(n) / 100 * inchMercury
	}
	p := plausible(pa)
	return p, ok && p.Known
}

// plausible lets no pressure pass that the sea has never seen.
func plausible(pa float64) air.Reading {
	if pa < 85000 || pa > 110000 {
		return air.Reading{}
	}
	return air.Known(pa)
}

func runwayName(s string) bool {
	if len(s) == 3 && strings.Contains("LCR", s[2:]) {
		s = s[:2]
	}
	n, ok := digits(s)
	return ok && len(s) == 2 && (n <= 36 || n == 88 || n == 99)
}

// runway reads R12/1000U, R11/P6000FT, R04R/4500VP6000FT, R24L/M0050N, R06/////.
func runway(w string) (r Runway, ok bool) {
	body, found := strings.CutPrefix(w, "R")
	name, body, cut := strings.Cut(body, "/")
	if !found || !cut || !runwayName(name) {
		return r, false
	}
	r.Name = name
	if body == "////" {
		return r, true
	}
	for _, t := range [...]struct{ letter, trend string }{{"U", "rising"}, {"D", "falling"}, {"N", "steady"}} {
		if rest, ok := strings.CutSuffix(body, t.letter); ok {
			body, r.Trend = strings.TrimSuffix(rest, "/"), t.trend
			break
		}
	}
	scale := 1.0
	if rest, ok := strings.CutSuffix(body, "FT"); ok {
		body, scale = rest, 0.3048
	}
	low, high, varies := strings.Cut(body, "V")
	low, r.Below = strings.CutPrefix(low, "M")
	if !varies {
		low, r.Above = strings.CutPrefix(low, "P")
	}
	n, okN := digits(low)
	if !okN || len(low) != 4 {
		return r, false
	}
	r.LeastM = air.Known(float64(n) * scale)
	if varies {
		high, r.Above = strings.CutPrefix(high, "P")
		m, okM := digits(high)
		if !okM || len(high) != 4 {
			return r, false
		}
		r.MostM = air.Known(float64(m) * scale)
	}
	return r, true
}

// runwayState reads R24/CLRD70, R88/290155, R14//99//.
func runwayState(w string) bool {
	body, found := strings.CutPrefix(w, "R")
	name, state, cut := strings.Cut(body, "/")
	if !found || !cut || !runwayName(name) {
		return false
	}
	if rest, ok := strings.CutPrefix(state, "CLRD"); ok {
		_, number := digits(rest)
		return rest == "//" || number && len(rest) == 2
	}
	return len(state) == 6 && strings.Trim(state, "0123456789/") == "" || state == "SNOCLO"
}

// seaState reads W15/S4, WM01/H20.
func seaState(w string) bool {
	body, found := strings.CutPrefix(w, "W")
	t, s, cut := strings.Cut(body, "/")
	t = strings.TrimPrefix(t, "M")
	_, number := digits(t)
	if !found || !cut || ((!number || len(t) != 2) && t != "//") || len(s) < 2 || s[0] != 'S' && s[0] != 'H' {
		return false
	}
	return strings.Trim(s[1:], "0123456789/") == ""
}

// shear reads the forecast's WS020/24045KT.
func shear(w string) bool {
	body, found := strings.CutPrefix(w, "WS")
	h, wind, cut := strings.Cut(body, "/")
	_, number := digits(h)
	_, isWind := windGroup(wind)
	return found && cut && number && len(h) == 3 && isWind
}
