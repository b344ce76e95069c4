package assess

import (
	"math"
	"strings"

	"fieldfare/model/air"
	"fieldfare/model/rotor"
)

// breeze is the air that the aircraft meets along the take, each quantity at its hardest.
type breeze struct {
	headwindMS, headwindAt   float64
	tailwindMS               float64
	crosswindMS, crosswindAt float64
	airspeedMS, airspeedAt   float64
	gustMS                   float64 // airspeed in a gust
	lean, leanAt             float64 // rad
	gustLean                 float64 // rad, steady in the gust
	pushM                    float64
	vortexAt                 float64 // s, NaN for never
}

// meet looks at wind, lean and wake along the samples, whose airspeeds are against the mean wind.
func (t *Take) meet(f *flown, samples []rotor.Sample, points []rotor.Point) {
	b := breeze{vortexAt: math.NaN()}
	extra := f.gust.Sub(f.wind)
	moved := false
	for i, s := range samples {
		if track := t.samples[i].Air; track.Horizontal() > hovering {
			head, cross := air.Components(f.wind, track)
			if !moved || head > b.headwindMS {
				b.headwindMS, b.headwindAt = head, s.T
			}
			moved = true
			b.tailwindMS = math.Max(b.tailwindMS, -head)
			if math.Abs(cross) > b.crosswindMS {
				b.crosswindMS, b.crosswindAt = math.Abs(cross), s.T
			}
		}
		if v := s.Air.Norm(); v > b.airspeedMS {
			b.airspeedMS, b.airspeedAt = v, s.T
		}
		p := &points[i]
		if p.Vortex && math.IsNaN(b.vortexAt) {
			b.vortexAt = s.T
		}
		if lean := float64(p.Lean); lean > b.lean {
			b.lean, b.leanAt = lean, s.T
		}
		b.gustMS = math.Max(b.gustMS, s.Air.Sub(extra).Norm())
		b.gustLean = math.Max(b.gustLean, float64(f.flight.Lean(s.Air.Sub(extra), s.Acc)))
	}
	if !moved {
		b.headwindMS = f.windMS // on the spot any heading may meet it
	}
	b.pushM = t.push(f, b.airspeedMS)
	f.breeze = b
}

// hovering is the speed in m/s below which a track has no direction.
const hovering = 0.5

// push is how far a gust carries the aircraft before the pilot reacts: the drag that the gust adds, acting
// for the reaction time, and never farther than the gust itself goes.
func (t *Take) push(f *flown, airspeedMS float64) float64 {
	return blown(f.density, t.rotors.FlatPlateM2, t.massKg, airspeedMS, math.Max(0, f.gustMS-f.windMS), float64(t.shoot.House.ReactionTime))
}

// blown is push in plain numbers. Without a drag area the aircraft goes as far as the gust does.
func blown(density, dragM2, massKg, airspeedMS, excessMS, reactionS float64) float64 {
	far := excessMS * reactionS
	if dragM2 <= 0 || massKg <= 0 {
		return far
	}
	added := (airspeedMS+excessMS)*(airspeedMS+excessMS) - airspeedMS*airspeedMS
	accel := density * dragM2 * added / 2 / massKg
	return math.Min(far, accel*reactionS*reactionS/2)
}

// or keeps the harder of two.
func (b breeze) or(c breeze) breeze {
	harder := func(v, at *float64, w, wAt float64) {
		if w > *v {
			*v, *at = w, wAt
		}
	}
	if b == (breeze{}) {
		return c
	}
	harder(&b.headwindMS, &b.headwindAt, c.headwindMS, c.headwindAt)
	harder(&b.crosswindMS, &b.crosswindAt, c.crosswindMS, c.crosswindAt)
	harder(&b.airspeedMS, &b.airspeedAt, c.airspeedMS, c.airspeedAt)
	harder(&b.lean, &b.leanAt, c.lean, c.leanAt)
	b.tailwindMS, b.gustMS = math.Max(b.tailwindMS, c.tailwindMS), math.Max(b.gustMS, c.gustMS)
	b.gustLean, b.pushM = math.Max(b.gustLean, c.gustLean), math.Max(b.pushM, c.pushM)
	if math.IsNaN(b.vortexAt) || c.vortexAt < b.vortexAt {
		b.vortexAt = c.vortexAt
	}
	return b
}

func (f *flown) breezeNumbers() *BreezeNumbers {
	if !f.windKnown || f.err != nil {
		return nil
	}
	b := f.breeze
	return &BreezeNumbers{HeadwindMS: b.headwindMS, HeadwindAtS: b.headwindAt, TailwindMS: b.tailwindMS, CrosswindMS: b.crosswindMS, CrosswindAtS: b.crosswindAt,
		AirspeedMS: b.airspeedMS, AirspeedAtS: b.airspeedAt, GustMS: b.gustMS, LeanDeg: b.lean * 180 / math.Pi, LeanAtS: b.leanAt, PushM: b.pushM, AnyDirection: f.anyDirection}
}

