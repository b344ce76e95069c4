// Command sky measures the positions a second of package sky for bench/sky.sh.
//
//	sky times FILE            writes the list of times (days of UT since J2000.0, ΔT in s)
//	sky run FILE REFERENCE    prints name|positions a second|largest separation from the reference, degrees
package main

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"runtime"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

const count = 4000

// moments are spread over 2026 with no rhythm in the hour.
func moments() []sky.Instant {
	start, err := sky.At(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
	check(err)
	at := make([]sky.Instant, count)
	for i := range at {
		at[i], err = start.Add(float64(i) * 364.7 * 86400 / count).WithDeltaT(69.184)
		check(err)
	}
	return at
}

func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench/sky:", err)
		os.Exit(1)
	}
}

func main() {
	if len(os.Args) < 3 {
		check(fmt.Errorf("want times FILE or run FILE REFERENCE"))
	}
	if os.Args[1] == "times" {
		f, err := os.Create(os.Args[2])
		check(err)
		for _, at := range moments() {
			fmt.Fprintf(f, "%.12f,%.3f\n", at.JulianDay()-2451545, at.DeltaTSeconds())
		}
		check(f.Close())
		return
	}
	reference := read(os.Args[3])
	place, err := sky.NewPlace(46.6*unit.Degree, 10.3*unit.Degree, 1800)
	check(err)
	place.PressurePa = 0
	at := moments()
	almanac, err := sky.NewAlmanac(place, at[0], at[count-1])
	check(err)
	// A scan's own grid for the fast path: a minute through the year, as a window search steps.
	scan := make([]sky.Instant, 365*1440)
	for i := range scan {
		scan[i] = at[0].Add(float64(i) * 60)
	}

	report("sun  ours, full path", rate(at, place.Sun), worst(at, reference, place.Sun))
	report("sun  ours, fast path (altitude, azimuth)", rate(scan, almanac.Sun), worst(at, reference, almanac.Sun))
	var v geo.Vec3
	direction := func(i sky.Instant) sky.Position { v = almanac.SunDirection(i); return sky.Position{} }
	report("sun  ours, fast path (direction vector)", rate(scan, direction), worst(at, reference, func(i sky.Instant) sky.Position {
		v := almanac.SunDirection(i)
		return sky.Position{Azimuth: unit.Angle(math.Atan2(v.X, v.Y)), AirlessAltitude: unit.Angle(math.Asin(v.Z))}
	}))
	runtime.KeepAlive(v)
	yearScan(place, at[0])
	report("moon ours, full path", rate(at, place.Moon), math.NaN())
	report("moon ours, fast path", rate(scan, almanac.Moon), math.NaN())
}

// yearScan asks every minute of 365 days whether the sun stands over a skyline of 720 azimuths,
// almanac included.
func yearScan(place sky.Place, from sky.Instant) {
	line := make(sky.Skyline, 720)
	for i := range line {
		line[i] = unit.Angle(10+5*math.Sin(float64(i)/30)) * unit.Degree
	}
	start, lit := time.Now(), 0
	almanac, err := sky.NewAlmanac(place, from, from.Add(364.9*86400))
	check(err)
	for i := range 365 * 1440 {
		if almanac.SunOver(line, from.Add(float64(i)*60)) > 0 {
			lit++
		}
	}
	fmt.Fprintf(os.Stderr, "year scan, every minute of 365 days against a skyline of 720 azimuths: %.3f s (%d minutes of sun)\n", time.Since(start).Seconds(), lit)
}

func report(name string, perSecond, separation float64) {
	accuracy := ""
	if !math.IsNaN(separation) {
		accuracy = fmt.Sprintf("%.6f", separation)
	}
	fmt.Printf("%s|%.0f|%s\n", name, perSecond, accuracy)
}

func rate(at []sky.Instant, f func(sky.Instant) sky.Position) float64 {
	n, start, sum := 0, time.Now(), 0.0
	for time.Since(start) < 1500*time.Millisecond {
		for i := range min(len(at), 100000) {
			sum += float64(f(at[i]).AirlessAltitude)
		}
		n += min(len(at), 100000)
	}
	took := time.Since(start)
	runtime.KeepAlive(sum)
	return float64(n) / took.Seconds()
}

func worst(at []sky.Instant, reference [][2]float64, f func(sky.Instant) sky.Position) float64 {
	most := 0.0
	for i := range at {
		p := f(at[i])
		a := vector(float64(p.Azimuth), float64(p.AirlessAltitude))
		b := vector(reference[i][0]*math.Pi/180, reference[i][1]*math.Pi/180)
		most = max(most, math.Atan2(a.Cross(b).Norm(), a.Dot(b))*180/math.Pi)
	}
	return most
}

func vector(azimuth, altitude float64) geo.Vec3 {
	return geo.Vec3{X: math.Sin(azimuth) * math.Cos(altitude), Y: math.Cos(azimuth) * math.Cos(altitude), Z: math.Sin(altitude)}
}

func read(name string) (rows [][2]float64) {
	f, err := os.Open(name)
	check(err)
	defer f.Close()
	for in := bufio.NewScanner(f); in.Scan(); {
		var row [2]float64
		_, err := fmt.Sscanf(in.Text(), "%g,%g", &row[0], &row[1])
		check(err)
		rows = append(rows, row)
	}
	if len(rows) != count {
		check(fmt.Errorf("%s has %d rows, want %d", name, len(rows), count))
	}
	return rows
}
