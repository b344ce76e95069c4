package day

import "fmt"

// clock speaks a time to the minute as the caller's clock shows it, with the
// day's name where there are several: 07:12 on 2026-09-22.
func (p *Problem) clock(s int64) string { return p.speak(s, false) }

// exact is clock to the second.
func (p *Problem) exact(s int64) string { return p.speak(s, true) }

func (p *Problem) speak(s int64, seconds bool) string {
	midnight := func(s int64) int64 { return floorDiv(s+p.offset(s), 86400) }
	date := midnight(s)
	rest := s + p.offset(s) - date*86400
	text := fmt.Sprintf("%02d:%02d", rest/3600, rest/60%60)
	if seconds && rest%60 != 0 {
		text += fmt.Sprintf(":%02d", rest%60)
	}
	if len(p.Days) == 0 || len(p.Days) == 1 && date == midnight(p.Days[0].StartS) {
		return text
	}
	for _, d := range p.Days {
		if s >= d.StartS && s <= d.EndS {
			return text + " on " + d.Name
		}
	}
	for _, d := range p.Days {
		if date == midnight(d.StartS) {
			return text + " on " + d.Name
		}
	}
	days := date - midnight(p.Days[0].StartS)
	way := "after"
	if days < 0 {
		days, way = -days, "before"
	}
	return fmt.Sprintf("%s, %d d %s %s", text, days, way, p.Days[0].Name)
}

func (p *Problem) offset(s int64) int64 {
	var o int64
	for _, c := range p.Clock {
		if s >= c.FromS {
			o = c.OffsetS
		}
	}
	return o
}

// span prints a duration: 95 s, 4 min, 2 h 05 min.
func span(s int64) string {
	switch {
	case s < 60 || s%60 != 0 && s < 600:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		return fmt.Sprintf("%d min", (s+30)/60)
	}
	return fmt.Sprintf("%d h %02d min", s/3600, s%3600/60)
}

// noteClock tells of a clock that changes within a working day.
func (m *model) noteClock() {
	p := m.p
	for i, c := range p.Clock {
		var before int64
		if i > 0 {
			before = p.Clock[i-1].OffsetS
		}
		step := c.OffsetS - before
		for _, d := range p.Days {
			if c.FromS > d.StartS && c.FromS < d.EndS && step != 0 {
				way := "forward"
				if step < 0 {
					way = "back"
				}
				m.notes = append(m.notes, fmt.Sprintf("%s: the clock goes %s by %s at %s; durations and duty are counted in elapsed time, printed times are the clock's",
					d.Name, way, span(max(step, -step)), p.exact(c.FromS-1)))
			}
		}
	}
}
