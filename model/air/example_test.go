package air_test

import (
	"fmt"

	"fieldfare/model/air"
	"fieldfare/model/unit"
)

// A warm noon at a mountain dairy at 2,000 m: the rotors feel 2,865 m.
func ExampleNewDay() {
	day, err := air.NewDay(2000, 298.15, 101325, 0.5)
	if err != nil {
		fmt.Println(err)
		return
	}
	rho := day.Ground.Density()
	fmt.Printf("%.3f kg/m3, density altitude %.0f m\n", rho, air.DensityAltitude(rho))
	// Output: 0.922 kg/m3, density altitude 2865 m
}

// 6 m/s at the airfield's mast, gusting 10, met 60 m over low crops.
func ExampleWind_At() {
	shear, _ := air.OverGround("roughly open")
	w, estimated := air.Wind{From: 240 * unit.Degree, MeanMS: 6, GustMS: 10, HeightM: 10}.At(60, shear)
	fmt.Printf("%.1f m/s, gusts %.1f m/s, estimated %v\n", w.MeanMS, w.GustMS, estimated)
	// Output: 8.3 m/s, gusts 12.3 m/s, estimated false
}
