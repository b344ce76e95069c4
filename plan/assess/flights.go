package assess

import (
	"reflect"
	"sync"

	"fieldfare/model/air"
	"fieldfare/plan/shoot"
)

// flights are those of a take, worked out once for each air and wind of the forecast, and those of the version before
// as long as it flies alike. Versions share the lock, since they share flights.
type flights struct {
	mu        *sync.Mutex
	all, were map[airKey]*flown
	last      struct { // asked for last
		key   airKey
		flown *flown
	}
}

// airKey is the part of a weather on which a flight depends.
type airKey struct{ wind, gust, from, temperature, dew, pressure air.Reading }

func newFlights() *flights { return &flights{mu: new(sync.Mutex), all: map[airKey]*flown{}} }

// next are the flights of a version that flies like this one. Those that it does not ask for are let go with this one.
func (f *flights) next() *flights {
	return &flights{mu: f.mu, all: map[airKey]*flown{}, were: f.all}
}

// flownIn works out the flight under a weather.
func (t *Take) flownIn(w air.Weather) *flown {
	key := airKey{w.WindMS, w.GustMS, w.WindFrom, w.TemperatureK, w.DewPointK, w.QNHPa}
	f := t.flights
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.last.flown != nil && f.last.key == key {
		return f.last.flown
	}
	found, ok := f.all[key]
	if !ok {
		if found, ok = f.were[key]; !ok {
			found = t.fly(w)
		}
		f.all[key] = found
	}
	f.last.key, f.last.flown = key, found
	return found
}

// groundless are the parts of a shoot on which no flight hangs once its path and its weather are known; a part that is new
// counts until it is named here.
var groundless = map[string]bool{"Title": true, "Production": true, "Dates": true, "Call": true, "Measures": true, "House": true, "Rules": true,
	"Crew": true, "Contacts": true, "Forecast": true, "Reports": true, "Permissions": true, "Calls": true, "Mitigations": true, "Stunts": true,
	"Stated": true, "Changes": true, "Slates": true}

// passedOver are the kinds of feature on which none hangs likewise: neither falls nor landings look at them.
var passedOver = map[string]bool{shoot.Area: true, shoot.Building: true, shoot.Tree: true, shoot.Mast: true, shoot.Wire: true, shoot.Bridge: true,
	shoot.Road: true, shoot.Rail: true, shoot.Water: true}

// flyAlike reports whether the same slate on the same path in the same air has the same flights, falls and landings in two
// shoots.
func flyAlike(s, o *shoot.Shoot) bool {
	house := func(h shoot.House) shoot.House {
		h.Wind, h.Gust, h.Visibility, h.PeopleDistance, h.CrossingTime, h.LinkMargin = 0, 0, 0, 0, 0, 0
		h.SetupTime, h.LensChange, h.FilterChange, h.LaunchMove, h.WhiteBalanceStep = 0, 0, 0, 0, 0
		return h
	}
	features := func(s *shoot.Shoot) (rest []shoot.Feature) {
		for _, f := range s.Features() {
			if !passedOver[f.Kind] {
				rest = append(rest, f)
			}
		}
		return rest
	}
	return s.Ground() == o.Ground() && house(s.House) == house(o.House) && sameParts(s, o, groundless) &&
		reflect.DeepEqual(s.Kit(), o.Kit()) && reflect.DeepEqual(features(s), features(o))
}
