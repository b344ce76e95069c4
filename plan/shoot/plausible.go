package shoot

import (
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// bound is one number of the shelf with the range in which such gear exists.
type bound struct {
	key       string
	v         float64
	low, high float64
	mend      string
}

// within reports the numbers outside their range. NaN is outside every range.
func (m marks) within(at string, bounds ...bound) (wrong Mistakes) {
	for _, b := range bounds {
		if !(b.v >= b.low && b.v <= b.high) {
			mend := b.mend
			if mend == "" {
				mend = "check the number and its unit"
			}
			wrong = append(wrong, m.at(at+"."+b.key, fmt.Sprintf("no such gear or limit: %.4g in SI units, where %.4g to %.4g is expected", b.v, b.low, b.high), mend, fmt.Sprint(b.v)))
		}
	}
	return wrong
}

func orZero(l *unit.Length) float64 {
	if l == nil {
		return 0
	}
	return float64(*l)
}

// plausible holds every number of a shelf file against what such gear can be.
func (k *Kit) plausible(m marks) (wrong Mistakes) {
	add := func(more Mistakes) { wrong = append(wrong, more...) }
	for i, x := range k.Airframes {
		at := fmt.Sprintf("airframes[%d]", i)
		add(m.within(at, bound{"rotors", float64(x.Rotors), 3, 16, "count driven rotors, a coaxial pair as two"}, bound{"rotor_diameter", float64(x.RotorDiameter), 0.02, 3, ""},
			bound{"size", float64(x.Size), float64(x.RotorDiameter), 10, "give the largest dimension, rotors included"}, bound{"max_takeoff", float64(x.MaxTakeoff), float64(x.Mass), 600, "it must be more than the airframe's own mass"},
			bound{"drag_area_m2", x.DragArea, 0, 10, ""}, bound{"max_thrust", float64(x.MaxThrust), 0, 5000, ""}, bound{"tilt_limit", float64(x.TiltLimit), 0, 1.4, ""},
			bound{"noise_db_10m", x.Noise, 0, 140, ""}, bound{"packs_fitted", float64(x.PacksFitted), 0, 32, ""}, bound{"wind", float64(x.Wind), 0, 60, ""},
			bound{"centre_forward", orZero(x.CentreForward), -5, 5, ""}, bound{"centre_up", orZero(x.CentreUp), -5, 5, ""}, bound{"packs_forward", orZero(x.PacksForward), -5, 5, ""}, bound{"packs_up", orZero(x.PacksUp), -5, 5, ""},
			bound{"hub_forward", float64(x.HubForward), -5, 5, ""}, bound{"rotor_above", float64(x.RotorAbove), -3, 3, ""}, bound{"gear_half_width", float64(x.GearHalfWidth), 0, 5, ""}, bound{"gear_drop", float64(x.GearDrop), 0, 5, ""}, bound{"gear_length", float64(x.GearLength), 0, 5, ""}))
		for j, h := range x.Hovers {
			add(m.within(fmt.Sprintf("%s.more_hovers[%d]", at, j), bound{"mass", float64(h.Mass), 0.01, 600, ""}, bound{"time", float64(h.Time), 1, 1e6, ""}, bound{"energy", float64(h.Energy), 1, 1e9, ""}, bound{"elevation", float64(h.Elevation), -500, 6000, ""}))
		}
	}
	for i, x := range k.Gimbals {
		at := fmt.Sprintf("gimbals[%d]", i)
		add(m.within(at, bound{"mass", float64(x.Mass), 1e-3, 100, ""}, bound{"payload", float64(x.Payload), 0, 100, ""}, bound{"tilt_to", float64(x.TiltTo), float64(x.TiltFrom), 4 * math.Pi, "tilt runs from the lower to the higher angle"},
			bound{"pan_to", float64(x.PanTo), float64(x.PanFrom), 100, "pan runs from the lower to the higher angle"}, bound{"roll_limit", float64(x.RollLimit), 0, math.Pi, ""}, bound{"torque", float64(x.Torque), 0, 1000, ""},
			bound{"tilt_rate", float64(x.TiltRate), 0, 100, ""}, bound{"pan_rate", float64(x.PanRate), 0, 100, ""}, bound{"plate_travel", float64(x.MoveTravel), 0, 1, ""}, bound{"height_travel", float64(x.HeightTravel), 0, 1, ""},
			bound{"side_travel", float64(x.SideTravel), 0, 1, ""}, bound{"pan_travel", float64(x.PanTravel), 0, 1, ""}, bound{"plate_up", orZero(x.PlateUp), -1, 1, ""}, bound{"screw_forward", orZero(x.ScrewForward), -1, 1, ""},
			bound{"arm_mass", float64(x.ArmMass), 0, 50, ""}, bound{"counterweight_arm", float64(x.CounterArm), 0, 2, ""}, bound{"imbalance_share", float64(x.ImbalanceShare), 0, 1, ""}, bound{"residual", float64(x.Residual), 0, 10, ""}, bound{"residual_per_wind", float64(x.ResidualPerWind), 0, 10, ""}))
	}
	for i, x := range k.Cameras {
		at := fmt.Sprintf("cameras[%d]", i)
		add(m.within(at, bound{"mass", float64(x.Mass), 1e-3, 50, ""}, bound{"sensor_width", float64(x.SensorWidth), 1e-3, 0.2, ""}, bound{"sensor_height", float64(x.SensorHeight), 1e-3, 0.2, ""}, bound{"stops_over", x.StopsOver, 0, 20, ""}, bound{"stops_under", x.StopsUnder, 0, 20, ""},
			bound{"centre_forward", float64(x.CentreForward), -1, 1, ""}, bound{"centre_up", float64(x.CentreUp), -1, 1, ""}, bound{"centre_right", float64(x.CentreRight), -1, 1, ""}, bound{"mount_forward", float64(x.MountForward), -1, 1, ""}, bound{"mount_up", orZero(x.MountUp), -1, 1, ""}))
		for j, f := range x.Formats {
			add(m.within(fmt.Sprintf("%s.formats[%d]", at, j), bound{"width", float64(f.Width), 64, 65536, ""}, bound{"height", float64(f.Height), 64, 65536, ""}, bound{"crop_width", float64(f.CropWidth), 0, float64(x.SensorWidth) * 1.001, "a format records at most the whole sensor"},
				bound{"crop_height", float64(f.CropHeight), 0, float64(x.SensorHeight) * 1.001, "a format records at most the whole sensor"}, bound{"bit_rate", float64(f.BitRate), 0, 1e11, ""}))
		}
	}
	for i, x := range k.Lenses {
		at := fmt.Sprintf("lenses[%d]", i)
		add(m.within(at, bound{"mass", float64(x.Mass), 1e-3, 30, ""}, bound{"focal", float64(x.Focal), 1e-3, 2, ""}, bound{"thread", float64(x.Thread), 0, 0.3, ""}, bound{"near_focus", float64(x.NearFocus), 0, 100, ""},
			bound{"centre_forward", float64(x.CentreForward), -0.5, 1, ""}, bound{"squeeze", x.Squeeze, 0, 3, ""}, bound{"length", float64(x.Length), 0, 2, ""}, bound{"diameter", float64(x.Diameter), 0, 1, ""}))
		if x.GoodFrom != 0 || x.GoodTo != 0 {
			add(m.within(at, bound{"good_from", float64(x.GoodFrom), float64(x.Widest), float64(x.Smallest), "the good range lies within the lens's apertures"}, bound{"good_to", float64(x.GoodTo), float64(x.GoodFrom), float64(x.Smallest), "the good range lies within the lens's apertures"}))
		}
	}
	for i, x := range k.Filters {
		at := fmt.Sprintf("filters[%d]", i)
		add(m.within(at, bound{"mass", float64(x.Mass), 0, 3, ""}, bound{"thread", float64(x.Thread), 0, 0.3, ""}, bound{"depth", float64(x.Depth), 0, 0.1, ""}))
		low := 0.01
		if x.Kind == "polariser" {
			low = 0
		}
		add(m.within(at, bound{"density", x.Density, low, 4, "0.3 is one stop"}))
	}
	for i, x := range k.Packs {
		at := fmt.Sprintf("packs[%d]", i)
		add(m.within(at, bound{"resistance", float64(x.Resistance), 0, 10, ""}, bound{"fade_per_cycle", float64(x.FadePerCycle), 0, 0.02, ""}, bound{"discharge_c", x.DischargeLimit, 0, 200, ""}, bound{"charge_c", x.ChargeLimit, 0, 10, ""}, bound{"voltage", float64(x.Voltage), 1, 1000, ""}))
		for j, c := range x.Cold {
			here := fmt.Sprintf("%s.cold[%d]", at, j)
			add(m.within(here, bound{"at", float64(c.At), 200, 350, ""}, bound{"share", float64(c.Share), 0.05, 1.1, "a share of the capacity"}))
			if j > 0 && c.At <= x.Cold[j-1].At {
				add(Mistakes{m.at(here+".at", "the cold table must run from cold to warm", "sort its rows", c.At.String())})
			}
		}
	}
	for i, x := range k.Chargers {
		at := fmt.Sprintf("chargers[%d]", i)
		add(m.within(at, bound{"ports", float64(x.Ports), 1, 64, ""}, bound{"power", float64(x.Power), 1, 1e5, ""}))
		if x.Efficiency != 0 {
			add(m.within(at, bound{"efficiency", float64(x.Efficiency), 0.5, 1, ""}))
		}
	}
	return wrong
}

// plausible holds the crew's own numbers against what they can mean.
func (c *checker) plausible() {
	s := c.s
	h := s.House
	c.wrong = append(c.wrong, s.marks.within("house", bound{"reserve", float64(h.Reserve), 0, 0.9, "a share of the pack, as in 25 %"}, bound{"thrust_margin", float64(h.ThrustMargin), 0, 5, ""},
		bound{"reaction_time", float64(h.ReactionTime), 0, 60, ""}, bound{"wind", float64(h.Wind), 0, 60, ""}, bound{"gust", float64(h.Gust), 0, 90, ""},
		bound{"clearance", float64(h.Clearance), 0, 500, "the least distance that is kept, as in 10 m"}, bound{"wire_clearance", float64(h.WireClearance), 0, 500, "the least distance that is kept, as in 30 m"},
		bound{"people_distance", float64(h.PeopleDistance), 0, 5000, "the least distance that is kept, as in 30 m"}, bound{"subject_distance", float64(h.SubjectDistance), 0, 5000, "the least distance that is kept, as in 10 m"},
		bound{"visibility", float64(h.Visibility), 0, 1e5, ""}, bound{"position_error", float64(h.PositionError), 0, 100, ""}, bound{"crossing_time", float64(h.CrossingTime), 0, 3600, ""}, bound{"smear_px", h.Smear, 0, 10000, ""},
		bound{"link_margin", float64(h.LinkMargin), 0, 60, ""}, bound{"lost_link_height", float64(h.LostLinkHeight), 0, 1000, ""},
		bound{"setup_time", float64(h.SetupTime), 0, 86400, ""}, bound{"lens_change", float64(h.LensChange), 0, 86400, ""}, bound{"filter_change", float64(h.FilterChange), 0, 86400, ""}, bound{"launch_move", float64(h.LaunchMove), 0, 86400, ""}, bound{"take_gap", float64(h.TakeGap), 0, 86400, ""},
		bound{"white_balance_step", float64(h.WhiteBalanceStep), 0, 1000, ""})...)
	for i, p := range s.Crew {
		c.wrong = append(c.wrong, s.marks.within(fmt.Sprintf("crew[%d]", i), bound{"duty", float64(p.Duty), 0, 86400, "the longest day from call to wrap, as in 11 h"}, bound{"rest", float64(p.Rest), 0, 7 * 86400, "the least rest between days, as in 11 h"})...)
	}
	for i, r := range s.Rigs {
		if r.PowerFactor != 0 {
			c.wrong = append(c.wrong, s.marks.within(fmt.Sprintf("rigs[%d]", i), bound{"power_factor", float64(r.PowerFactor), 0.5, 2, "energy drawn over energy predicted, as in 108 %"})...)
		}
		for j, x := range r.Extras {
			c.wrong = append(c.wrong, s.marks.within(fmt.Sprintf("rigs[%d].extras[%d]", i, j), bound{"mass", float64(x.Mass), 1e-4, 100, ""}, bound{"x", float64(x.X), -5, 5, ""}, bound{"y", float64(x.Y), -5, 5, ""}, bound{"z", float64(x.Z), -5, 5, ""})...)
		}
	}
	for i, p := range s.Packs {
		c.wrong = append(c.wrong, s.marks.within(fmt.Sprintf("packs[%d]", i), bound{"health", float64(p.Health), 0, 1.1, "a share of the rated capacity"}, bound{"cycles", float64(p.Cycles), 0, 1e5, ""})...)
	}
	for i := range s.Slates {
		x := &s.Slates[i]
		at := fmt.Sprintf("slates[%d]", i)
		if x.White != 0 {
			c.wrong = append(c.wrong, s.marks.within(at, bound{"white_balance", float64(x.White), 1500, 25000, ""})...)
		}
		if x.Angle != 0 {
			c.wrong = append(c.wrong, s.marks.within(at, bound{"shutter_angle", float64(x.Angle), 0.01, 2*math.Pi + 1e-9, "an angle up to 360 deg"})...)
		}
	}
	if f := s.Site.Mains; f != 0 && f != 50 && f != 60 {
		c.fail("site.mains", f.String(), "mains run at 50 Hz or 60 Hz", "write one of them")
	}
}
