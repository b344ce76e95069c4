package sky_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// table reads numbers from a table in testdata/authority whose header lines start with #.
func table(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/authority/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([][]float64, len(records))
	for i, record := range records {
		for _, field := range record {
			v, err := strconv.ParseFloat(field, 64)
			if err != nil {
				t.Fatalf("%s row %d: %v", name, i, err)
			}
			rows[i] = append(rows[i], v)
		}
	}
	return rows
}

// Astropy 5.2.1 with ERFA, an independent ephemeris: see testdata/authority/astropy_grid.py.
// Both take the same UT1 and ΔT.
func TestAstropyGrid(t *testing.T) {
	rows := table(t, "astropy_grid.csv")
	if len(rows) < 2000 {
		t.Fatalf("only %d rows", len(rows))
	}
	epoch := instant(t, time.Date(2000, 1, 1, 12, 0, 0, 0, time.UTC))
	worstSun, worstMoon, worstDistance := 0.0, 0.0, 0.0
	for _, row := range rows {
		at, err := epoch.Add(row[0] * 86400).WithDeltaT(row[1])
		if err != nil {
			t.Fatal(err)
		}
		place := sky.Place{Latitude: unit.Angle(row[2]) * unit.Degree, Longitude: unit.Angle(row[3]) * unit.Degree, HeightM: row[4]}
		angle := func(column int) unit.Angle { return unit.Angle(row[column]) * unit.Degree }
		sun, moon := place.Sun(at), place.Moon(at)
		worstSun = max(worstSun, separation(vector(sun), direction(angle(5), angle(6))))
		worstMoon = max(worstMoon, separation(vector(moon), direction(angle(7), angle(8))))
		worstDistance = max(worstDistance, abs(moon.DistanceM/1000-row[10]))
	}
	t.Logf("largest separation: sun %.5f°, moon %.5f°, moon's distance %.0f km", worstSun, worstMoon, worstDistance)
	if worstSun > 0.003 {
		t.Errorf("sun %.5f° from Astropy, allowed 0.003°", worstSun)
	}
	if worstMoon > 0.02 {
		t.Errorf("moon %.5f° from Astropy, allowed 0.02°", worstMoon)
	}
	if worstDistance > 50 {
		t.Errorf("moon's distance %.0f km from Astropy, allowed 50 km", worstDistance)
	}
}

func abs(x float64) float64 { return max(x, -x) }
