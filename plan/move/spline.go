package move

import "fieldfare/model/geo"

// spline is a clamped uniform B-spline in time. Degree 5 has continuous jerk and snap;
// rest-to-rest it holds the minimum-jerk polynomial exactly, degree 7 that of minimum snap.
//
// Source: C. de Boor, "A Practical Guide to Splines" (1978), chapter X.
type spline struct {
	degree int
	spans  int
	width  float64 // of a span, seconds
	ctrl   []geo.Vec3
}

const maxDegree = 7

func newSpline(degree, spans int, duration float64) spline {
	return spline{degree, spans, duration / float64(spans), make([]geo.Vec3, spans+degree)}
}

func (s *spline) duration() float64 { return s.width * float64(s.spans) }

// knot returns knot i of the clamped knot vector.
func (s *spline) knot(i int) float64 {
	return float64(max(0, min(s.spans, i-s.degree))) * s.width
}

// greville is the time about which control point i pulls most.
func (s *spline) greville(i int) float64 {
	t := 0.0
	for k := 1; k <= s.degree; k++ {
		t += s.knot(i + k)
	}
	return t / float64(s.degree)
}

// basis is the values and derivatives at one time: row d holds derivative d of the
// degree+1 control points from first on.
type basis struct {
	first int
	row   [maxDegree + 1][maxDegree + 1]float64
}

// at fills b for a time, derivatives 0 to order (The NURBS Book, algorithm A2.3).
func (s *spline) at(t float64, order int, b *basis) {
	s.within(max(0, min(s.spans-1, int(t/s.width))), t, order, b)
}

// within is at for a time known to lie in a span.
func (s *spline) within(span int, t float64, order int, b *basis) {
	p := s.degree
	b.first = span
	i := span + p
	var ndu [maxDegree + 1][maxDegree + 1]float64
	var left, right [maxDegree + 1]float64
	ndu[0][0] = 1
	for j := 1; j <= p; j++ {
		left[j] = t - s.knot(i+1-j)
		right[j] = s.knot(i+j) - t
		saved := 0.0
		for r := 0; r < j; r++ {
			ndu[j][r] = right[r+1] + left[j-r]
			temp := ndu[r][j-1] / ndu[j][r]
			ndu[r][j] = saved + right[r+1]*temp
			saved = left[j-r] * temp
		}
		ndu[j][j] = saved
	}
	for j := 0; j <= p; j++ {
		b.row[0][j] = ndu[j][p]
	}
	var a [2][maxDegree + 1]float64
	for r := 0; r <= p; r++ {
		s1, s2 := 0, 1
		a[0] = [maxDegree + 1]float64{1}
		for k := 1; k <= order; k++ {
			d := 0.0
			rk, pk := r-k, p-k
			if r >= k {
				a[s2][0] = a[s1][0] / ndu[pk+1][rk]
				d = a[s2][0] * ndu[rk][pk]
			}
			j1, j2 := 1, k-1
			if rk < -1 {
				j1 = -rk
			}
			if r-1 > pk {
				j2 = p - r
			}
			for j := j1; j <= j2; j++ {
				a[s2][j] = (a[s1][j] - a[s1][j-1]) / ndu[pk+1][rk+j]
				d += a[s2][j] * ndu[rk+j][pk]
			}
			if r <= pk {
				a[s2][k] = -a[s1][k-1] / ndu[pk+1][r]
				d += a[s2][k] * ndu[r][pk]
			}
			b.row[k][r] = d
			s1, s2 = s2, s1
		}
	}
	factor := float64(p)
	for k := 1; k <= order; k++ {
		for j := 0; j <= p; j++ {
			b.row[k][j] *= factor
		}
		factor *= float64(p - k)
	}
}

// value sums one derivative.
func (s *spline) value(b *basis, derivative int) geo.Vec3 {
	var v geo.Vec3
	for j := 0; j <= s.degree; j++ {
		w, c := b.row[derivative][j], &s.ctrl[b.first+j]
		v.X += w * c.X
		v.Y += w * c.Y
		v.Z += w * c.Z
	}
	return v
}

// clampStart fixes position, velocity, acceleration (and for higher degrees zero further
// derivatives) at the start through the first control points.
func (s *spline) clampStart(count int, d ...geo.Vec3) { s.clamp(0, 1, count, d) }

// clampEnd is clampStart at the end.
func (s *spline) clampEnd(count int, d ...geo.Vec3) { s.clamp(len(s.ctrl)-1, -1, count, d) }

func (s *spline) clamp(at, step, count int, d []geo.Vec3) {
	var b basis
	t := 0.0
	if step < 0 {
		t = s.duration()
	}
	s.at(t, count-1, &b)
	for k := range count {
		var want geo.Vec3
		if k < len(d) {
			want = d[k]
		}
		// Derivative k at a clamped end involves the k+1 outermost control points.
		for j := 0; j < k; j++ {
			i := at + step*j
			want = want.Sub(s.ctrl[i].Scale(b.row[k][i-b.first]))
		}
		i := at + step*k
		s.ctrl[i] = want.Scale(1 / b.row[k][i-b.first])
	}
}

// gauss holds nodes and weights on [0,1], exact to degree 7: enough for the square of any
// derivative that is integrated here.
var gauss = [4][2]float64{
	{0.5 - 0.8611363115940526/2, 0.3478548451374538 / 2},
	{0.5 - 0.3399810435848563/2, 0.6521451548625461 / 2},
	{0.5 + 0.3399810435848563/2, 0.6521451548625461 / 2},
	{0.5 + 0.8611363115940526/2, 0.3478548451374538 / 2},
}

// energy returns the banded matrix E of ∫|derivative|² dt = Σ ctrlᵀ E ctrl: row i holds
// columns i to i+degree.
func (s *spline) energy(derivative int) [][maxDegree + 1]float64 {
	e := make([][maxDegree + 1]float64, len(s.ctrl))
	var b basis
	for span := range s.spans {
		for _, g := range gauss {
			s.within(span, (float64(span)+g[0])*s.width, derivative, &b)
			w := g[1] * s.width
			for i := 0; i <= s.degree; i++ {
				wi := w * b.row[derivative][i]
				for j := i; j <= s.degree; j++ {
					e[b.first+i][j-i] += wi * b.row[derivative][j]
				}
			}
		}
	}
	return e
}

// piece is one span as a polynomial in the time since its start.
type piece [maxDegree + 1]geo.Vec3

// pieces turns the spline into polynomials, which are quicker to sample densely.
func (s *spline) pieces(dst []piece) []piece {
	dst = dst[:0]
	var b basis
	for span := range s.spans {
		s.within(span, float64(span)*s.width, s.degree, &b)
		var p piece
		factorial := 1.0
		for d := 0; d <= s.degree; d++ {
			if d > 1 {
				factorial *= float64(d)
			}
			p[d] = s.value(&b, d).Scale(1 / factorial)
		}
		dst = append(dst, p)
	}
	return dst
}

// sampleAt evaluates derivatives 0 to 3 from the pieces.
func (s *spline) sampleAt(pieces []piece, t float64) (r [4]geo.Vec3) {
	span := max(0, min(s.spans-1, int(t/s.width)))
	u := t - float64(span)*s.width
	p := &pieces[span]
	for i := s.degree; i >= 0; i-- {
		r[3] = r[3].Scale(u).Add(r[2])
		r[2] = r[2].Scale(u).Add(r[1])
		r[1] = r[1].Scale(u).Add(r[0])
		r[0] = r[0].Scale(u).Add(p[i])
	}
	r[2] = r[2].Scale(2)
	r[3] = r[3].Scale(6)
	return r
}