// windGates shut when the path asks for more than the airframe has in the hour's wind.
func (t *Take) windGates() []gate {
	top, most := float64(t.airframe.LevelSpeed), float64(t.airframe.TiltLimit)
	return []gate{
		{name: "way home", shut: func(m *moment) bool { return m.flown.noWay != nil },
			tell: func(m *moment) Finding {
				value := "unknown"
				if m.flown.noWay != nil {
					value = m.flown.noWay.Error()
				}
				return t.timely(Stop, TopicFlight, "way to the take and home against the wind", value, speed(top)+" through the air", "maker's limit; forecast", "wait for less wind")
			}},
		{name: "point of no return", quiet: true, shut: func(m *moment) bool { return m.flown.packErr == nil && !math.IsNaN(m.flown.noReturn) },
			tell: func(m *moment) Finding { return t.noReturn(m.flown) }},
		{name: "pack current", shut: func(m *moment) bool { return m.flown.overdrawn != nil },
			tell: func(m *moment) Finding {
				value := ""
				if m.flown.overdrawn != nil {
					value = strings.ReplaceAll(m.flown.overdrawn.Error(), "\n", "; ")
				}
				return t.timely(Stop, TopicFlight, "current at the hardest moment of the take", value, "what the pack may give", "maker's limit; power along the path", "ease the acceleration, lighten the rig, or fly stronger packs")
			}},
		{name: "shake", quiet: true, shut: func(m *moment) bool { return m.flown.shaky },
			tell: func(m *moment) Finding {
				hold, _ := t.steady(m.flown, t.ShutterS())
				return t.timely(Stop, TopicPicture, shakeWhat, hold.Value, hold.Limit, hold.Basis, hold.Mend)
			}},
		{name: "gimbal torque", quiet: true, shut: func(m *moment) bool { return m.flown.strains },
			tell: func(m *moment) Finding {
				for _, e := range t.efforts(m.flown, nil) {
					if e.known && !e.enough {
						return t.strain(e)
					}
				}
				return t.timely(Stop, TopicBalance, "gimbal torque", "too little", "", "maker's limit", "wait for less wind")
			}},
		{name: "airspeed", shut: func(m *moment) bool { return m.flown.breeze.airspeedMS > top*(1+slack) },
			tell: func(m *moment) Finding {
				b := m.flown.breeze
				f := t.timely(Stop, TopicFlight, "airspeed against the wind", speed(b.airspeedMS), speed(top), "maker's limit; path speed less wind", "fly slower, with the wind, or in less wind")
				f.AtS = known(b.airspeedAt)
				return f
			}},
		{name: "lean", shut: func(m *moment) bool { return m.flown.breeze.lean > most*(1+slack)+leanSlack },
			tell: func(m *moment) Finding {
				b := m.flown.breeze
				f := t.timely(Stop, TopicFlight, "lean against wind and acceleration", degrees1(b.lean*180/math.Pi), degrees1(most*180/math.Pi), "maker's limit; thrust carries weight, acceleration and drag", "fly slower or in less wind")
				f.AtS = known(b.leanAt)
				return f
			}},
	}
}

// slack lets rounding pass; leanSlack, in rad, what the path solver leaves.
const (
	slack     = 0.01
	leanSlack = 0.01
)

// tellBreeze adds the findings of wind along the path.
func (t *Take) tellBreeze(m *moment, a *Assessment) {
	f := m.flown
	b := f.breeze
	if !f.windKnown {
		a.add(t.timely(Unknown, TopicFlight, "energy against the wind", "unknown; still air assumed", "", "forecast", "enter wind in the forecast"))
		return
	}
	if f.anyDirection {
		a.add(t.timely(Unknown, TopicFlight, "wind direction", "unknown; the worst of eight sides is taken", "", "forecast", "enter direction in the forecast"))
	}
	if top := float64(t.airframe.LevelSpeed); b.gustMS > top*(1+slack) && b.airspeedMS <= top*(1+slack) {
		f := t.timely(Caution, TopicFlight, "airspeed in a gust", speed(b.gustMS), speed(top), "maker's limit; path speed less gust", "a gust will carry it off its path: fly slower or in less wind")
		f.AtS = known(b.airspeedAt)
		a.add(f)
	}
	if most := float64(t.airframe.TiltLimit); b.gustLean > most+leanSlack && b.lean <= most+leanSlack {
		a.add(t.timely(Caution, TopicFlight, "lean in a gust", degrees1(b.gustLean*180/math.Pi), degrees1(most*180/math.Pi), "maker's limit; thrust carries weight, acceleration and drag", "fly slower or in less wind"))
	}
	switch {
	case t.shoot.House.ReactionTime == 0 && f.gustMS > f.windMS:
		a.add(t.timely(Unknown, TopicFlight, "push by a gust", "unknown", "", "house rule", "add reaction_time: to house:"))
	case t.shoot.House.PositionError > 0 && b.pushM > float64(t.shoot.House.PositionError)+t.driftM:
		a.add(t.timely(Caution, TopicFlight, "push by a gust before the pilot reacts", metres(b.pushM), metres(float64(t.shoot.House.PositionError)+t.driftM), "drag that the gust adds over the reaction time; position error and drift that the path keeps clear by", "keep farther from obstacles, or wait for less wind"))
	}
}
