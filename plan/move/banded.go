package move

import "math"

// banded is a symmetric positive definite matrix of which only the diagonal and the
// sub-diagonals within the half bandwidth are kept: row i holds columns i-half to i.
type banded struct {
	n, half int
	a       []float64
	column  []float64 // scratch of factor
}

func newBanded(n, half int) banded {
	return banded{n: n, half: half, a: make([]float64, n*(half+1))}
}

func (m *banded) clear() { clear(m.a) }

// add adds to element (i, j) with j ≤ i.
func (m *banded) add(i, j int, v float64) { m.a[i*(m.half+1)+m.half-(i-j)] += v }

// factor replaces the matrix by its Cholesky factor L; false when it is not positive
// definite.
func (m *banded) factor() bool {
	w := m.half + 1
	if len(m.column) < w {
		m.column = make([]float64, w)
	}
	// Column by column: what each has to take from those after it is independent work.
	for k := range m.n {
		d := m.a[k*w+m.half]
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		m.a[k*w+m.half] = d
		below := min(m.half, m.n-1-k)
		for i := 1; i <= below; i++ {
			at := (k+i)*w + m.half - i
			v := m.a[at] / d
			m.a[at], m.column[i-1] = v, v
			take(m.a[at+1:at+1+i], m.column[:i], v)
		}
	}
	return true
}

// take takes v·x from a.
func take(a, x []float64, v float64) {
	for len(a) >= 4 && len(x) >= 4 {
		a[0] -= v * x[0]
		a[1] -= v * x[1]
		a[2] -= v * x[2]
		a[3] -= v * x[3]
		a, x = a[4:], x[4:]
	}
	for j := range min(len(a), len(x)) {
		a[j] -= v * x[j]
	}
}

// solve overwrites b with the solution, after factor.
func (m *banded) solve(b []float64) {
	w := m.half + 1
	for i := range m.n {
		sum := b[i]
		for j := max(0, i-m.half); j < i; j++ {
			sum -= m.a[i*w+m.half-(i-j)] * b[j]
		}
		b[i] = sum / m.a[i*w+m.half]
	}
	for i := m.n - 1; i >= 0; i-- {
		b[i] /= m.a[i*w+m.half]
		v := b[i]
		for j := max(0, i-m.half); j < i; j++ {
			b[j] -= m.a[i*w+m.half-(i-j)] * v
		}
	}
}
