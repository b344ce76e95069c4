package radio_test

import (
	"fmt"

	"fieldfare/model/radio"
)

func ExampleLink_Budget() {
	video := radio.Link{FrequencyHz: 5.8e9, PowerW: 0.025, Tx: radio.Antenna{GainDBi: 2}, Rx: radio.Antenna{GainDBi: 8},
		BandwidthHz: 20e6, NoiseFigureDB: 6, RequiredSNRDB: 12, BlockingDB: 3}
	for _, distance := range []float64{200, 800, 1200} {
		b, err := video.Budget(distance, 0)
		fmt.Printf("%4.0f m: margin %.1f dB (%v)\n", distance, b.MarginDB, err)
	}
	// Output:
	//  200 m: margin 10.2 dB (<nil>)
	//  800 m: margin -1.8 dB (<nil>)
	// 1200 m: margin -5.4 dB (<nil>)
}
