package move

import (
	"math"

	"fieldfare/model/geo"
)

// MinimumJerk returns the share of the way covered, and its first three derivatives by
// share of the time, on the smoothest run from rest to rest: 10τ³ − 15τ⁴ + 6τ⁵.
//
// Source: T. Flash and N. Hogan, "The coordination of arm movements", J. Neurosci. 5 (1985).
func MinimumJerk(share float64) (way, speed, accel, jerk float64) {
	u := max(0, min(1, share))
	return u * u * u * (10 + u*(-15+6*u)), 30 * u * u * (1 - u) * (1 - u), 60 * u * (1 - u) * (1 - 2*u), 60 - 360*u*(1-u)
}

// pace is how a leg runs along its way: entry speed, cruise, exit speed, with soft changes.
// The way is in metres, or in radians for a turn on the spot.
type pace struct {
	way              float64
	duration         float64
	in, cruise, out  float64
	rampIn, rampOut  float64
	accel, shortRamp float64
}

func (p *pace) ramps(v float64) (in, out float64) {
	ramp := func(from, to float64) float64 {
		if d := math.Abs(to - from); d > 1e-9 {
			return max(p.shortRamp, 1.875*d/p.accel) // smooth step: peak 1.875 × mean
		}
		return 0
	}
	return ramp(p.in, v), ramp(v, p.out)
}

// covered is the way at cruise v in the least time that cruise allows.
func (p *pace) covered(v float64) float64 {
	in, out := p.ramps(v)
	return (p.in+v)/2*in + (v+p.out)/2*out
}

// atSpeed sets the pace for a wanted cruise; a short way lowers it.
func (p *pace) atSpeed(v float64) {
	if p.covered(v) > p.way {
		low, high := 0.0, v
		for range 60 {
			if mid := (low + high) / 2; p.covered(mid) > p.way {
				high = mid
			} else {
				low = mid
			}
		}
		v = low
	}
	p.settle(v)
}

func (p *pace) settle(v float64) {
	p.cruise = max(v, 1e-6)
	p.rampIn, p.rampOut = p.ramps(p.cruise)
	rest := p.way - (p.in+p.cruise)/2*p.rampIn - (p.cruise+p.out)/2*p.rampOut
	p.duration = p.rampIn + p.rampOut + max(0, rest)/p.cruise
}

// atDuration sets the pace that takes a wanted time.
func (p *pace) atDuration(t float64) {
	p.duration = t
	way := func(v float64) float64 {
		in, out := p.ramps(v)
		if s := in + out; s > t {
			in, out = in*t/s, out*t/s
		}
		return v*(t-in/2-out/2) + p.in*in/2 + p.out*out/2
	}
	low, high := 0.0, 2*p.way/t+p.in+p.out+1e-9
	for way(high) < p.way {
		high *= 2
	}
	for range 80 {
		if mid := (low + high) / 2; way(mid) < p.way {
			low = mid
		} else {
			high = mid
		}
	}
	p.cruise = high
	p.rampIn, p.rampOut = p.ramps(high)
	if s := p.rampIn + p.rampOut; s > t {
		p.rampIn, p.rampOut = p.rampIn*t/s, p.rampOut*t/s
	}
}

// progress returns the share of the way covered after a time.
func (p *pace) progress(t float64) float64 {
	if p.way <= 0 || p.duration <= 0 {
		return 1
	}
	t = max(0, min(p.duration, t))
	stepped := func(u float64) float64 { return u * u * u * u * (2.5 + u*(-3+u)) } // ∫ smooth step
	d := 0.0
	if t < p.rampIn {
		d = p.in*t + (p.cruise-p.in)*p.rampIn*stepped(t/p.rampIn)
	} else {
		d = (p.in + p.cruise) / 2 * p.rampIn
		if left := p.duration - t; left >= p.rampOut {
			d += p.cruise * (t - p.rampIn)
		} else {
			d += p.cruise * (p.duration - p.rampIn - p.rampOut)
			u := p.rampOut - left
			d += p.cruise*u + (p.out-p.cruise)*p.rampOut*stepped(u/p.rampOut)
		}
	}
	return max(0, min(1, d/p.way))
}

// FastestTime returns the least time in seconds in which a rig can fly a line through the
// points from rest to rest, changing its pace at once: the bound that no asked duration can
// undercut.
//
// Source: the phase-plane method of J. Bobrow, S. Dubowsky and J. Gibson, "Time-Optimal
// Control of Robotic Manipulators Along Specified Paths", Int. J. Robotics Research 4 (1985).
// For a straight line this is the bang-bang time of the double integrator with bounds.
func FastestTime(line []geo.Vec3, rig Rig) float64 {
	n := len(line)
	if n < 2 {
		return 0
	}
	accel := rig.accel()
	speed := make([]float64, n) // highest at each point
	ds := make([]float64, n-1)
	bend := make([]float64, n)
	for i := range n - 1 {
		ds[i] = line[i+1].Sub(line[i]).Norm()
	}
	for i := range n {
		a, b := line[max(0, i-1)], line[min(n-1, i+1)]
		d := b.Sub(a).Unit()
		v := math.Inf(1)
		if h := d.Horizontal(); h > 1e-9 {
			v = rig.SpeedMS / h
		}
		if d.Z > 1e-9 {
			v = min(v, rig.ClimbMS/d.Z)
		} else if d.Z < -1e-9 {
			v = min(v, rig.DescentMS/-d.Z)
		}
		if i > 0 && i < n-1 && ds[i-1] > 0 && ds[i] > 0 {
			turn := line[i+1].Sub(line[i]).Scale(1 / ds[i]).Sub(line[i].Sub(line[i-1]).Scale(1 / ds[i-1]))
			bend[i] = turn.Norm() / ((ds[i-1] + ds[i]) / 2)
			if bend[i] > 1e-12 {
				v = min(v, math.Sqrt(accel/bend[i]))
			}
		}
		speed[i] = v
	}
	speed[0], speed[n-1] = 0, 0
	reach := func(from, to, step int) {
		for i := from; i != to; i += step {
			v := speed[i]
			across := v * v * bend[i]
			along := math.Sqrt(max(0, accel*accel-across*across))
			d := ds[min(i, i+step)]
			speed[i+step] = min(speed[i+step], math.Sqrt(v*v+2*along*d))
		}
	}
	reach(0, n-1, 1)
	reach(n-1, 0, -1)
	total := 0.0
	for i := range ds {
		if mean := (speed[i] + speed[i+1]) / 2; mean > 0 {
			total += ds[i] / mean
		}
	}
	return total
}
