package lens_test

import (
	"fmt"
	"math"

	"fieldfare/model/lens"
)

// A 25 mm lens on a sensor of 4 µm pitch: where to focus so that everything from 30 m to
// the horizon is sharp.
func ExampleFocusFor() {
	circle, _ := lens.CircleFromPitch(4.2e-6, 2)
	focus, err := lens.FocusFor(0.025, 5.6, circle, 30, math.Inf(1))
	fmt.Printf("set %.0f m; anything past %.1f m will do; f/%.1f would be enough (%v)\n", focus.SetM, focus.FromM, focus.Aperture, err)
	// Output:
	// set 60 m; anything past 13.3 m will do; f/1.2 would be enough (<nil>)
}
