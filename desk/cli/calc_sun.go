package cli

import (
	"fmt"
	"io"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// spot is where and in what air a calculator looks at the sky.
type spot struct {
	Lat         float64           `required:"" help:"Latitude in decimal degrees, north positive."`
	Lon         float64           `required:"" help:"Longitude in decimal degrees, east positive."`
	Elevation   unit.Length       `default:"0m" help:"Height above sea level, as in 1830m."`
	Pressure    *unit.Pressure    `help:"Air pressure at the place, as in 820hPa (standard atmosphere if left out)."`
	Temperature *unit.Temperature `help:"Air temperature, as in 11C (standard atmosphere if left out)."`
}

func (s spot) place() (sky.Place, error) {
	p, err := sky.NewPlace(unit.Angle(s.Lat)*unit.Degree, unit.Angle(s.Lon)*unit.Degree, float64(s.Elevation))
	if err != nil {
		return p, err
	}
	if s.Pressure != nil {
		p.PressurePa = float64(*s.Pressure)
	}
	if s.Temperature != nil {
		p.TemperatureK = float64(*s.Temperature)
	}
	return p, p.Check()
}

type sunCmd struct {
	At     time.Time      `required:"" help:"When, as in 2026-06-21T10:30:00+02:00."`
	DeltaT *unit.Duration `name:"delta-t" help:"TT minus UT1, as in 69s (a published polynomial if left out)."`
	spot   `embed:""`
}

type sunResult struct {
	At          string  `json:"at"`
	AltitudeDeg float64 `json:"altitude_deg"`
	ZenithDeg   float64 `json:"zenith_deg"`
	AzimuthDeg  float64 `json:"azimuth_deg"`

	AirlessAltitudeDeg float64 `json:"airless_altitude_deg"`
	SemidiameterDeg    float64 `json:"semidiameter_deg"`
	DeltaTS            float64 `json:"delta_t_s"`

	MoonAltitudeDeg         float64 `json:"moon_altitude_deg"`
	MoonAzimuthDeg          float64 `json:"moon_azimuth_deg"`
	MoonIlluminatedFraction float64 `json:"moon_illuminated_fraction"`

	Caution string `json:"caution"`
}

// Run prints where sun and moon stand and the light they give.
func (c sunCmd) Run(s *Session) error {
	place, err := c.place()
	if err != nil {
		return err
	}
	at, err := sky.At(c.At)
	if err != nil {
		return err
	}
	if c.DeltaT != nil {
		if at, err = at.WithDeltaT(float64(*c.DeltaT)); err != nil {
			return err
		}
	}
	sun, moon, phase := place.Sun(at), place.Moon(at), at.MoonPhase()
	r := sunResult{
		At:          c.At.Format(time.RFC3339),
		AltitudeDeg: sun.Altitude.Deg(), ZenithDeg: sun.Zenith().Deg(), AzimuthDeg: sun.Azimuth.Deg(),
		AirlessAltitudeDeg: sun.AirlessAltitude.Deg(), SemidiameterDeg: sun.Semidiameter.Deg(), DeltaTS: at.DeltaTSeconds(),
		MoonAltitudeDeg: moon.Altitude.Deg(), MoonAzimuthDeg: moon.Azimuth.Deg(), MoonIlluminatedFraction: phase.IlluminatedFraction,
		Caution: SafetySentence,
	}
	return s.emit(r, func(w io.Writer) {
		fmt.Fprintf(w, "sun at %s: altitude %.3f deg, azimuth %.3f deg\n", r.At, r.AltitudeDeg, r.AzimuthDeg)
		fmt.Fprintf(w, "moon: altitude %.2f deg, azimuth %.2f deg, %.0f %% lit\n", r.MoonAltitudeDeg, r.MoonAzimuthDeg, 100*r.MoonIlluminatedFraction)
		fmt.Fprintln(w, SafetySentence)
	})
}
