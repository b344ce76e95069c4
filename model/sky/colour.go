package sky

import (
	"fmt"
	"math"
	"sync"

	"fieldfare/model/unit"
)

// Tint is a correlated colour temperature with its spread, held between 1429 and 41,667 K. Known is
// false where no model holds.
type Tint struct {
	Mid, Low, High unit.ColorTemperature
	Known          bool
}

// Colour is the colour of the light on a surface.
type Colour struct {
	Sun, Sky, Mix Tint
	// Balance is the fixed camera white balance to suggest: the mix, to 100 K, between 2500 and
	// 10,000 K.
	Balance unit.ColorTemperature
	Unknown string // why there is no mix
}

// The spectra run from 380 to 780 nm in steps of 10.
const bands = 41

type (
	spectrum     [bands]float64
	chromaticity struct{ x, y float64 }
)

// turbidity is Ångström's β: clear air of the IES practice (its c = 0.21 at 555 nm less the
// Rayleigh part), then mountain air and haze, the spread stated (from memory).
const (
	turbidityClear    = 0.053
	turbidityMountain = 0.01
	turbidityHazy     = 0.15
)

// Colour returns the colour of the light e, which fell from d. The direct beam is a black body at
// the sun's 5772 K (IAU 2015 resolution B3) through Rayleigh scattering (Leckner 1978) and haze
// (Ångström, exponent 1.3); the clear sky is what those take out of the beam, scattered once and
// seen overhead. The spread runs from mountain air to haze. An overcast sky is taken as 6500 K,
// 6000 to 7500 K (published figures 6700 to 7000 K, no primary source), a partly cloudy one as
// half cloud and half blue. No published table of colour temperature by solar altitude was found;
// measured daylight runs from 3000 K to beyond any number (Hernández-Andrés and others, 1999), so
// keep the spread with the number. Ozone, coloured ground and clouds lit by a low sun are left
// out; with the sun down it is unknown.
func (d Daylight) Colour(e Illuminance) Colour {
	if d.Unknown != "" || d.Altitude < 0 {
		return Colour{Unknown: "the sun is down: twilight has no one colour temperature (measured 3800 K to beyond any number)"}
	}
	var c Colour
	at := func(turbidity float64) (sun, sky, mix unit.ColorTemperature) {
		beam, blue := scatter(AirMass(d.Altitude), turbidity)
		sunXY, skyXY := beam.chromaticity(), d.Class.skylight(blue)
		return temperature(sunXY), temperature(skyXY),
			temperature(blend(sunXY, e.DirectLx, skyXY, e.SkyLx+e.GroundLx))
	}
	sun, sky, mix := at(turbidityClear)
	sun1, sky1, mix1 := at(turbidityMountain)
	sun2, sky2, mix2 := at(turbidityHazy)
	if d.DirectNormalLx > 0 {
		c.Sun = spread(sun, sun1, sun2)
	}
	c.Sky = spread(sky, sky1, sky2)
	if d.Class == Overcast {
		c.Sky.Low, c.Sky.High = 6000, 7500
	}
	switch {
	case e.DirectLx+e.SkyLx+e.GroundLx <= 0:
		c.Unknown = "no light falls on this surface"
		return c
	case d.Class == Overcast:
		c.Mix = c.Sky
	default:
		c.Mix = spread(mix, mix1, mix2)
	}
	c.Balance = unit.ColorTemperature(min(10000, max(2500, 100*math.Round(float64(c.Mix.Mid)/100))))
	return c
}

func spread(mid, a, b unit.ColorTemperature) Tint {
	return Tint{Mid: mid, Low: min(mid, a, b), High: max(mid, a, b), Known: true}
}

// skylight returns the chromaticity of the sky of a class whose blue part is given.
func (c Class) skylight(blue spectrum) chromaticity {
	cloud := chromaticity{0.31272, 0.32903} // CIE D65
	switch c {
	case Overcast:
		return cloud
	case PartlyCloudy:
		return blend(cloud, 1, blue.chromaticity(), 1)
	}
	return blue.chromaticity()
}

// scatter returns the direct beam and the light that reaches the ground after one scattering, as
// seen overhead, in the same arbitrary unit. Air high up is lit by a beam still white when the
// beam at the ground is red: hence the integral over depth, (e^-τ - e^-mτ)/((m-1)τ).
func scatter(airMass, turbidity float64) (beam, blue spectrum) {
	const (
		half    = 0.5  // share of the Rayleigh light that goes down
		forward = 0.84 // share of the haze's (Iqbal 1983, from memory)
	)
	m := max(airMass, 1.001)
	a := air()
	for i := range beam {
		haze := turbidity * a.haze[i]
		depth := a.rayleigh[i] + haze
		up, through := math.Exp(-depth), math.Exp(-m*depth)
		beam[i] = a.light[i] * through
		blue[i] = a.light[i] * (half*a.rayleigh[i] + forward*haze) * (up - through) / ((m - 1) * depth)
	}
	return beam, blue
}

// air holds what does not change: sunlight above the air, the optical depth of Rayleigh scattering
// at sea level (Leckner 1978), and of haze for a turbidity of 1.
var air = sync.OnceValue(func() *struct{ light, rayleigh, haze spectrum } {
	var a struct{ light, rayleigh, haze spectrum }
	for i := range bands {
		um := wavelengthM(i) * 1e6
		a.light[i] = planck(um*1e-6, 5772)
		a.rayleigh[i] = 0.008735 * math.Pow(um, -4.08)
		a.haze[i] = math.Pow(um, -1.3)
	}
	return &a
})

