package metar

import (
	"fmt"
	"strings"

	"fieldfare/model/air"
)

// LooksLikeForecast tells a TAF, with or without that word before it, from a report.
func LooksLikeForecast(text string) bool {
	w := words(text)
	if len(w) > 0 && w[0] == "TAF" {
		return true
	}
	for i := 1; i < len(w) && i <= 3; i++ {
		if _, _, ok := period(w[i], nil); ok && len(w[i]) == 9 {
			return true
		}
	}
	return false
}

// ParseForecast decodes a TAF. It fails when there is no station or no period of
// validity; anything else that is not understood goes to Unread.
func ParseForecast(text string) (Forecast, error) {
	f := Forecast{Raw: strings.TrimSpace(text)}
	if len(text) > longest {
		return f, fmt.Errorf("the forecast has %d characters: expected one forecast of at most %d", len(text), longest)
	}
	w := words(text)
	for len(w) > 0 {
		switch w[0] {
		case "TAF":
		case "AMD":
			f.Amended = true
		case "COR":
			f.Corrected = true
		default:
			goto heading
		}
		w = w[1:]
	}
heading:
	if len(w) < 2 || !station(w[0]) {
		return f, fmt.Errorf("%q is not a TAF: expected a station of four letters and a period such as 1600/1618", clip(text))
	}
	f.Station, w = w[0], w[1:]
	if at, ok := dayTime(w[0]); ok {
		f.Issued, w = &at, w[1:]
	}
	if len(w) > 0 && w[0] == "NIL" {
		f.Missing = true
		return f, nil
	}
	if len(w) == 0 {
		return f, fmt.Errorf("%q is not a TAF: the period of validity, such as 1600/1618, is missing", clip(text))
	}
	var ok bool
	if f.From, f.Until, ok = period(w[0], f.Issued); !ok {
		return f, fmt.Errorf("%q is not a TAF: %q stands where the period of validity should, such as 1600/1618", clip(text), w[0])
	}
	w = w[1:]
	current := (*Change)(nil)
	for len(w) > 0 {
		switch {
		case w[0] == "CNL":
			f.Cancelled = true
			w = w[1:]
			continue
		case w[0] == "RMK":
			f.RemarkedText = strings.Join(w[1:], " ")
			w = nil
			continue
		case f.extreme(w[0]):
			w = w[1:]
			continue
		}
		if c, n := change(w, f.Issued); n > 0 {
			f.Changes = append(f.Changes, c)
			current = &f.Changes[len(f.Changes)-1]
			w = w[n:]
			continue
		}
		if current != nil {
			w = current.take(w)
			continue
		}
		if q, ok := pressure(w[0]); ok {
			f.QNHPa = q
			w = w[1:]
		} else if n := f.group(w); n > 0 {
			w = w[n:]
		} else {
			f.Unread = append(f.Unread, w[0])
			w = w[1:]
		}
	}
	return f, nil
}

// period reads 1600/1618, or the old 160018 and 0018 whose day is that of issue.
func period(w string, issued *Clock) (from, until Clock, ok bool) {
	if len(w) == 9 && w[4] == '/' {
		var okA, okB bool
		from, okA = hourClock(w[:4])
		until, okB = hourClock(w[5:])
		return from, until, okA && okB
	}
	day := 0
	switch {
	case len(w) == 6:
		d, okD := digits(w[:2])
		if !okD || d < 1 || d > 31 {
			return from, until, false
		}
		day, w = d, w[2:]
	case len(w) == 4 && issued != nil:
		day = issued.Day
	default:
		return from, until, false
	}
	n, okN := digits(w)
	from, until = Clock{Day: day, Hour: n / 100}, Clock{Day: 0, Hour: n % 100}
	return from, until, okN && from.Hour <= 24 && until.Hour <= 24
}

// change reads the head of a change group: FM161230, BECMG 1606/1608, TEMPO 1608/1612,
// PROB30 1608/1612, PROB40 TEMPO 1608/1612. It returns how many words it took.
func change(w []string, issued *Clock) (c Change, taken int) {
	word := w[0]
	if body, ok := strings.CutPrefix(word, "FM"); ok {
		switch len(body) {
		case 6:
			if at, ok := clock6(body); ok {
				return Change{Kind: "FM", From: &at}, 1
			}
		case 4:
			if at, _, ok := trendTime(word); ok {
				return Change{Kind: "FM", From: &at}, 1
			}
		}
		return c, 0
	}
	if p, ok := strings.CutPrefix(word, "PROB"); ok {
		n, isNumber := digits(p)
		if !isNumber || n < 10 || n > 90 {
			return c, 0
		}
		c.Kind, c.Probability, taken = "PROB", n, 1
		if len(w) > 1 && (w[1] == "TEMPO" || w[1] == "INTER") {
			c.Kind, taken = w[1], 2
		}
	} else if changeWord(word) {
		c.Kind, taken = word, 1
	} else {
		return c, 0
	}
	if len(w) > taken {
		if from, until, ok := period(w[taken], issuedOrDay(issued)); ok && (len(w[taken]) == 9 || len(w[taken]) == 4 && fourHours(w, taken)) {
			if len(w[taken]) == 4 {
				from.Day = 0
			}
			c.From, c.Until = &from, &until
			taken++
		}
	}
	return c, taken
}

func issuedOrDay(issued *Clock) *Clock {
	if issued == nil {
		return &Clock{Day: 1}
	}
	return issued
}

// fourHours tells an old four-digit period, "BECMG 0608", from a visibility: the period
// is followed by another group and both halves are hours.
func fourHours(w []string, i int) bool {
	n, ok := digits(w[i])
	return ok && n/100 <= 24 && n%100 <= 24 && len(w) > i+1
}

// extreme reads TX25/1512Z and TNM02/1604Z.
func (f *Forecast) extreme(w string) bool {
	if !strings.HasPrefix(w, "TX") && !strings.HasPrefix(w, "TN") {
		return false
	}
	value, when, cut := strings.Cut(w[2:], "/")
	when = strings.TrimSuffix(when, "Z")
	at, ok := hourClock(when)
	digit, below := strings.CutPrefix(value, "M")
	n, okN := digits(digit)
	if below {
		n = -n
	}
	if !cut || !ok || !okN || len(digit) != 2 || n < -80 || n > 60 {
		return false
	}
	k := air.Known(float64(n) + zeroC)
	if w[1] == 'X' {
		f.MaximumK, f.MaximumAt = k, &at
	} else {
		f.MinimumK, f.MinimumAt = k, &at
	}
	return true
}
