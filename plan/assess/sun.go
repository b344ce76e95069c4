package assess

import (
	"sync"
	"time"

	"fieldfare/model/sky"
)

// suns keeps the sun's place at each full minute of the dates, which every slate's search asks for.
type suns struct {
	from time.Time
	days []sunDay
}

// sunDay is a stretch of 24 hours.
type sunDay struct {
	once sync.Once
	sun  []sunAt
}

type sunAt struct {
	instant sky.Instant
	sun     sky.Position
}

const (
	dayMinutes = 24 * 60
	sunsAtMost = 62 // stretches: 6 MB; a search over a season asks for each minute once
)

func newSuns(from, until time.Time) suns {
	n := int((until.Sub(from) + 24*time.Hour - 1) / (24 * time.Hour))
	if n < 0 || n > sunsAtMost {
		n = 0
	}
	return suns{from, make([]sunDay, n)}
}

// sunAt returns where the sun stands at an instant.
func (a *surroundings) sunAt(at time.Time) (sky.Instant, sky.Position) {
	since := at.Sub(a.suns.from)
	if k := int(since / (dayMinutes * time.Minute)); since < 0 || since%time.Minute != 0 || k >= len(a.suns.days) {
		x := a.lookUp(at)
		return x.instant, x.sun
	}
	minute := int(since / time.Minute)
	s := &a.suns.days[minute/dayMinutes]
	s.once.Do(func() {
		s.sun = make([]sunAt, dayMinutes)
		first := at.Add(-time.Duration(minute%dayMinutes) * time.Minute)
		for i := range s.sun {
			s.sun[i] = a.lookUp(first.Add(time.Duration(i) * time.Minute))
		}
	})
	x := &s.sun[minute%dayMinutes]
	return x.instant, x.sun
}

func (a *surroundings) lookUp(at time.Time) sunAt {
	instant, _ := sky.At(at) // dates were checked when they were read
	return sunAt{instant, a.almanac.Sun(instant)}
}
