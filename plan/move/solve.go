package move

import (
	"errors"
	"sort"
)

// Solution is a solved shot.
type Solution struct {
	Path   Path
	Bounds []Bound
	// Steps counts the Newton steps taken.
	Steps int

	solver *solver
}

// keep is the share of each limit that the solver uses; the rest covers what may happen
// between the moments it looks at.
const keep = 0.985

type solver struct {
	p       *Problem
	legs    []leg
	bounds  []Bound
	hazards hazards
	moving  []string // names of moving subjects, sorted

	joint   []float64 // speed at the start of each leg, and at the end
	stretch []float64 // how much slower than asked each leg is flown
	binding []Bound   // the limit that stretched each leg
	upOnly  bool      // go over obstacles, not round them
	loose   bool      // pins and the end are left open
	yield   float64   // share of the stand-off given up, 0 to 1
	keep    float64   // share of the speed and acceleration limits used; 0: keep

	route  program
	gaze   program
	steps  int
	pieces []piece
}

// Solve turns the steps into a path that keeps every limit, and says which limits the wish
// ran into. The error is an *Unsolved when no path can be had, or joins what Validate found.
func Solve(p Problem) (*Solution, error) { return (&Solution{}).Resolve(p) }

// Resolve solves a problem that differs little from the one of this solution, starting from
// its path.
func (was *Solution) Resolve(p Problem) (*Solution, error) {
	if errs := Validate(p.Steps); len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	if err := p.Check(); err != nil {
		return nil, err
	}
	s := &solver{p: &p}
	if was.solver != nil {
		s.route, s.gaze = was.solver.route.again(), was.solver.gaze.again()
	}
	s.enter()
	if err := s.paced(); err != nil {
		return nil, err
	}
	if err := s.place(); err != nil {
		return nil, err
	}
	s.point()
	out := &Solution{solver: s}
	out.Path = s.sample()
	s.review(&out.Path)
	sortBounds(s.bounds)
	out.Bounds = s.bounds
	out.Steps = s.steps
	return out, nil
}

func (s *solver) note(b Bound) { s.bounds = append(s.bounds, b) }

// enter collects what is in the way.
func (s *solver) enter() {
	p := s.p
	n := len(p.Steps)
	s.joint = make([]float64, n+1)
	s.stretch = make([]float64, n)
	s.binding = make([]Bound, n)
	for i := range s.stretch {
		s.stretch[i] = 1
	}
	s.hazards.ground = p.Ground
	s.hazards.ball = (p.Margins.ClearanceM + p.Margins.error()) * 1.01
	for _, o := range p.Obstacles {
		need := p.Margins.ClearanceM
		if o.Kind == "wire" && p.Margins.WireClearanceM > 0 {
			need = p.Margins.WireClearanceM
		}
		h := hazard{name: o.Name, kind: o.Kind, shape: o.Shape, opaque: o.Shape.Opaque(), asked: need + p.Margins.error(), need: (need+p.Margins.error())*1.01 + 0.02}
		h.centre, h.radius = o.Shape.Bounds()
		s.hazards.all = append(s.hazards.all, h)
	}
	for name, subject := range p.Subjects {
		if subject.Moves() {
			s.moving = append(s.moving, name)
		}
	}
	sort.Strings(s.moving)
}

// at returns the leg flown at a time.
func (s *solver) at(t float64) *leg {
	i := sort.Search(len(s.legs), func(i int) bool { return s.legs[i].t1() > t })
	return &s.legs[min(i, len(s.legs)-1)]
}

func (s *solver) duration() float64 { return s.legs[len(s.legs)-1].t1() }
