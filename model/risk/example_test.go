package risk_test

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/unit"
)

// A multirotor of 1.2 m that films at 10 m/s, 60 m up.
func ExampleVolume_Contingency() {
	c, err := risk.Volume{SpeedMS: 10, GeographyHeightM: 60, ReactionS: 1, Recovery: risk.StopInAir,
		PitchOrBank: 45 * unit.Degree, Allowances: risk.DefaultAllowances()}.Contingency()
	if err != nil {
		fmt.Println(err)
		return
	}
	buffer, err := risk.OneToOneBuffer(c.HeightM, 1.2)
	fmt.Printf("%.1f m around, up to %.1f m, then a buffer of %.1f m (%v)\n", c.HorizontalM, c.HeightM, buffer, err)
	// Output: 22.1 m around, up to 73.1 m, then a buffer of 73.7 m (<nil>)
}

func ExampleBody_Fall() {
	rig := risk.Body{MassKg: 9.8, DragAreaM2: 0.2}
	wind := geo.Vec3{X: 6}
	impact, err := rig.Fall(geo.Vec3{Z: 60}, geo.Vec3{X: 10}, risk.Air{DensityKgM3: 1.225, SteadyMS: wind}, risk.Level(0))
	fmt.Printf("%.1f m away after %.1f s at %.1f m/s, %.0f J (%v)\n", impact.DistanceM, impact.FallS, impact.SpeedMS, impact.EnergyJ, err)
	// Output: 35.9 m away after 4.0 s at 25.9 m/s, 3275 J (<nil>)
}
