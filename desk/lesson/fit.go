// Package lesson learns from the logbook: how much more energy a rig really uses than
// was predicted, how long changeovers and resets really take, and when a pack should
// retire. Each answer has an interval, and nothing is changed until a person accepts it.
//
// What it computes: least-squares fits, confidence and prediction intervals of normal
// theory at 95 % unless named otherwise, medians of skewed durations through their
// logarithms.
//
// Units: as in the names; durations in seconds, energy in watt-hours.
//
// Source: Draper and Smith, Applied Regression Analysis, 3rd edition, chapters 1, 3
// and 5; checked against NIST Statistical Reference Datasets.
//
// Validity and accuracy: regression coefficients agree with NIST's certified values to
// 9 digits or more; intervals assume independent cases with like spread, which a crew's log
// only roughly gives, so few cases answer "too few" rather than a number.
//
// Not modelled: drift of a crew's habits within the log, packs' calendar ageing apart
// from use, differences of air density between sorties.
package lesson

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Fit is a least-squares fit of y to columns of x.
type Fit struct {
	Coef, SE   []float64 // estimates and their standard errors
	Low, High  []float64 // 95 % confidence intervals
	ResidualSD float64
	R2         float64
	DF         int           // degrees of freedom left
	cov        *mat.SymDense // (X'X)^-1
}

// Regress fits y = X·coef by Householder QR of X with its columns scaled to unit
// length. X is given by rows; a column of ones makes an intercept. It needs at least one
// row more than columns, and columns that are not combinations of one another.
func Regress(x [][]float64, y []float64) (Fit, error) {
	n := len(y)
	if n != len(x) || n == 0 {
		return Fit{}, fmt.Errorf("regression: %d rows of x for %d of y", len(x), n)
	}
	p := len(x[0])
	if n <= p {
		return Fit{}, fmt.Errorf("regression: %d cases for %d unknowns: more cases are needed", n, p)
	}
	m := mat.NewDense(n, p, nil)
	scale := make([]float64, p)
	for i, row := range x {
		if len(row) != p {
			return Fit{}, fmt.Errorf("regression: row %d has %d columns, the first has %d", i+1, len(row), p)
		}
		for j, v := range row {
			if !finite(v) || !finite(y[i]) {
				return Fit{}, fmt.Errorf("regression: row %d is not a number", i+1)
			}
			scale[j] = math.Hypot(scale[j], v)
			m.Set(i, j, v)
		}
	}
	for j := range p {
		if scale[j] == 0 {
			return Fit{}, fmt.Errorf("regression: column %d is zero", j+1)
		}
		for i := range n {
			m.Set(i, j, m.At(i, j)/scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(m)
	if c := qr.Cond(); c > 1e12 {
		return Fit{}, errors.New("regression: the cases do not differ enough to tell the unknowns apart")
	}
	var b mat.VecDense
	if err := qr.SolveVecTo(&b, false, mat.NewVecDense(n, y)); err != nil {
		return Fit{}, fmt.Errorf("regression: %w", err)
	}
	var res mat.VecDense
	res.MulVec(m, &b)
	res.SubVec(mat.NewVecDense(n, y), &res)
	// One step of refinement removes most of the rounding of the first solution.
	var step mat.VecDense
	if qr.SolveVecTo(&step, false, &res) == nil {
		b.AddVec(&b, &step)
		res.MulVec(m, &b)
		res.SubVec(mat.NewVecDense(n, y), &res)
	}
	var r, inv mat.Dense
	qr.RTo(&r)
	if err := inv.Inverse(r.Slice(0, p, 0, p)); err != nil {
		return Fit{}, fmt.Errorf("regression: %w", err)
	}
	f := Fit{DF: n - p, cov: mat.NewSymDense(p, nil)}
	for i := range p {
		for j := i; j < p; j++ {
			f.cov.SetSym(i, j, mat.Dot(inv.RowView(i), inv.RowView(j))/(scale[i]*scale[j]))
		}
	}
	ss := mat.Dot(&res, &res)
	f.ResidualSD = math.Sqrt(ss / float64(f.DF))
	var total, mean float64
	for _, v := range y {
		mean += v / float64(n)
	}
	for _, v := range y {
		total += (v - mean) * (v - mean)
	}
	if total > 0 {
		f.R2 = 1 - ss/total
	}
	t := student(0.975, f.DF)
	for i := range p {
		c, se := b.AtVec(i)/scale[i], f.ResidualSD*math.Sqrt(f.cov.At(i, i))
		f.Coef, f.SE = append(f.Coef, c), append(f.SE, se)
		f.Low, f.High = append(f.Low, c-t*se), append(f.High, c+t*se)
	}
	return f, nil
}

// At predicts y at x: the expected value, and the half-width within which a single new
// case falls with probability p (two-sided), as 0.95.
func (f Fit) At(x []float64, p float64) (y, half float64) {
	for i := range x {
		y += f.Coef[i] * x[i]
	}
	v := mat.NewVecDense(len(x), slices.Clone(x))
	return y, student((1+p)/2, f.DF) * f.ResidualSD * math.Sqrt(1+mat.Inner(v, f.cov, v))
}

// student is the quantile of Student's t distribution.
func student(p float64, df int) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile(p)
}

// Mean returns the mean, the sample standard deviation (n-1) and the 95 % confidence
// interval of the mean.
func Mean(v []float64) (mean, sd, low, high float64, err error) {
	n := float64(len(v))
	if n < 2 {
		return 0, 0, 0, 0, fmt.Errorf("mean: %d cases, at least 2 are needed", len(v))
	}
	for _, x := range v { // about the first value, so that a large common part does not round away
		mean += (x - v[0]) / n
	}
	mean += v[0]
	var ss, s float64
	for _, x := range v {
		ss += (x - mean) * (x - mean)
		s += x - mean
	}
	sd = math.Sqrt((ss - s*s/n) / (n - 1)) // corrected two-pass, Chan, Golub and LeVeque 1983
	half := student(0.975, len(v)-1) * sd / math.Sqrt(n)
	return mean, sd, mean - half, mean + half, nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
