package rotor

import (
	"fmt"
	"math"

	"fieldfare/model/air"
)

// Hovering is a hover that someone measured: the maker's hover time at a mass with the
// pack's energy, or a line of the log.
type Hovering struct {
	Source    string  // shown with the fit
	MassKg    float64 // take-off mass
	Density   float64 // kg/m³
	DurationS float64
	EnergyJ   float64 // drawn from the pack in that time
}

// Fitted is how well the model meets the hovers that it was fitted to.
type Fitted struct {
	Efficiency float64 // hover: ideal power over pack power, accessories apart
	AccessoryW float64
	Points     []FittedPoint
	Spread     float64 // standard deviation of the relative residuals; 0 with one hover
	Note       string
}

// FittedPoint is one hover with the fitted model's answer.
type FittedPoint struct {
	Hovering
	MeasuredW, ModelW float64
	Residual          float64 // (model - measured) / measured
}

// Fit calibrates the airframe to measured hovers. Power in hover is
//
//	P = accessories + (m g)^1.5 / sqrt(2 rho A) / efficiency
//
// which is a straight line in x = (m g)^1.5/sqrt(2 rho A). One hover, or several of about
// the same mass, fix the efficiency with the airframe's AccessoryW kept. Two or more
// whose x differs by a fifth fix both, by least squares, unless the accessories would
// come out negative. The efficiency is divided into figure of merit and drive
// efficiency by keeping the latter as far as the former stays possible; the split moves
// forward flight a little and hover not at all.
func (a Airframe) Fit(hovers []Hovering) (Airframe, Fitted, error) {
	if err := a.Check(); err != nil {
		return a, Fitted{}, err
	}
	if len(hovers) == 0 {
		return a, Fitted{}, fmt.Errorf("no hover to fit to: give a mass, a time and an energy")
	}
	x, p := make([]float64, len(hovers)), make([]float64, len(hovers))
	low, high := math.Inf(1), 0.0
	for i, h := range hovers {
		if _, err := a.At(h.MassKg, h.Density); err != nil {
			return a, Fitted{}, fmt.Errorf("hover %d (%s): %w", i+1, h.Source, err)
		}
		if !(h.DurationS >= 10 && h.DurationS <= 6*3600) {
			return a, Fitted{}, fmt.Errorf("hover %d (%s): duration %.4g s is outside 10 s to 6 h", i+1, h.Source, h.DurationS)
		}
		if !(h.EnergyJ > 0 && h.EnergyJ < 1e9) {
			return a, Fitted{}, fmt.Errorf("hover %d (%s): energy %.4g Wh is not possible", i+1, h.Source, h.EnergyJ/3600)
		}
		x[i] = math.Pow(h.MassKg*air.GravityMS2, 1.5) / math.Sqrt(2*h.Density*a.DiscAreaM2())
		p[i] = h.EnergyJ / h.DurationS
		low, high = math.Min(low, x[i]), math.Max(high, x[i])
	}
	accessory, slope := a.AccessoryW, 0.0
	note := "efficiency fitted, accessory power kept"
	if high >= 1.2*low {
		if intercept, s := line(x, p); intercept > -1e-6*p[0] {
			accessory, slope = math.Max(0, intercept), s
			note = "efficiency and accessory power fitted"
		} else {
			note = "efficiency fitted; accessory power kept, since the hovers would make it negative"
		}
	}
	if slope == 0 {
		// Least squares through the kept intercept.
		var xy, xx float64
		for i := range x {
			xy += x[i] * (p[i] - accessory)
			xx += x[i] * x[i]
		}
		slope = xy / xx
	}
	if !(slope > 0) {
		return a, Fitted{}, fmt.Errorf("the hovers leave no power for the rotors beside %.0f W of accessories: check energy and duration", accessory)
	}
	fit := Fitted{Efficiency: 1 / slope, AccessoryW: accessory, Note: note}
	fitted, err := a.withEfficiency(fit.Efficiency)
	if err != nil {
		return a, fit, err
	}
	fitted.AccessoryW = accessory
	if err := fitted.Check(); err != nil {
		return a, fit, fmt.Errorf("the fit is not possible: %w", err)
	}
	var squares float64
	for i, h := range hovers {
		model := accessory + slope*x[i]
		r := model/p[i] - 1
		squares += r * r
		fit.Points = append(fit.Points, FittedPoint{h, p[i], model, r})
	}
	if len(hovers) > 1 {
		fit.Spread = math.Sqrt(squares / float64(len(hovers)-1))
	}
	return fitted, fit, nil
}

// withEfficiency sets figure of merit and drive efficiency so that hover reaches the
// given overall efficiency.
func (a Airframe) withEfficiency(e float64) (Airframe, error) {
	k := a.InducedFactor
	extra := 0.0 // coaxial interference adds to the inverse of the figure of merit
	if a.Coaxial {
		extra = k * (coaxialInterference - 1)
	}
	most := math.Min(0.82, 0.97/k) // figure of merit
	a.FigureOfMerit = 1 / (a.DriveEfficiency/e - extra)
	if a.FigureOfMerit > most || a.FigureOfMerit <= 0 {
		a.FigureOfMerit = most
		a.DriveEfficiency = e * (1/most + extra)
	}
	if a.FigureOfMerit < 0.3 {
		a.FigureOfMerit = 0.3
		a.DriveEfficiency = e * (1/0.3 + extra)
	}
	if a.DriveEfficiency > 0.95 || a.DriveEfficiency < 0.3 {
		return a, fmt.Errorf("the hovers need an overall efficiency of %.2f, which no such aircraft has (about 0.1 to 0.75): check mass, rotor diameter, energy and duration", e)
	}
	return a, nil
}

// line is the least-squares line y = intercept + slope x.
func line(x, y []float64) (intercept, slope float64) {
	n := float64(len(x))
	var mx, my float64
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	var xy, xx float64
	for i := range x {
		xy += (x[i] - mx) * (y[i] - my)
		xx += (x[i] - mx) * (x[i] - mx)
	}
	return my - xy/xx*mx, xy / xx
}
