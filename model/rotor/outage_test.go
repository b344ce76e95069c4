package rotor_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"fieldfare/model/rotor"
)

// Statics by hand. Three rotors of four: the pair that is left opposite carries all and
// cannot balance yaw: 2 x. Six: the pair off, four carry, 1.5 x. Coaxial eight: the arm
// with one rotor and the arm across carry t each, the other two arms s, 2t + 2s = W; the
// greatest of t and s/2 is least at t = s/2 = W/6, which is 8/6 x.
func TestRotorOut(t *testing.T) {
	for _, row := range []struct {
		rotors  int
		coaxial bool
		class   rotor.Class
		factor  float64
	}{
		{4, false, rotor.Spins, 2},
		{6, false, rotor.Spins, 1.5},
		{8, true, rotor.Holds, 8.0 / 6},
	} {
		o := flight(t, rotor.Airframe{Rotors: row.rotors, DiameterM: 0.4, Coaxial: row.coaxial}, 6, 1.2).RotorOut()
		if o.Class != row.class || math.Abs(o.Factor-row.factor) > 1e-6 || o.EnoughKnown {
			t.Errorf("%d rotors, coaxial %v: %v, factor %.6f, want %v, %g", row.rotors, row.coaxial, o.Class, o.Factor, row.class, row.factor)
		}
	}
	// 58.8 N of weight and 80 N of thrust: 1.36 is less than 1.1 x 1.414.
	weak := flight(t, rotor.Airframe{Rotors: 8, DiameterM: 0.4, MaxThrustN: 80}, 6, 1.225).RotorOut()
	strong := flight(t, rotor.Airframe{Rotors: 8, DiameterM: 0.4, MaxThrustN: 100}, 6, 1.225).RotorOut()
	if !weak.EnoughKnown || weak.Enough || !strong.Enough {
		t.Errorf("weak %+v, strong %+v", weak, strong)
	}
}

// Every layout by linear programming, the worst rotor out.
func TestRotorOutByLinearProgramming(t *testing.T) {
	for n := 3; n <= 16; n++ {
		for _, coaxial := range []bool{false, true} {
			if coaxial && (n%2 != 0 || n < 6) {
				continue
			}
			class, factor := rotor.Holds, 0.0
			for out := range n {
				c, f := outage(n, out, coaxial)
				if c < class || c == class && f > factor {
					class, factor = c, f
				}
			}
			o := flight(t, rotor.Airframe{Rotors: n, DiameterM: 0.4, Coaxial: coaxial}, 6, 1.2).RotorOut()
			if o.Class != class || math.Abs(o.Factor-factor) > 1e-6 || o.Caution == "" {
				t.Errorf("%d rotors, coaxial %v: %v %.6f, linear programming %v %.6f", n, coaxial, o.Class, o.Factor, class, factor)
			}
		}
	}
}

func outage(n, out int, coaxial bool) (rotor.Class, float64) {
	var x, y, spin []float64
	for i := range n {
		if i == out {
			continue
		}
		arm, arms := i, n
		if coaxial {
			arm, arms = i/2, n/2
		}
		sin, cos := math.Sincos(2 * math.Pi * float64(arm) / float64(arms))
		x, y, spin = append(x, sin), append(y, cos), append(spin, float64(1-2*(i%2)))
	}
	if share, ok := leastGreatest(x, y, spin); ok && (coaxial || n != 6) {
		return rotor.Holds, share * float64(n)
	}
	if share, ok := leastGreatest(x, y); ok {
		return rotor.Spins, share * float64(n)
	}
	return rotor.Falls, 0
}

// leastGreatest finds thrusts T_i >= 0 with sum 1 and zero sum against each row, whose
// greatest is least, and returns that greatest.
func leastGreatest(rows ...[]float64) (greatest float64, ok bool) {
	n := len(rows[0])
	equalities, ok := independent(n, rows)
	if !ok {
		return 0, false
	}
	// Unknowns: n thrusts, n slacks, the greatest g. T_i + s_i - g = 0.
	r, columns := len(equalities), 2*n+1
	a := mat.NewDense(r+n, columns, nil)
	b := make([]float64, r+n)
	for i, e := range equalities {
		for j := range n {
			a.Set(i, j, e[j])
		}
		b[i] = e[n]
	}
	for i := range n {
		a.Set(r+i, i, 1)
		a.Set(r+i, n+i, 1)
		a.Set(r+i, 2*n, -1)
	}
	c := make([]float64, columns)
	c[2*n] = 1
	greatest, _, err := lp.Simplex(c, a, b, 1e-10, nil)
	return greatest, err == nil
}

// independent reduces "sum of thrusts is 1, each row's is 0" to equations that do not
// follow from one another, which the simplex method needs, by Gauss-Jordan
// elimination; ok is false when they contradict one another.
func independent(n int, rows [][]float64) (equalities [][]float64, ok bool) {
	const zero = 1e-9
	all := make([][]float64, 0, len(rows)+1)
	sum := make([]float64, n+1)
	for i := range sum {
		sum[i] = 1
	}
	all = append(all, sum)
	for _, row := range rows {
		all = append(all, append(append(make([]float64, 0, n+1), row...), 0))
	}
	for column := 0; column < n && len(equalities) < len(all); column++ {
		top := len(equalities)
		pivot := top
		for i := top; i < len(all); i++ {
			if math.Abs(all[i][column]) > math.Abs(all[pivot][column]) {
				pivot = i
			}
		}
		if math.Abs(all[pivot][column]) < zero {
			continue
		}
		all[top], all[pivot] = all[pivot], all[top]
		for i := range all {
			if i == top {
				continue
			}
			factor := all[i][column] / all[top][column]
			for j := range all[i] {
				all[i][j] -= factor * all[top][j]
			}
		}
		equalities = all[:top+1]
	}
	for _, left := range all[len(equalities):] {
		if math.Abs(left[n]) > zero {
			return nil, false
		}
	}
	return equalities, true
}
