package airspace_test

import (
	"fmt"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
)

func ExampleReadOpenAir() {
	areas, err := airspace.ReadOpenAir("sheet.txt", []byte("AC D\nAN Weststiege\nAL 1000 ft AGL\nAH FL 95\nV X=47:30:00 N 012:00:00 E\nDC 3\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(&areas[0])
	frame := geo.NewFrame(geo.Degrees(47.5, 12))
	zone, err := areas[0].Place(frame)
	if err != nil {
		fmt.Println(err)
		return
	}
	path := []airspace.Point{{TimeS: 0, Pos: geo.Vec3{Z: 280}}, {TimeS: 60, Pos: geo.Vec3{Z: 340}}}
	crossings, err := zone.Crossings(path, airspace.Reach{}, airspace.Setting{Ground: flat(0), QNHPa: 101325})
	fmt.Printf("inside from %.1f s to %.1f s (%v)\n", crossings[0].FromS, crossings[0].ToS, err)
	// Output:
	// D Weststiege, 305 m above ground to FL 95, needs permission
	// inside from 24.8 s to 60.0 s (<nil>)
}

// flat is level ground.
type flat float64

func (f flat) HeightAt(x, y float64) (float64, bool) { return float64(f), true }
