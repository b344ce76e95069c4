package track_test

import (
	"context"
	"fmt"

	"fieldfare/desk/track"
)

func ExampleRead() {
	data := []byte(track.WriteSentence("GNRMC,100000.00,A,4636.0000,N,01018.0000,E,10.0,90.0,210626,,") +
		track.WriteSentence("GNGGA,100000.00,4636.0000,N,01018.0000,E,1,08,0.9,1500.0,M,48.0,M,,"))
	t, err := track.Read(context.Background(), data, track.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	p := t.Points[0]
	fmt.Println(t.Format, p.Time().Format("2006-01-02 15:04:05Z"), p.LatDeg, p.LonDeg, p.HeightM)
	fmt.Printf("%.3f m/s\n", p.SpeedMS)
	// Output:
	// nmea 2026-06-21 10:00:00Z 46.6 10.3 1500
	// 5.144 m/s
}

func ExampleGuessColumns() {
	c, err := track.GuessColumns([]byte("Time (UTC),Lat,Lon,Alt,Speed (kt)\n2026-06-21T10:00:00Z,46.6,10.3,1500,10\n"))
	fmt.Println(c, err)
	fmt.Println("to be asked:", c.Unsettled())
	// Output:
	// time=Time (UTC):iso,lat=Lat:deg,lon=Lon:deg,height=Alt,speed=Speed (kt):kt <nil>
	// to be asked: height=Alt
}
