package sky

import "math"

// Crossing is where a function passes through zero.
type Crossing struct {
	At     float64
	Rising bool // from negative to positive
}

// Crossings finds where f passes through zero between from and to, in order. It samples f every
// step (the last step is shorter), closes in on each change of sign to within tol, and where three
// samples of one sign turn back toward zero it looks for the turning point between them, so that a
// pair of crossings closer than a step is not lost when f is smooth. A value of exactly zero
// counts as positive. A jump through zero is reported as a crossing. Nothing is found in an empty
// or reversed span, or if step or tol is not positive.
func Crossings(f func(t float64) float64, from, to, step, tol float64) []Crossing {
	if !(to > from && step > 0 && tol > 0) {
		return nil
	}
	var found []Crossing
	between := func(a, fa, b, fb float64) {
		if (fa >= 0) != (fb >= 0) {
			found = append(found, Crossing{closeIn(f, a, fa, b, fb, tol), fb >= 0})
		}
	}
	// c is the newest sample, b the one before, a before that.
	a, b := from, from
	fa, fb := f(from), f(from)
	for i := 1; b < to; i++ {
		c := min(from+float64(i)*step, to)
		fc := f(c)
		up := fb >= 0
		turns := (fa >= 0) == up && (fc >= 0) == up && math.Abs(fb) <= math.Abs(fa) && math.Abs(fb) <= math.Abs(fc)
		if turns && a < b {
			if m, fm := Turning(f, a, c, tol, up); (fm >= 0) != up {
				between(a, fa, m, fm)
				between(m, fm, c, fc)
			}
		}
		between(b, fb, c, fc)
		a, fa, b, fb = b, fb, c, fc
	}
	return found
}

// Turning returns the place and value of the least (lowest true) or greatest value of f between a
// and b to within tol, by golden section; f should have one turning point there.
func Turning(f func(t float64) float64, a, b, tol float64, lowest bool) (t, value float64) {
	sign := 1.0
	if !lowest {
		sign = -1
	}
	ratio := (math.Sqrt(5) - 1) / 2
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := sign*f(c), sign*f(d)
	for b-a > tol {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = sign * f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = sign * f(d)
		}
	}
	if fc < fd {
		return c, sign * fc
	}
	return d, sign * fd
}

// closeIn narrows a bracket by the Illinois form of false position, halving when that is
// slow.
func closeIn(f func(t float64) float64, a, fa, b, fb, tol float64) float64 {
	for n := 0; b-a > tol && n < 200; n++ {
		m := b - fb*(b-a)/(fb-fa)
		// Stay off the ends so that the bracket closes from both sides.
		m = max(a+tol/3, min(b-tol/3, m))
		if n%3 == 2 {
			m = a + (b-a)/2
		}
		if fm := f(m); (fm >= 0) == (fa >= 0) {
			a, fa = m, fm
		} else {
			b, fb = m, fm
		}
	}
	return a + (b-a)/2
}

// Span is an interval of the variable searched.
type Span struct{ From, To float64 }

// Spans returns the intervals in which f is zero or more, between from and to, cut at both ends;
// step and tol as in Crossings.
func Spans(f func(t float64) float64, from, to, step, tol float64) []Span {
	if !(to > from && step > 0 && tol > 0) {
		return nil
	}
	var spans []Span
	open, start := f(from) >= 0, from
	for _, c := range Crossings(f, from, to, step, tol) {
		if c.Rising {
			open, start = true, c.At
		} else if open {
			open = false
			spans = append(spans, Span{start, c.At})
		}
	}
	if open {
		spans = append(spans, Span{start, to})
	}
	return spans
}
