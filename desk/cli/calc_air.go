package cli

import (
	"fmt"
	"io"
	"strings"

	"fieldfare/model/air"
	"fieldfare/model/unit"
)

type airCmd struct {
	Elevation   unit.Length      `required:"" help:"Height above sea level."`
	Temperature unit.Temperature `required:"" help:"Air temperature there."`
	Pressure    unit.Pressure    `default:"1013.25hPa" help:"Altimeter setting (QNH), the pressure reduced to sea level."`
	Humidity    unit.Ratio       `default:"0%" help:"Relative humidity."`

	Wind   unit.Speed  `help:"Mean wind at 10 m above ground."`
	Gust   unit.Speed  `help:"Reported gust at 10 m above ground."`
	Height unit.Length `help:"Height above ground at which the wind is wanted."`
	Ground string      `default:"open" help:"Ground cover upwind: sea, smooth, open, roughly open, rough, very rough, closed, chaotic."`
}

type airResult struct {
	Density          float64 `json:"density_kg_m3"`
	DensityAltitude  float64 `json:"density_altitude_m"`
	Pressure         float64 `json:"pressure_hpa"`
	PressureAltitude float64 `json:"pressure_altitude_m"`
	DensityRatio     float64 `json:"density_ratio"`

	Wind          *float64 `json:"wind_m_s,omitempty"`
	Gust          *float64 `json:"gust_m_s,omitempty"`
	GustEstimated *bool    `json:"gust_estimated,omitempty"`
	Caution       string   `json:"caution"`
}

func (c airCmd) Run(s *Session) error {
	day, err := air.NewDay(float64(c.Elevation), float64(c.Temperature), float64(c.Pressure), float64(c.Humidity))
	if err != nil {
		return err
	}
	rho := day.Ground.Density()
	r := airResult{
		Density: rho, DensityAltitude: air.DensityAltitude(rho), DensityRatio: rho / air.StandardDensity,
		Pressure: day.Ground.PressurePa / 100, PressureAltitude: air.PressureAltitude(day.Ground.PressurePa),
		Caution: SafetySentence,
	}
	if c.Height != 0 || c.Wind != 0 || c.Gust != 0 {
		if c.Wind < 0 || c.Gust < 0 || c.Gust > 0 && c.Gust < c.Wind || c.Height <= 0 {
			return fmt.Errorf("wind %v, gust %v at height %v: give a wind of 0 or more, a gust of at least the wind or none, and a height above 0", c.Wind, c.Gust, c.Height)
		}
		shear, err := air.OverGround(c.Ground)
		if err != nil {
			return err
		}
		w, estimated := air.Wind{MeanMS: float64(c.Wind), GustMS: float64(c.Gust), HeightM: 10}.At(float64(c.Height), shear)
		r.Wind, r.Gust, r.GustEstimated = &w.MeanMS, &w.GustMS, &estimated
	}
	return s.emit(r, func(w io.Writer) {
		fmt.Fprintf(w, "density           %.4f kg/m3 (%.1f %% of standard)\n", r.Density, r.DensityRatio*100)
		fmt.Fprintf(w, "density altitude  %.0f m\n", r.DensityAltitude)
		fmt.Fprintf(w, "pressure          %.2f hPa (pressure altitude %.0f m)\n", r.Pressure, r.PressureAltitude)
		if r.Wind != nil {
			how := "from the reported gust"
			if *r.GustEstimated {
				how = "an estimate: no gust was reported"
			}
			fmt.Fprintf(w, "wind at %.0f m      %.1f m/s, gusts %.1f m/s (%s; level %s ground, no ridges or eddies)\n", float64(c.Height), *r.Wind, *r.Gust, how, strings.ToLower(c.Ground))
		}
		fmt.Fprintln(w, SafetySentence)
	})
}
