// Package assess answers one question: can this shot be flown and filmed at this
// time? An Assessment is a pure function of the shoot folder, the slate and the
// instant: numbers of every model, and findings where a number meets a limit.
//
// Units: SI inside; the JSON keys of Numbers carry theirs. Times are instants.
// Source: each finding names its own basis. Every other number comes from one
// function of package model, called here and nowhere else.
// Validity: that of the models. A limit that cannot be checked gives an unknown finding.
//
// Not modelled: traffic of other aircraft, interference by other transmitters, people
// who walk, turbulence behind ridges and buildings beyond the stated gusts.
package assess

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/terrain"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Assessment is what is known of one slate at one instant.
type Assessment struct {
	Slate    string    `json:"slate"`
	Rig      string    `json:"rig"`
	At       time.Time `json:"at"`
	Numbers  Numbers   `json:"numbers"`
	Findings []Finding `json:"findings"`
}

// Clear reports whether no finding bars the take.
func (a Assessment) Clear() bool { return !Has(a.Findings, Stop) }

// Assessor holds every slate of a shoot made ready. It is safe for concurrent use.
type Assessor struct {
	*surroundings
	takes map[string]*Take // by slate
	// fliesAlike: the shoot of the version before has the same flights on the same paths.
	fliesAlike bool
}

// surroundings are what all slates of a shoot look at. They know of no take, so that one that is taken over into
// later versions keeps none of the others alive.
type surroundings struct {
	Shoot     *shoot.Shoot
	obstacles []move.Obstacle
	subjects  map[string]move.Subject
	points    map[string]geo.Vec3
	almanac   *sky.Almanac
	suns      suns
	place     sky.Place
	skylines  *skylines
}

// New prepares a shoot: obstacles, subjects, the almanac of its dates, and every slate's
// path. It uses every core and stops early when ctx ends.
func New(ctx context.Context, s *shoot.Shoot) (*Assessor, error) {
	a, _, err := Renew(ctx, s, nil)
	return a, err
}

func build(ctx context.Context, s *shoot.Shoot, was *Assessor, kept map[string]*Take) (*Assessor, error) {
	a := &Assessor{&surroundings{Shoot: s, obstacles: obstacles(s), subjects: subjects(s), points: points(s), skylines: newSkylines(s, was)}, map[string]*Take{}, was != nil && flyAlike(s, was.Shoot)}
	if err := a.Cover(s.Dates[0], s.Dates[len(s.Dates)-1]); err != nil {
		return nil, err
	}
	takes := make([]*Take, len(s.Slates))
	err := Each(ctx, len(takes), func(i int) error {
		if takes[i] = kept[s.Slates[i].Slate]; takes[i] != nil {
			return nil
		}
		t, err := a.prepare(ctx, &s.Slates[i], was)
		if err != nil {
			return fmt.Errorf("slate %s: %w", s.Slates[i].Slate, err)
		}
		takes[i] = t
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, t := range takes {
		a.takes[t.Slate.Slate] = t
	}
	old := map[string]bool{}
	for slate := range kept {
		old[slate] = true
	}
	a.whiteBalance(old)
	a.match(old)
	a.continuity(old)
	a.skylines.forget()
	return a, nil
}

// Take returns the prepared slate, or nil for a name the shoot does not have.
func (a *Assessor) Take(slate string) *Take { return a.takes[slate] }

// Takes returns every slate in the order of the shoot file.
func (a *Assessor) Takes() []*Take {
	out := make([]*Take, len(a.Shoot.Slates))
	for i := range a.Shoot.Slates {
		out[i] = a.takes[a.Shoot.Slates[i].Slate]
	}
	return out
}

// Almanac returns the sun and moon at the site's origin over the shooting dates.
func (a *surroundings) Almanac() *sky.Almanac { return a.almanac }

// Obstacles returns the solids of the site.
func (a *surroundings) Obstacles() []move.Obstacle { return a.obstacles }

// Skyline returns the horizon that the terrain makes around a point, from a cache.
func (a *surroundings) Skyline(p geo.Vec3) terrain.Skyline { return a.skylines.of(a.Shoot, p) }

// Cover prepares sun and moon from one date to another in place of the shooting dates, for searches
// over seasons.
func (a *surroundings) Cover(first, last shoot.Date) error {
	s := a.Shoot
	origin := s.Frame().Origin()
	ground, _ := s.Ground().HeightAt(0, 0)
	place, err := sky.NewPlace(origin.Lat, origin.Lon, ground)
	if err != nil {
		return err
	}
	from, err := sky.At(first.Midnight(s.Location()))
	if err != nil {
		return err
	}
	to, err := sky.At(last.Next().Midnight(s.Location()))
	if err != nil {
		return err
	}
	a.place = place
	a.almanac, err = sky.NewAlmanac(place, from, to)
	a.suns = newSuns(first.Midnight(s.Location()), last.Next().Midnight(s.Location()))
	return err
}

// Over prepares the same shoot with sun and moon over other dates, for searches over seasons. Paths and horizons, which no
// date changes, are taken over; the rest is worked out anew, so that the answer is that of New and Cover, whatever was
// asked before. It stops early when ctx ends.
func (a *Assessor) Over(ctx context.Context, first, last shoot.Date) (*Assessor, error) {
	other, err := build(ctx, a.Shoot, a, nil)
	if err != nil {
		return nil, err
	}
	return other, other.Cover(first, last)
}

// weatherAt returns the hardest weather stated for the instant.
func (a *surroundings) weatherAt(t time.Time) (air.Weather, bool) { return a.Shoot.WeatherAt(t) }

// Each runs f for 0 to n-1 on every core and returns the error of the lowest index. It stops early
// when ctx ends, and then returns the context's error unless f returned one.
func Each(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				errs[i] = f(i)
			}
		}()
	}
	var stopped error
feed:
	for i := range n {
		select {
		case next <- i:
		case <-ctx.Done():
			stopped = ctx.Err()
			break feed
		}
	}
	close(next)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return stopped
}
