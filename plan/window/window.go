// Package window finds when a slate can be shot: the intervals, to the minute, in which
// no finding that depends on the hour bars the take, and why each begins and ends.
//
// Units: instants in the site's zone, qualities 0 to 1.
// Source: the gates of package assess; this package only searches.
// Validity: a window shorter than one minute is not seen. A take's duration is not taken off the
// end: a window says when a take may start and be in its right light throughout.
//
// Not modelled: whether crew and packs are free; that is the day's business.
package window

import (
	"context"
	"time"

	"fieldfare/plan/assess"
)

// Step is the resolution of the search.
const Step = time.Minute

// Window is an interval in which the slate may start.
type Window struct {
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	Begins string    `json:"begins"` // why it does not begin earlier
	Ends   string    `json:"ends"`   // why it does not last longer
	// Quality is how good the light is over the window, 0 to 1, at up to nine times evenly spread.
	Quality []Quality `json:"quality"`
	// Unknown lists what could not be checked in the window.
	Unknown []string `json:"unknown"`
}

// Quality is how good the light is at an instant.
type Quality struct {
	At   time.Time `json:"at"`
	Good float64   `json:"good"`
}

// Search is the result for one slate over a span.
type Search struct {
	Windows []Window `json:"windows"`
	// Never names the gates that were shut for the whole span, and Mostly those shut for
	// the most minutes, each with its number: why there is no window, or few.
	Never  []string `json:"never"`
	Mostly []Shut   `json:"mostly"`
}

// Shut says for how many minutes a gate was shut.
type Shut struct {
	Gate    string `json:"gate"`
	Minutes int    `json:"minutes"`
}

// Find searches [from, to) minute by minute. It stops early with ctx's error.
func Find(ctx context.Context, t *assess.Take, from, to time.Time) (Search, error) {
	from = from.Truncate(Step)
	minutes := int(to.Sub(from) / Step)
	var out Search
	gates := t.Gates()
	shut := make([]int, len(gates))
	var before assess.Gates
	open := -1
	zone := t.Zone()
	at := func(i int) time.Time { return from.Add(time.Duration(i) * Step).In(zone) }
	for i := 0; i <= minutes; i++ {
		if i%256 == 0 && ctx.Err() != nil {
			return out, ctx.Err()
		}
		now := assess.Gates(^uint64(0))
		if i < minutes {
			now = t.Shut(at(i))
			for g := range gates {
				if now.Has(g) {
					shut[g]++
				}
			}
		}
		switch {
		case now == 0 && open < 0:
			open = i
			out.Windows = append(out.Windows, Window{From: at(i), Begins: t.Edge(before, at(i), i == 0, true)})
		case now != 0 && open >= 0:
			w := &out.Windows[len(out.Windows)-1]
			w.To, w.Ends = at(i), t.Edge(now, at(i), i == minutes, false)
			w.judge(t)
			open = -1
		}
		before = now
	}
	for g, name := range gates {
		switch {
		case minutes > 0 && shut[g] == minutes:
			out.Never = append(out.Never, name)
		case shut[g] > 0:
			out.Mostly = append(out.Mostly, Shut{name, shut[g]})
		}
	}
	return out, nil
}

// judge samples the light's quality over the window.
func (w *Window) judge(t *assess.Take) {
	const most = 9
	span := w.To.Sub(w.From)
	n := min(most, int(span/Step)+1)
	for i := range n {
		at := w.From
		if n > 1 {
			at = at.Add(span * time.Duration(i) / time.Duration(n-1)).Truncate(Step)
		}
		w.Quality = append(w.Quality, Quality{at, t.LightQuality(at)})
	}
	w.Unknown = t.Unchecked(w.From.Add(span / 2))
}
