package review

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fieldfare/desk/track"
	"fieldfare/model/geo"
)

// smooth sets each fix's velocity by fitting a parabola in time to the fixes within half
// a second, or to five fixes where they are sparser (Savitzky and Golay 1964, for uneven
// times; at a gap the window stops).
func smooth(f []Fix) {
	const half = 0.5
	for i := range f {
		lo, hi := i, i
		for lo > 0 && !f[lo].broken && (f[i].UnixS-f[lo-1].UnixS <= half+1e-6 || i-lo < 2) {
			lo--
		}
		for hi+1 < len(f) && !f[hi+1].broken && (f[hi+1].UnixS-f[i].UnixS <= half+1e-6 || hi-i < 2) {
			hi++
		}
		f[i].Vel = slope(f[lo:hi+1], f[i].UnixS)
		if f[i].Has&track.Height == 0 {
			f[i].Vel.Z = 0
		}
	}
}

// slope is the derivative at t of the parabola (the line, for fewer than four points)
// that fits the fixes best.
func slope(f []Fix, t float64) geo.Vec3 {
	if len(f) < 2 {
		return geo.Vec3{}
	}
	var s1, s2, s3, s4 float64
	var y, ty, ty2 geo.Vec3
	n := float64(len(f))
	for i := range f {
		u := f[i].UnixS - t
		d := f[i].Pos.Sub(f[0].Pos)
		s1, s2, s3, s4 = s1+u, s2+u*u, s3+u*u*u, s4+u*u*u*u
		y, ty, ty2 = y.Add(d), ty.Add(d.Scale(u)), ty2.Add(d.Scale(u*u))
	}
	if len(f) < 4 {
		det := n*s2 - s1*s1
		if det <= 0 {
			return geo.Vec3{}
		}
		return ty.Scale(n).Sub(y.Scale(s1)).Scale(1 / det)
	}
	// Middle row of the inverse of the normal matrix [n s1 s2; s1 s2 s3; s2 s3 s4].
	det := n*(s2*s4-s3*s3) - s1*(s1*s4-s2*s3) + s2*(s1*s3-s2*s2)
	if det <= 0 {
		return geo.Vec3{}
	}
	return y.Scale(s2*s3 - s1*s4).Add(ty.Scale(n*s4 - s2*s2)).Add(ty2.Scale(s1*s2 - n*s3)).Scale(1 / det)
}

// timeline answers where the aircraft was at a time, gaps left open.
type timeline struct {
	fixes    []Fix
	from, to float64
	gap      float64
}

func newTimeline(f []Fix) *timeline {
	var d []float64
	for i := 1; i < len(f); i++ {
		d = append(d, f[i].UnixS-f[i-1].UnixS)
	}
	return &timeline{fixes: f, from: f[0].UnixS, to: f[len(f)-1].UnixS, gap: max(2, 5*median(d))}
}

func (l *timeline) at(unixS float64) (Fix, bool) {
	f := l.fixes
	i := search(len(f), func(i int) bool { return f[i].UnixS > unixS })
	if i == 0 {
		return Fix{}, false
	}
	if i == len(f) {
		return f[i-1], unixS-f[i-1].UnixS < 1e-6
	}
	a, b := f[i-1], &f[i]
	if b.UnixS-a.UnixS > l.gap || b.broken {
		return Fix{}, false
	}
	k := (unixS - a.UnixS) / (b.UnixS - a.UnixS)
	a.Pos, a.Vel = a.Pos.Lerp(b.Pos, k), a.Vel.Lerp(b.Vel, k)
	a.Yaw, a.Pan, a.Tilt = turn(a.Yaw, b.Yaw, k), turn(a.Pan, b.Pan, k), turn(a.Tilt, b.Tilt, k)
	a.UnixS, a.Has = unixS, a.Has&b.Has
	return a, true
}

// timed is a planned path with the moment of its cue, in Unix seconds or on any common clock.
type timed struct {
	cue  float64
	path []Planned
}

// Timed is a planned path and when it began by the log.
type Timed struct {
	Cue  time.Time
	Path []Planned
}

// Offset is a recorder's clock error found from overlap.
type Offset struct {
	S         float64 // add this to the recorder's times
	RMSM      float64 // distance left between recording and plan
	Ambiguous bool    // another offset fits nearly as well
	NextS     float64 // that other offset
	Zone      string  // set when the offset looks like a time zone, as "+2 h"
}

