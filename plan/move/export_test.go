package move

import (
	"fieldfare/model/geo"
)

// Discrete is the position program of a shot as numbers, so that a general solver can be
// given the same problem.
type Discrete struct {
	Name      string        `json:"name"`
	Degree    int           `json:"degree"`
	Spans     int           `json:"spans"`
	DurationS float64       `json:"duration_s"`
	Jerk      float64       `json:"jerk_weight"`
	Times     []float64     `json:"times"`
	DT        float64       `json:"dt"`
	Ref       [][3]float64  `json:"ref"`
	Weight    []float64     `json:"weight"`
	Start     [3][3]float64 `json:"start"` // position, velocity, acceleration
	End       [3][3]float64 `json:"end"`
	LooseEnd  bool          `json:"loose_end"`
	Wind      [2]float64    `json:"wind"`
	SpeedMS   float64       `json:"speed"`
	LowMS     float64       `json:"low"`
	HighMS    float64       `json:"high"`
	AccelMS2  float64       `json:"accel"`
	Ball      float64       `json:"ball"`
	Shells    []float64     `json:"shells"` // point, x, y, z, radius
	Needs     []float64     `json:"needs"`  // clearance of each obstacle
	Pins      []float64     `json:"pins"`   // t, x, y, z

	Cost      float64 `json:"-"`
	Violation float64 `json:"-"`
	Ctrl      [][3]float64
}

// Discretise lays out and solves the position program of a problem.
func Discretise(name string, p Problem) (Discrete, error) {
	s := &solver{p: &p}
	s.enter()
	if err := s.paced(); err != nil {
		return Discrete{}, err
	}
	violation, _ := s.fly()
	g := &s.route
	arr := func(v geo.Vec3) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }
	d := Discrete{Name: name, Degree: g.curve.degree, Spans: g.curve.spans, DurationS: g.curve.duration(), Jerk: g.jerk.X, DT: g.points[1].dt,
		Wind: [2]float64{p.Margins.Wind.X, p.Margins.Wind.Y}, SpeedMS: g.limits[0].most, LowMS: g.limits[1].low, HighMS: g.limits[1].high, AccelMS2: g.limits[2].most,
		Ball: s.hazards.ball, Cost: g.cost(), Violation: violation}
	for i := range g.points {
		q := &g.points[i]
		d.Times = append(d.Times, q.t)
		d.Ref = append(d.Ref, arr(q.ref))
		d.Weight = append(d.Weight, q.weight.X*q.dt/g.points[1].dt)
	}
	a, b := &s.legs[0], &s.legs[len(s.legs)-1]
	d.Start = [3][3]float64{arr(s.free(a, 0)), arr(s.speedAt(a, 0))}
	d.LooseEnd = g.looseEnd
	d.End = [3][3]float64{arr(s.free(b, s.duration())), arr(s.speedAt(b, s.duration()))}
	for _, x := range g.shells {
		d.Shells = append(d.Shells, float64(x.point), x.centre.X, x.centre.Y, x.centre.Z, x.radius)
	}
	for _, h := range s.hazards.all {
		d.Needs = append(d.Needs, h.need)
	}
	for i := range s.legs {
		if l := &s.legs[i]; l.keys != nil {
			for k, at := range l.keys.times {
				if t := l.t0 + at; t >= 0.4 && t <= s.duration()-0.4 {
					c := l.keys.places[k]
					d.Pins = append(d.Pins, t, c.X, c.Y, c.Z)
				}
			}
		}
	}
	for _, c := range g.curve.ctrl {
		d.Ctrl = append(d.Ctrl, arr(c))
	}
	return d, nil
}

// Smoothest minimises the square of a derivative from rest to rest over a metre in x, and
// returns the places at the times.
func Smoothest(degree, derivative, spans int, duration float64, times []float64) []float64 {
	g := program{curve: newSpline(degree, spans, duration), derivative: derivative, jerk: geo.Vec3{X: 1, Y: 1, Z: 1}}
	for i := range g.curve.ctrl {
		g.curve.ctrl[i] = geo.Vec3{X: float64(i%3) - 1, Y: 2, Z: -1} // a bad start
	}
	g.curve.clampStart(derivative)
	g.curve.clampEnd(derivative, geo.Vec3{X: 1})
	g.optimise()
	var out []float64
	var b basis
	for _, t := range times {
		g.curve.at(t, 0, &b)
		v := g.curve.value(&b, 0)
		out = append(out, v.X, v.Y, v.Z)
	}
	return out
}

// Sight is the line of sight between two places of a problem.
func Sight(p *Problem, a, b geo.Vec3) (Answer, string) {
	s := &solver{p: p}
	s.enter()
	return s.hazards.sight(a, b)
}

// Flown lays a problem out and returns what solves its position program from scratch.
func Flown(p Problem) (func() float64, error) {
	s := &solver{p: &p}
	s.enter()
	if err := s.paced(); err != nil {
		return nil, err
	}
	return func() float64 {
		s.route = program{}
		s.fly()
		return s.route.cost()
	}, nil
}

// Cost is the objective of a solution's path.
func Cost(s *Solution) float64 { return s.solver.route.cost() }

// SolveBanded solves a·x = b for a symmetric matrix given by its lower half.
func SolveBanded(a [][]float64, half int, b []float64) (x []float64, ok bool) {
	m := newBanded(len(a), half)
	for i := range a {
		for j := max(0, i-half); j <= i; j++ {
			m.add(i, j, a[i][j])
		}
	}
	if !m.factor() {
		return nil, false
	}
	x = append(x, b...)
	m.solve(x)
	return x, true
}
