package day

import "fmt"

// clock prints a time as the caller's clock shows it: d1 07:12.
func (p *Problem) clock(s int64) string {
	local := s + p.offset(s)
	day := floorDiv(local, 86400)
	var first int64
	if len(p.Days) > 0 {
		first = floorDiv(p.Days[0].StartS+p.offset(p.Days[0].StartS), 86400)
	}
	rest := local - day*86400
	text := fmt.Sprintf("%02d:%02d", rest/3600, rest/60%60)
	if rest%60 != 0 {
		text += fmt.Sprintf(":%02d", rest%60)
	}
	if len(p.Days) > 1 || day != first {
		text = fmt.Sprintf("day %d %s", day-first+1, text)
	}
	return text
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
					d.Name, way, span(max(step, -step)), p.clock(c.FromS-1)))
			}
		}
	}
}
