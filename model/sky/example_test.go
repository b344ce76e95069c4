package sky_test

import (
	"fmt"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// When the evening light is best at an alpine meadow, and where the sun stands then.
func Example() {
	place, err := sky.NewPlace(46.6*unit.Degree, 10.3*unit.Degree, 1800)
	if err != nil {
		fmt.Println(err)
		return
	}
	zone := time.FixedZone("CEST", 2*3600)
	day, err := place.SunDay(time.Date(2026, 9, 12, 12, 0, 0, 0, zone))
	if err != nil {
		fmt.Println(err)
		return
	}
	at, err := sky.At(day.Sunset.At.Add(-30 * time.Minute))
	if err != nil {
		fmt.Println(err)
		return
	}
	sun := place.Sun(at)
	shadow, _ := sun.Shadow()
	fmt.Println("sunset", day.Sunset.At.Format("15:04"))
	fmt.Printf("half an hour before: altitude %.1f deg, azimuth %.0f deg, shadows %.0f times the height\n",
		sun.Altitude.Deg(), sun.Azimuth.Deg(), shadow.LengthRatio)
	// Output:
	// sunset 19:36
	// half an hour before: altitude 4.5 deg, azimuth 271 deg, shadows 13 times the height
}