func wavelengthM(band int) float64 { return (380 + 10*float64(band)) * 1e-9 }

// planck returns the black body's spectral radiance, arbitrary unit, wavelength in m.
func planck(wavelength, kelvin float64) float64 {
	const c2 = 1.438776877e-2 // second radiation constant, m K (CODATA 2018)
	return math.Pow(wavelength*1e6, -5) / math.Expm1(c2/(wavelength*kelvin))
}

// matching holds the colour matching functions of the CIE 1931 observer (CIE 15, table for 10 nm).
var matching = [3]spectrum{
	{
		0.0014, 0.0042, 0.0143, 0.0435, 0.1344, 0.2839, 0.3483, 0.3362, 0.2908, 0.1954, 0.0956, 0.032, 0.0049, 0.0093,
		0.0633, 0.1655, 0.2904, 0.4334, 0.5945, 0.7621, 0.9163, 1.0263, 1.0622, 1.0026, 0.8544, 0.6424, 0.4479, 0.2835,
		0.1649, 0.0874, 0.0468, 0.0227, 0.0114, 0.0058, 0.0029, 0.0014, 0.0007, 0.0003, 0.0002, 0.0001, 0,
	},
	{
		0, 0.0001, 0.0004, 0.0012, 0.004, 0.0116, 0.023, 0.038, 0.06, 0.091, 0.139, 0.208, 0.323, 0.503,
		0.71, 0.862, 0.954, 0.995, 0.995, 0.952, 0.87, 0.757, 0.631, 0.503, 0.381, 0.265, 0.175, 0.107,
		0.061, 0.032, 0.017, 0.0082, 0.0041, 0.0021, 0.001, 0.0005, 0.0003, 0.0001, 0.0001, 0, 0,
	},
	{
		0.0065, 0.0201, 0.0679, 0.2074, 0.6456, 1.3856, 1.7471, 1.7721, 1.6692, 1.2876, 0.813, 0.4652, 0.272, 0.1582,
		0.0782, 0.0422, 0.0203, 0.0087, 0.0039, 0.0021, 0.0017, 0.0011, 0.0008, 0.0003, 0.0002, 0, 0, 0,
		0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
	},
}

func (s *spectrum) chromaticity() chromaticity {
	var xyz [3]float64
	for axis, cmf := range &matching {
		for i := range s {
			xyz[axis] += s[i] * cmf[i]
		}
	}
	sum := xyz[0] + xyz[1] + xyz[2]
	return chromaticity{xyz[0] / sum, xyz[1] / sum}
}

// blend mixes two lights by their illuminances.
func blend(a chromaticity, ea float64, b chromaticity, eb float64) chromaticity {
	// XYZ of a light with luminance e is e/y · (x, y, 1-x-y).
	ka, kb := ea/a.y, eb/b.y
	sum := ka + kb
	if !(sum > 0) {
		return b
	}
	return chromaticity{(ka*a.x + kb*b.x) / sum, (ka*a.y + kb*b.y) / sum}
}

// uv is a point of the CIE 1960 diagram.
type uv struct{ u, v float64 }

func (c chromaticity) uv() uv {
	d := -2*c.x + 12*c.y + 3
	return uv{4 * c.x / d, 6 * c.y / d}
}

const (
	firstMired, lastMired, miredStep = 24.0, 700.0, 2.0
)

// locus is the Planckian locus by mired, from 41,667 K down to 1429 K.
var locus = sync.OnceValue(func() []uv {
	var points []uv
	for m := firstMired; m <= lastMired; m += miredStep {
		var s spectrum
		for i := range s {
			s[i] = planck(wavelengthM(i), 1e6/m)
		}
		points = append(points, s.chromaticity().uv())
	}
	return points
})

// temperature returns the correlated colour temperature: the nearest point of the Planckian locus
// in the CIE 1960 diagram (CIE 15). Bluer than the locus reaches gives its end, 41,667 K.
func temperature(c chromaticity) unit.ColorTemperature {
	points, at := locus(), c.uv()
	distance := func(i int) float64 {
		du, dv := points[i].u-at.u, points[i].v-at.v
		return du*du + dv*dv
	}
	best := 0
	for i := range points {
		if distance(i) < distance(best) {
			best = i
		}
	}
	mired := firstMired + miredStep*float64(best)
	if best > 0 && best < len(points)-1 {
		a, b, c := distance(best-1), distance(best), distance(best+1)
		mired += miredStep * 0.5 * (a - c) / (a - 2*b + c)
	}
	return unit.ColorTemperature(1e6 / mired)
}

// CorrelatedTemperature returns the correlated colour temperature of a CIE 1931 chromaticity,
// valid from about 1500 to 40,000 K and for light that is nearly white (within 0.05 of the
// Planckian locus in the CIE 1960 diagram).
func CorrelatedTemperature(x, y float64) (unit.ColorTemperature, error) {
	c := chromaticity{x, y}
	if !(x > 0 && y > 0 && x+y < 1) {
		return 0, fmt.Errorf("chromaticity (%g, %g) is not a colour: x and y must be positive with a sum under 1", x, y)
	}
	t := temperature(c)
	points, at := locus(), c.uv()
	p := points[min(len(points)-1, int((1e6/float64(t)-firstMired)/miredStep))]
	if math.Hypot(p.u-at.u, p.v-at.v) > 0.05 {
		return 0, fmt.Errorf("chromaticity (%g, %g) is too far from white to have a colour temperature", x, y)
	}
	return t, nil
}
