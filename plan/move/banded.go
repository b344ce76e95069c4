package move

import "math"

// banded is a symmetric positive definite matrix of which only the diagonal and the
// sub-diagonals within the half bandwidth are kept: row i holds columns i-half to i.
type banded struct {
	n, half int
	a       []float64
}

func newBanded(n, half int) banded {
	return banded{n, half, make([]float64, n*(half+1))}
}

func (m *banded) clear() { clear(m.a) }

// add adds to element (i, j) with j ≤ i.
func (m *banded) add(i, j int, v float64) { m.a[i*(m.half+1)+m.half-(i-j)] += v }

// factor replaces the matrix by its Cholesky factor L; false when it is not positive
// definite.
func (m *banded) factor() bool {
	w := m.half + 1
	for i := range m.n {
		ri := m.a[i*w : i*w+w]
		lo := max(0, i-m.half)
		for j := lo; j <= i; j++ {
			rj := m.a[j*w : j*w+w]
			from := max(lo, j-m.half)
			sum := ri[m.half-(i-j)]
			x := ri[m.half-(i-from) : m.half-(i-j)]
			y := rj[m.half-(j-from) : m.half]
			for k, v := range x {
				sum -= v * y[k]
			}
			if j < i {
				ri[m.half-(i-j)] = sum / rj[m.half]
			} else {
				if !(sum > 0) {
					return false
				}
				ri[m.half] = math.Sqrt(sum)
			}
		}
	}
	return true
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
