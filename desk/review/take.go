package review

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

func (r *Report) take(f *Flight, t Take, line *timeline) error {
	if len(t.Path) < 2 {
		return errors.New("no planned path")
	}
	from, to := line.from-t.Path[0].T, line.to-t.Path[len(t.Path)-1].T
	if !t.Cue.IsZero() {
		cue := float64(t.Cue.UnixMilli()) / 1000
		from, to = max(from, cue-cueWindowS), min(to, cue+cueWindowS)
	}
	a, err := line.align([]timed{{path: t.Path}}, from, to)
	if err != nil {
		return err
	}
	k := TakeReport{Slate: t.Slate, Take: t.Take, Start: seconds(a.S)}
	if !t.Cue.IsZero() {
		d := a.S - float64(t.Cue.UnixMilli())/1000
		k.AfterCueS = &d
	}
	if a.Ambiguous {
		r.find(Finding{Severity: "unknown", Slate: t.Slate, What: fmt.Sprintf("take %d fits the recording nearly as well %.0f s away: errors along the path cannot be told from a late start", t.Take, a.NextS-a.S), Mend: "log when each take starts"})
	}
	step := max(0.1, (t.Path[len(t.Path)-1].T-t.Path[0].T)/2000)
	for at := t.Path[0].T; at <= t.Path[len(t.Path)-1].T+1e-9; at += step {
		p := plannedAt(t.Path, at)
		x, ok := line.at(a.S + at)
		if !ok {
			k.Missing++
			continue
		}
		w := compare(p, x, f.Ground, t.Subject)
		w.ClearanceM, w.PeopleM = f.around(&x)
		k.Rows = append(k.Rows, w)
	}
	if len(k.Rows) == 0 {
		return errors.New("the recording has a gap over the whole take")
	}
	if k.Missing > 0 {
		r.find(Finding{Severity: "unknown", Slate: t.Slate, What: fmt.Sprintf("take %d: %d of %d moments lie in gaps of the recording", t.Take, k.Missing, k.Missing+len(k.Rows))})
	}
	pick := func(v func(*Row) (float64, bool)) *Spread { return spread(k.Rows, v) }
	k.Along = *pick(func(w *Row) (float64, bool) { return w.AlongM, true })
	k.Across = *pick(func(w *Row) (float64, bool) { return w.AcrossM, true })
	k.Up = pick(func(w *Row) (float64, bool) { return value(w.UpM) })
	k.Speed = *pick(func(w *Row) (float64, bool) { return w.SpeedMS - w.PlannedSpeedMS, true })
	k.AimDeg = pick(func(w *Row) (float64, bool) { return value(w.AimErrorDeg) })
	k.Size = pick(func(w *Row) (float64, bool) { v, ok := value(w.SizeRatio); return v - 1, ok })
	k.DistanceM = *pick(func(w *Row) (float64, bool) {
		return w.FromPlanM(), true
	})
	if k.AimDeg == nil {
		r.find(Finding{Severity: "unknown", Slate: t.Slate, What: "framing as flown is not known: the recording holds no heading, pan and tilt"})
	}
	if k.Up == nil {
		r.find(Finding{Severity: "unknown", Slate: t.Slate, What: "heights as flown are not known"})
	}
	r.light(&t, &k)
	k.table(f, &t)
	r.Takes = append(r.Takes, k)
	return nil
}

// around measures a fix's distances to obstacles and people, where they are known.
func (f *Flight) around(x *Fix) (clearance, people *float64) {
	if f.Clearance != nil && x.Has&track.Height != 0 {
		if d, ok := f.Clearance(x.Pos); ok {
			clearance = &d
		}
	}
	if f.People != nil {
		if d, ok := f.People(x.Pos, x.at()); ok {
			people = &d
		}
	}
	return clearance, people
}

// FromPlanM is the distance from the planned position at the same moment; level only where the height
// was not recorded.
func (w *Row) FromPlanM() float64 {
	up, _ := value(w.UpM)
	return math.Hypot(math.Hypot(w.AlongM, w.AcrossM), up)
}

// cueWindowS is how far from its logged cue a take is sought.
const cueWindowS = 30

func (r *Report) light(t *Take, k *TakeReport) {
	if t.Light == nil || t.PlannedAt.IsZero() {
		r.find(Finding{Severity: "unknown", Slate: t.Slate, What: "light as flown against planned is not known"})
		return
	}
	was, ok1 := t.Light(k.Start)
	plan, ok2 := t.Light(t.PlannedAt)
	if !ok1 || !ok2 || plan.IlluminanceLx <= 0 {
		return
	}
	ratio := was.IlluminanceLx / plan.IlluminanceLx
	moved := angleBetween(toward(was.SunAzimuth, was.SunHeight), toward(plan.SunAzimuth, plan.SunHeight)) * 180 / math.Pi
	k.LightRatio, k.SunMoved = &ratio, &moved
}

