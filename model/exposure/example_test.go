package exposure_test

import (
	"fmt"

	"fieldfare/model/exposure"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// A bright day, a small camera, three filters in the bag.
func Example() {
	apertures, _ := lens.Stops(5.6, 11)
	var filters []exposure.Filter
	for _, label := range []string{"ND0.6", "ND0.9", "ND1.2"} {
		f, _ := exposure.ParseFilter(label)
		filters = append(filters, f)
	}
	chooser, _ := exposure.NewChooser(exposure.Gear{ISOs: []float64{200}, Apertures: apertures, Filters: filters, MaxStack: 1})
	ev, _ := exposure.EV100(82_000)
	ranked, err := chooser.Rank(exposure.Wish{EV100: ev, FrameRate: 25, ShutterAngle: 180 * unit.Degree}, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(chooser.Why(ranked[0]))
	fmt.Println(chooser.WhyInstead(ranked[0], ranked[1]))
	// Output:
	// f/9 is in the lens's good range, at ISO 200, ND1.2 taking 4.0 stops: right
	// swap ND1.2 for ND0.9 and close to f/11: 0.4 stop hot
}
