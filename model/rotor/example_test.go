package rotor_test

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/model/rotor"
)

// The maker's hover time on a 710 Wh set at 9.8 kg calibrates an eight-rotor; then the
// same aircraft at 2,000 m on a warm day, and how far it reaches against a wind.
func ExampleAirframe_Fit() {
	a, _ := rotor.Airframe{Rotors: 8, DiameterM: 0.38, AccessoryW: 40}.Typical(9.8)
	a, fit, err := a.Fit([]rotor.Hovering{{Source: "maker", MassKg: 9.8, Density: 1.225, DurationS: 1500, EnergyJ: 710 * 3600}})
	if err != nil {
		fmt.Println(err)
		return
	}
	f, _ := a.At(9.8, 0.922)
	reach, _ := f.Radius(geo.Vec3{X: 1}, geo.Vec3{X: -5}, 12, 0.5*710*3600)
	fmt.Printf("efficiency %.2f; hover at 2000 m %.0f W; %.0f m out and back\n", fit.Efficiency, f.HoverW(), reach)
	// Output: efficiency 0.38; hover at 2000 m 1958 W; 3830 m out and back
}
