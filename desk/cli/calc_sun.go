package cli

import (
	"fmt"
	"io"
	"math"
	"strconv"
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
	Sky    sky.Class      `default:"clear" help:"clear, partly cloudy or overcast."`
	Slope  unit.Angle     `default:"0deg" help:"Tilt of the lit surface from level, as in 90deg for a wall."`
	Facing unit.Angle     `default:"180deg" help:"Azimuth that the tilted surface faces."`
	Shaded bool           `help:"Something hides the sun: no direct light."`
	Ground unit.Ratio     `default:"20%" help:"Share of the light that the ground gives back."`
	spot   `embed:""`
}

type sunResult struct {
	At          string  `json:"at"`
	AltitudeDeg float64 `json:"altitude_deg"` // of the centre, with refraction
	ZenithDeg   float64 `json:"zenith_deg"`
	AzimuthDeg  float64 `json:"azimuth_deg"`

	AirlessAltitudeDeg float64 `json:"airless_altitude_deg"`
	SemidiameterDeg    float64 `json:"semidiameter_deg"`
	DeltaTS            float64 `json:"delta_t_s"`

	Sky               string   `json:"sky"`
	DirectLx          *float64 `json:"illuminance_direct_lx"` // on the level, in the open
	SkyLx             *float64 `json:"illuminance_sky_lx"`
	DirectNormalLx    *float64 `json:"illuminance_direct_normal_lx"`
	SurfaceLx         *float64 `json:"illuminance_surface_lx"` // on the surface asked for
	IlluminanceSpread *float64 `json:"illuminance_spread_factor"`
	IlluminanceReason string   `json:"illuminance_reason,omitempty"`
	CCTK              *float64 `json:"cct_k"` // of the light on the surface asked for
	CCTLowK           *float64 `json:"cct_low_k"`
	CCTHighK          *float64 `json:"cct_high_k"`
	CCTSunK           *float64 `json:"cct_sun_k"`
	CCTSkyK           *float64 `json:"cct_sky_k"`
	BalanceK          *float64 `json:"white_balance_k"`
	CCTReason         string   `json:"cct_reason,omitempty"`
	ShadowRatio       *float64 `json:"shadow_ratio"`
	ShadowAzimuthDeg  *float64 `json:"shadow_azimuth_deg"`
	ShadowReason      string   `json:"shadow_reason,omitempty"`

	MoonAltitudeDeg         float64  `json:"moon_altitude_deg"`
	MoonAzimuthDeg          float64  `json:"moon_azimuth_deg"`
	MoonIlluminatedFraction float64  `json:"moon_illuminated_fraction"`
	MoonWaxing              bool     `json:"moon_waxing"`
	MoonLx                  *float64 `json:"moon_illuminance_lx"` // on the level
	MoonLowLx               *float64 `json:"moon_illuminance_low_lx"`
	MoonHighLx              *float64 `json:"moon_illuminance_high_lx"`
	MoonReason              string   `json:"moon_illuminance_reason,omitempty"`

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
	if c.Ground < 0 || c.Ground > 1 {
		return fmt.Errorf("ground reflectance %s is outside 0 to 100 %%: grass gives back about 20 %%", c.Ground)
	}
	if c.Slope < 0 || c.Slope > 180*unit.Degree {
		return fmt.Errorf("slope %s is outside 0 to 180 deg: 0 deg is level, 90 deg a wall", c.Slope)
	}
	sun, moon, phase := place.Sun(at), place.Moon(at), at.MoonPhase()
	r := sunResult{
		At:          c.At.Format(time.RFC3339),
		AltitudeDeg: sun.Altitude.Deg(), ZenithDeg: sun.Zenith().Deg(), AzimuthDeg: sun.Azimuth.Deg(),
		AirlessAltitudeDeg: sun.AirlessAltitude.Deg(), SemidiameterDeg: sun.Semidiameter.Deg(), DeltaTS: at.DeltaTSeconds(),
		Sky:             string(c.Sky),
		MoonAltitudeDeg: moon.Altitude.Deg(), MoonAzimuthDeg: moon.Azimuth.Deg(),
		MoonIlluminatedFraction: phase.IlluminatedFraction, MoonWaxing: phase.Waxing,
		Caution: SafetySentence,
	}
	r.light(at.Daylight(sun, c.Sky), c)
	if shadow, ok := sun.Shadow(); ok {
		r.ShadowRatio, r.ShadowAzimuthDeg = new(shadow.LengthRatio), new(shadow.Azimuth.Deg())
	} else {
		r.ShadowReason = "the sun is below the horizon"
	}
	if light := moon.Moonlight(phase, c.Sky); light.Unknown != "" {
		r.MoonReason = light.Unknown
	} else {
		r.MoonLx, r.MoonLowLx, r.MoonHighLx = new(light.HorizontalLx), new(light.LowLx), new(light.HighLx)
	}
	return s.emit(r, r.print)
}