// compare sets one planned moment beside one flown.
func compare(p Planned, x Fix, ground Ground, subject func(float64) (geo.Vec3, bool)) Row {
	d := x.Pos.Sub(p.Pos)
	w := Row{T: p.T, SpeedMS: x.Vel.Norm(), PlannedSpeedMS: p.Vel.Norm(), PlannedHeightM: p.Pos.Z, flown: x.Pos, planned: p.Pos}
	if h := p.Vel.Horizontal(); h > 0.3 {
		e := geo.Vec3{X: p.Vel.X / h, Y: p.Vel.Y / h}
		w.AlongM, w.AcrossM = d.Dot(e), d.X*e.Y-d.Y*e.X
	} else {
		w.AcrossM = d.Horizontal() // no direction of travel: the plain level distance
	}
	high := x.Has&track.Height != 0
	if high {
		up, z := d.Z, x.Pos.Z
		w.UpM, w.HeightM = &up, &z
		if ground != nil {
			if g, ok := ground.HeightAt(x.Pos.X, x.Pos.Y); ok {
				a := z - g
				w.AboveGroundM = &a
			}
		}
	} else {
		w.SpeedMS, w.PlannedSpeedMS = x.Vel.Horizontal(), p.Vel.Horizontal()
	}
	aimed := x.Has&(track.Yaw|track.Tilt) == track.Yaw|track.Tilt
	planAz, flownAz := p.Yaw+p.Pan, x.Yaw+x.Pan
	var at geo.Vec3
	seen := false
	if subject != nil {
		at, seen = subject(p.T)
	}
	if seen && high {
		ratio := at.Sub(p.Pos).Norm() / max(at.Sub(x.Pos).Norm(), 0.1)
		w.SizeRatio = &ratio
	}
	switch {
	case aimed && seen && high:
		v := inFrame(at.Sub(x.Pos), flownAz, x.Tilt).Sub(inFrame(at.Sub(p.Pos), planAz, p.Tilt)).Norm() * 180 / math.Pi
		w.AimErrorDeg = &v
	case aimed:
		v := angleBetween(toward(flownAz, x.Tilt), toward(planAz, p.Tilt)) * 180 / math.Pi
		w.AimErrorDeg = &v
	}
	return w
}

// inFrame is a direction's angle right of and above the camera's axis, in radians.
func inFrame(d geo.Vec3, az, tilt unit.Angle) geo.Vec3 {
	axis := toward(az, tilt)
	right := geo.Vec3{X: math.Cos(float64(az)), Y: -math.Sin(float64(az))}
	up := right.Cross(axis)
	return geo.Vec3{X: math.Atan2(d.Dot(right), d.Dot(axis)), Y: math.Atan2(d.Dot(up), math.Hypot(d.Dot(axis), d.Dot(right)))}
}

// toward is the unit vector of an azimuth and an elevation.
func toward(az, el unit.Angle) geo.Vec3 {
	s, c := math.Sincos(float64(az))
	se, ce := math.Sincos(float64(el))
	return geo.Vec3{X: s * ce, Y: c * ce, Z: se}
}

func angleBetween(a, b geo.Vec3) float64 { return math.Atan2(a.Cross(b).Norm(), a.Dot(b)) }

func value(p *float64) (float64, bool) {
	if p == nil {
		return 0, false
	}
	return *p, true
}

func spread(rows []Row, v func(*Row) (float64, bool)) *Spread {
	var s Spread
	n := 0.0
	for i := range rows {
		x, ok := v(&rows[i])
		if !ok {
			continue
		}
		n++
		s.Mean += x
		s.RMS += x * x
		if math.Abs(x) > math.Abs(s.Max) {
			s.Max, s.At = x, rows[i].T
		}
	}
	if n == 0 {
		return nil
	}
	s.Mean /= n
	s.RMS = math.Sqrt(s.RMS / n)
	return &s
}

func plannedAt(path []Planned, t float64) Planned {
	i := search(len(path), func(i int) bool { return path[i].T > t })
	if i == 0 {
		return path[0]
	}
	if i == len(path) {
		return path[len(path)-1]
	}
	a, b := &path[i-1], &path[i]
	k := (t - a.T) / (b.T - a.T)
	return Planned{T: t, Pos: a.Pos.Lerp(b.Pos, k), Vel: a.Vel.Lerp(b.Vel, k), Yaw: turn(a.Yaw, b.Yaw, k), Pan: turn(a.Pan, b.Pan, k), Tilt: turn(a.Tilt, b.Tilt, k)}
}

// turn goes the short way from a to b.
func turn(a, b unit.Angle, k float64) unit.Angle {
	return a + unit.Angle(k*math.Remainder(float64(b-a), 2*math.Pi))
}

func search(n int, after func(int) bool) int {
	lo, hi := 0, n
	for lo < hi {
		if m := (lo + hi) / 2; after(m) {
			hi = m
		} else {
			lo = m + 1
		}
	}
	return lo
}

func seconds(unixS float64) time.Time { return (&Fix{UnixS: unixS}).at() }
