package metar_test

import (
	"fmt"

	"fieldfare/model/metar"
)

func ExampleParseReport() {
	r, err := metar.ParseReport("METAR LZIB 211630Z 08005KT 060V120 9999 HAZY FEW040 26/15 Q1022")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f m/s, visibility %.0f m or more, not understood: %v\n", r.Wind.MeanMS.Value, r.Visibility.M.Value, r.Unread)
	// Output: 2.6 m/s, visibility 10000 m or more, not understood: [HAZY]
}