func (r *sunResult) light(d sky.Daylight, c sunCmd) {
	surface := d.On(sky.Surface(c.Slope, c.Facing), c.Shaded, float64(c.Ground))
	if d.Unknown != "" {
		r.IlluminanceReason = d.Unknown
	} else {
		direct := d.DirectHorizontalLx
		if c.Shaded {
			direct = 0
		}
		spread := float64(sky.DaylightSpread)
		if d.Altitude < 0 {
			spread = sky.TwilightSpread
		}
		r.DirectLx, r.SkyLx, r.DirectNormalLx = new(direct), new(d.SkyHorizontalLx), new(d.DirectNormalLx)
		r.SurfaceLx, r.IlluminanceSpread = new(surface.TotalLx()), &spread
	}
	colour := d.Colour(surface)
	if colour.Unknown != "" {
		r.CCTReason = colour.Unknown
		return
	}
	r.CCTK, r.CCTLowK, r.CCTHighK = kelvin(colour.Mix.Mid), kelvin(colour.Mix.Low), kelvin(colour.Mix.High)
	r.CCTSkyK, r.BalanceK = kelvin(colour.Sky.Mid), kelvin(colour.Balance)
	if colour.Sun.Known {
		r.CCTSunK = kelvin(colour.Sun.Mid)
	}
}

func kelvin(t unit.ColorTemperature) *float64 { return new(math.Round(float64(t))) }

func (r *sunResult) print(w io.Writer) {
	fmt.Fprintf(w, "Sun at %s: altitude %.2f deg, azimuth %.2f deg\n", r.At, r.AltitudeDeg, r.AzimuthDeg)
	if r.DirectLx != nil {
		fmt.Fprintf(w, "Light, %s sky: %s lx direct and %s lx from the sky on the level; %s lx on the surface asked for (means; a moment may be %g times less or more)\n",
			r.Sky, lux(*r.DirectLx), lux(*r.SkyLx), lux(*r.SurfaceLx), *r.IlluminanceSpread)
	} else {
		fmt.Fprintf(w, "Light: unknown, %s\n", r.IlluminanceReason)
	}
	if r.CCTK != nil {
		fmt.Fprintf(w, "Colour: %.0f K (%.0f to %.0f K), suggested fixed white balance %.0f K\n", *r.CCTK, *r.CCTLowK, *r.CCTHighK, *r.BalanceK)
	} else {
		fmt.Fprintf(w, "Colour: unknown, %s\n", r.CCTReason)
	}
	if r.ShadowRatio != nil {
		fmt.Fprintf(w, "Shadow: %.2f times the height, toward %.1f deg\n", *r.ShadowRatio, *r.ShadowAzimuthDeg)
	} else {
		fmt.Fprintf(w, "Shadow: none, %s\n", r.ShadowReason)
	}
	fmt.Fprintf(w, "Moon: altitude %.2f deg, azimuth %.2f deg, %.0f %% lit, ", r.MoonAltitudeDeg, r.MoonAzimuthDeg, 100*r.MoonIlluminatedFraction)
	if r.MoonLx != nil {
		fmt.Fprintf(w, "%.2g lx on the level (%.2g to %.2g)\n", *r.MoonLx, *r.MoonLowLx, *r.MoonHighLx)
	} else {
		fmt.Fprintf(w, "light unknown: %s\n", r.MoonReason)
	}
	fmt.Fprintln(w, SafetySentence)
}

// lux writes an illuminance to three figures.
func lux(x float64) string {
	if x < 100 {
		return strconv.FormatFloat(x, 'g', 3, 64)
	}
	unit := math.Pow(10, math.Floor(math.Log10(x))-2)
	return strconv.FormatFloat(math.Round(x/unit)*unit, 'f', 0, 64)
}