// ClockOffset finds what to add to the recorder's times so that the recording passes
// along the planned paths when the log says that they were flown. Every offset is tried
// at which the recording spans all the paths, so whole-hour zone errors are found as
// well. It is an error when none fits within 50 m; Ambiguous asks for a person's choice.
func ClockOffset(plan []Timed, fixes []Fix) (Offset, error) {
	if len(plan) == 0 || len(fixes) < 10 {
		return Offset{}, errors.New("clock offset: it needs a planned take with its time, and ten fixes")
	}
	line := newTimeline(fixes)
	base := float64(plan[0].Cue.UnixMilli()) / 1000
	var paths []timed
	lo, hi := math.Inf(-1), math.Inf(1)
	for _, p := range plan {
		if len(p.Path) < 2 {
			return Offset{}, errors.New("clock offset: a take has no planned path")
		}
		cue := float64(p.Cue.UnixMilli())/1000 - base
		paths = append(paths, timed{cue, p.Path})
		lo, hi = max(lo, line.from-cue-p.Path[0].T), min(hi, line.to-cue-p.Path[len(p.Path)-1].T)
	}
	a, err := line.align(paths, lo, hi)
	if err != nil {
		return Offset{}, fmt.Errorf("clock offset: %w", err)
	}
	if a.RMSM > 50 {
		return Offset{}, fmt.Errorf("clock offset: nowhere does the recording come nearer to the plan than %.0f m: it may belong to another sortie", a.RMSM)
	}
	a.S, a.NextS = base-a.S, base-a.NextS
	if q := math.Round(a.S/900) * 900; q != 0 && math.Abs(a.S-q) < 120 {
		a.Zone = fmt.Sprintf("%+g h", q/3600)
	}
	return a, nil
}

// align finds the start, between lo and hi in the recording's time, at which the paths
// lie closest to the recording.
func (l *timeline) align(paths []timed, lo, hi float64) (Offset, error) {
	if !(hi >= lo) {
		return Offset{}, errors.New("the recording does not span the planned time")
	}
	type probe struct {
		t   float64
		pos geo.Vec3
	}
	var probes []probe
	for _, p := range paths {
		first, last := p.path[0].T, p.path[len(p.path)-1].T
		n := max(8, 60/len(paths))
		for i := range n + 1 {
			t := first + (last-first)*float64(i)/float64(n)
			probes = append(probes, probe{p.cue + t, plannedAt(p.path, t).Pos})
		}
	}
	cost := func(start float64) float64 {
		var sum, n float64
		for _, p := range probes {
			if x, ok := l.at(start + p.t); ok {
				d := x.Pos.Sub(p.pos)
				if x.Has&track.Height == 0 {
					d.Z = 0
				}
				sum, n = sum+d.Dot(d), n+1
			}
		}
		if n < 0.8*float64(len(probes)) {
			return math.Inf(1)
		}
		return math.Sqrt(sum / n)
	}
	step := max(0.5, (hi-lo)/40_000)
	best, at := math.Inf(1), lo
	var costs []float64
	for i := 0; ; i++ {
		s := min(lo+float64(i)*step, hi)
		c := cost(s)
		costs = append(costs, c)
		if c < best {
			best, at = c, s
		}
		if s >= hi {
			break
		}
	}
	if math.IsInf(best, 1) {
		return Offset{}, errors.New("the recording has gaps where the plan was flown")
	}
	// Golden section around the best step (Kiefer 1953).
	const g = 0.6180339887498949
	a, b := max(lo, at-step), min(hi, at+step)
	for b-a > 1e-4 {
		c, d := b-g*(b-a), a+g*(b-a)
		if cost(c) < cost(d) {
			b = d
		} else {
			a = c
		}
	}
	o := Offset{S: (a + b) / 2}
	o.RMSM = cost(o.S)
	next := math.Inf(1)
	for i, c := range costs {
		if s := lo + float64(i)*step; math.Abs(s-o.S) > 5 && c < next {
			next, o.NextS = c, s
		}
	}
	o.Ambiguous = next < o.RMSM+max(1, 0.2*o.RMSM)
	return o, nil
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := append([]float64(nil), v...)
	k := len(s) / 2
	for lo, hi := 0, len(s)-1; lo < hi; { // quickselect
		pivot := s[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for s[i] < pivot {
				i++
			}
			for s[j] > pivot {
				j--
			}
			if i <= j {
				s[i], s[j] = s[j], s[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return s[k]
		}
	}
	return s[k]
}
