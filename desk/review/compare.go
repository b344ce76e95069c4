package review

import (
	"math"
	"time"

	"fieldfare/model/geo"
)

// Compared is one number of a take as planned and as flown; nil is unknown.
type Compared struct {
	What    string   `json:"what"`
	Unit    string   `json:"unit"`
	Planned *float64 `json:"planned"`
	Flown   *float64 `json:"flown"`
}

// extreme keeps the largest (sign +1) or smallest (sign -1) of the values it is shown, and is unknown
// once one of them was.
type extreme struct {
	sign   float64
	value  *float64
	broken bool
}

func (e *extreme) see(v float64, ok bool) {
	if !ok || math.IsNaN(v) || math.IsInf(v, 0) {
		e.broken = true
		return
	}
	if e.value == nil || e.sign*v > e.sign**e.value {
		e.value = &v
	}
}

func (e *extreme) known() *float64 {
	if e.broken {
		return nil
	}
	return e.value
}

// table sets the take's plan and flight side by side, number by number.
func (k *TakeReport) table(f *Flight, t *Take) {
	type pair struct{ planned, flown extreme }
	both := func(sign float64) *pair { return &pair{extreme{sign: sign}, extreme{sign: sign}} }
	top, high, low, clear, people := both(1), both(1), both(-1), both(-1), both(-1)
	var meanPlanned, meanFlown float64
	above := func(p geo.Vec3) (float64, bool) {
		if f.Ground == nil {
			return 0, false
		}
		z, ok := f.Ground.HeightAt(p.X, p.Y)
		return p.Z - z, ok
	}
	for i := range k.Rows {
		w := &k.Rows[i]
		top.planned.see(w.PlannedSpeedMS, true)
		top.flown.see(w.SpeedMS, true)
		meanPlanned, meanFlown = meanPlanned+w.PlannedSpeedMS, meanFlown+w.SpeedMS
		h, ok := above(w.planned)
		high.planned.see(h, ok)
		low.planned.see(h, ok)
		h, ok = value(w.AboveGroundM)
		high.flown.see(h, ok)
		low.flown.see(h, ok)
		ok = f.Clearance != nil
		if h = 0; ok {
			h, ok = f.Clearance(w.planned)
		}
		clear.planned.see(h, ok)
		clear.flown.see(value(w.ClearanceM))
		ok = f.People != nil
		if h = 0; ok {
			h, ok = f.People(w.planned, k.Start.Add(time.Duration(w.T*1e9)))
		}
		people.planned.see(h, ok)
		people.flown.see(value(w.PeopleM))
	}
	n := float64(len(k.Rows))
	meanPlanned, meanFlown = meanPlanned/n, meanFlown/n
	add := func(what, unit string, planned, flown *float64) {
		k.Compared = append(k.Compared, Compared{what, unit, planned, flown})
	}
	add("mean speed", "m/s", &meanPlanned, &meanFlown)
	add("top speed", "m/s", top.planned.known(), top.flown.known())
	add("highest above ground", "m", high.planned.known(), high.flown.known())
	add("lowest above ground", "m", low.planned.known(), low.flown.known())
	add("least clearance", "m", clear.planned.known(), clear.flown.known())
	add("nearest people", "m", people.planned.known(), people.flown.known())
	var was, plan Light
	var flown, planned bool
	if t.Light != nil {
		was, flown = t.Light(k.Start)
		if !t.PlannedAt.IsZero() {
			plan, planned = t.Light(t.PlannedAt)
		}
	}
	light := func(what, unit string, of func(Light) float64) {
		var p, q *float64
		if planned {
			v := of(plan)
			p = &v
		}
		if flown {
			v := of(was)
			q = &v
		}
		add(what, unit, p, q)
	}
	light("light on the subject", "lx", func(l Light) float64 { return l.IlluminanceLx })
	light("sun's height", "deg", func(l Light) float64 { return l.SunHeight.Deg() })
	light("sun's azimuth", "deg", func(l Light) float64 { return math.Mod(l.SunAzimuth.Deg()+360, 360) })
}
