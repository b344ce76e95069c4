package window

import (
	"context"
	"math"
	"sort"
	"sync"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// LightDay is one date's light for a slate, whatever the weather.
type LightDay struct {
	Date    string   `json:"date"`
	Minutes int      `json:"minutes"` // in which the wanted light stands
	Best    float64  `json:"best"`    // the best quality, 0 to 1
	Windows []Window `json:"windows"`
}

// Season searches every minute of the dates from first to last, both included, on every core.
// Progress, if given, is called with the number of days done.
func Season(ctx context.Context, t *assess.Take, first, last shoot.Date, progress func(done, all int)) ([]LightDay, error) {
	var dates []shoot.Date
	for d := first; !last.Before(d); d = d.Next() {
		dates = append(dates, d)
	}
	days := make([]LightDay, len(dates))
	var mu sync.Mutex
	done := 0
	err := assess.Each(ctx, len(dates), func(i int) error {
		days[i] = lightDay(t, dates[i])
		mu.Lock()
		defer mu.Unlock()
		done++
		if progress != nil {
			progress(done, len(dates))
		}
		return nil
	})
	return days, err
}

func lightDay(t *assess.Take, date shoot.Date) LightDay {
	zone := t.Zone()
	from, to := date.Midnight(zone), date.Next().Midnight(zone)
	day := LightDay{Date: date.String(), Windows: []Window{}}
	minutes := int(to.Sub(from) / Step)
	at := func(i int) time.Time { return from.Add(time.Duration(i) * Step) }
	open := -1
	var before assess.Gates
	for i := 0; i <= minutes; i++ {
		now := assess.Gates(math.MaxUint64)
		if i < minutes {
			now = t.Dark(at(i))
		}
		switch {
		case now == 0 && open < 0:
			open = i
			day.Windows = append(day.Windows, Window{From: at(i).In(zone), Begins: t.Edge(before, at(i), i == 0, true)})
		case now != 0 && open >= 0:
			w := &day.Windows[len(day.Windows)-1]
			w.To, w.Ends = at(i).In(zone), t.Edge(now, at(i), i == minutes, false)
			day.Minutes += i - open
			for _, q := range []int{open, (open + i) / 2, i - 1} {
				good := t.LightQuality(at(q))
				w.Quality = append(w.Quality, Quality{at(q).In(zone), good})
				day.Best = math.Max(day.Best, good)
			}
			open = -1
		}
		before = now
	}
	return day
}

// LightOnly says what the days of a season leave out.
const LightOnly = "Light only: weather, people and airspace are not looked at."

// Best are the top days with any light, the best first, and how many days have none.
func Best(days []LightDay, top int) (best []LightDay, without int) {
	best = []LightDay{}
	for _, d := range Rank(days) {
		if d.Minutes == 0 {
			without++
		} else if len(best) < top {
			best = append(best, d)
		}
	}
	return best, without
}

// Rank sorts days by how long their light stands, the best quality deciding between equals.
func Rank(days []LightDay) []LightDay {
	ranked := append([]LightDay(nil), days...)
	sort.SliceStable(ranked, func(i, j int) bool {
		if ranked[i].Minutes != ranked[j].Minutes {
			return ranked[i].Minutes > ranked[j].Minutes
		}
		return ranked[i].Best > ranked[j].Best
	})
	return ranked
}
