package track_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/track"
	"pgregory.net/rapid"
)

func read(t *testing.T, data []byte, opt track.Options) *track.Track {
	t.Helper()
	tr, err := track.Read(context.Background(), data, opt)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

func load(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata/authority", name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatal(err)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// Source: python3-nmea2 1.15.0 (Debian), an independent reader; authority/nmea.py.
func TestNMEAAgainstIndependentReader(t *testing.T) {
	var table struct {
		Rows []struct {
			GGA, RMC, Time string
			Lat            float64 `json:"lat_deg"`
			Lon            float64 `json:"lon_deg"`
			Height         float64 `json:"height_m"`
			Speed          float64 `json:"speed_kt"`
			Course         float64 `json:"course_deg"`
		}
	}
	load(t, "nmea.json", &table)
	if len(table.Rows) != 200 {
		t.Fatal("table is short")
	}
	for _, row := range table.Rows {
		tr := read(t, []byte(row.GGA+"\r\n"+row.RMC+"\r\n"), track.Options{})
		if len(tr.Points) != 1 {
			t.Fatalf("%s: %d points, want the two sentences merged into 1", row.GGA, len(tr.Points))
		}
		p := tr.Points[0]
		want, _ := time.Parse(time.RFC3339Nano, row.Time)
		near(t, "lat", p.LatDeg, row.Lat, 1e-9)
		near(t, "lon", p.LonDeg, row.Lon, 1e-9)
		near(t, "height", p.HeightM, row.Height, 1e-9)
		near(t, "speed", p.SpeedMS, row.Speed*1852/3600, 1e-9)
		near(t, "course", p.Course.Deg(), row.Course, 1e-9)
		near(t, "time", p.UnixS, float64(want.UnixMicro())/1e6, 1e-5)
	}
}

// Source: checksums and sentences printed in many receiver manuals and in open
// descriptions of NMEA 0183, from memory; the sum is the exclusive or of the body
// (Betke, "The NMEA 0183 Protocol", 2001, section 3).
func TestNMEAManualSentences(t *testing.T) {
	for body, sum := range map[string]byte{
		"GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,":          0x47,
		"GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W":       0x6A,
		"GPVTG,054.7,T,034.4,M,005.5,N,010.2,K":                                  0x48,
		"GPZDA,201530.00,04,07,2002,00,00":                                       0x60,
		"GPGGA,184353.07,1929.045,S,02410.506,E,1,04,2.6,100.00,M,-33.9,M,,0000": 0x6D,
	} {
		if got := track.Checksum(body); got != sum {
			t.Errorf("%s: checksum %02X, want %02X", body, got, sum)
		}
	}
	text := "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n" +
		"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n" +
		"$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48\r\n" +
		"$GPGGA,123520,4807.040,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n" // sum of the line before: wrong here
	tr := read(t, []byte(text), track.Options{})
	if len(tr.Points) != 1 || !has(tr, "wrong checksum") {
		t.Fatalf("got %d points, findings %v", len(tr.Points), tr.Findings)
	}
	p := tr.Points[0]
	near(t, "lat", p.LatDeg, 48+7.038/60, 1e-12) // 48° 07.038' N
	near(t, "lon", p.LonDeg, 11+31.0/60, 1e-12)
	near(t, "speed from the last word, VTG", p.SpeedMS, 5.5*1852/3600, 1e-12)
	if got := p.Time().Format(time.RFC3339); got != "1994-03-23T12:35:19Z" {
		t.Error(got)
	}
}

func has(t *track.Track, what string) bool {
	for _, f := range t.Findings {
		if strings.Contains(f.What, what) {
			return true
		}
	}
	return false
}

func nmea(bodies ...string) []byte {
	var b strings.Builder
	for _, body := range bodies {
		b.WriteString(track.WriteSentence(body))
	}
	return []byte(b.String())
}

func TestNMEAMidnightAndLateDate(t *testing.T) {
	gga := func(hms string) string { return "GNGGA," + hms + ",4636.000,N,01018.000,E,1,08,0.9,1500.0,M,48.0,M,," }
	tr := read(t, nmea(gga("235958.00"), gga("235959.00"), "GNZDA,000000.00,22,06,2026,00,00", gga("000000.00"), gga("000001.00")), track.Options{})
	for i, want := range []string{"2026-06-21T23:59:58Z", "2026-06-21T23:59:59Z", "2026-06-22T00:00:00Z", "2026-06-22T00:00:01Z"} {
		if got := tr.Points[i].Time().Format(time.RFC3339); got != want {
			t.Errorf("point %d at %s, want %s", i, got, want)
		}
	}
	_, err := track.Read(context.Background(), nmea(gga("235959.00"), gga("000000.00")), track.Options{})
	asks(t, err, "which UTC day")
	tr = read(t, nmea(gga("235959.00"), gga("000000.00")), track.Options{Date: time.Date(2026, 6, 21, 0, 0, 0, 0, time.UTC)})
	if got := tr.Points[1].Time().Format(time.RFC3339); got != "2026-06-22T00:00:00Z" {
		t.Error(got)
	}
}

func asks(t *testing.T, err error, what string) {
	t.Helper()
	var q *track.Question
	if !errors.As(err, &q) || !strings.Contains(q.Error(), what) {
		t.Fatalf("got %v, want a question about %q", err, what)
	}
}

// Source: GDAL 3.6.2 reading the files it wrote, and GeographicLib 2.1.2's GeodSolve
// for the length; authority/gdal.py.
func TestGPXAndKMLAgainstGDAL(t *testing.T) {
	var table map[string]json.RawMessage
	load(t, "recorded.json", &table)
	for _, name := range []string{"recorded.gpx", "recorded.kml"} {
		var rows [][4]any
		if err := json.Unmarshal(table[name], &rows); err != nil {
			t.Fatal(err)
		}
		data, _ := os.ReadFile("testdata/authority/" + name)
		tr := read(t, data, track.Options{})
		if len(tr.Points) != len(rows) || len(rows) != 300 {
			t.Fatalf("%s: %d points, GDAL has %d", name, len(tr.Points), len(rows))
		}
		for i, row := range rows {
			p := tr.Points[i]
			near(t, name+" lat", p.LatDeg, row[0].(float64), 0)
			near(t, name+" lon", p.LonDeg, row[1].(float64), 0)
			near(t, name+" height", p.HeightM, row[2].(float64), 1e-9)
			want, _ := time.Parse(time.RFC3339Nano, row[3].(string))
			if !p.Time().Equal(want) {
				t.Fatalf("%s point %d: %v, want %v", name, i, p.Time(), want)
			}
		}
		if name == "recorded.gpx" {
			var length float64
			json.Unmarshal(table["length_m"], &length)
			near(t, "length in m", tr.LengthM(), length, 1e-3)
			if tr.Points[149].Segment != 0 || tr.Points[150].Segment != 1 {
				t.Error("the segment break is lost")
			}
		}
	}
}

// Source: npm fit-file-parser 6.1.2 on a sample shipped with the FIT library's tests;
// authority/fit.mjs.
func TestFITAgainstIndependentReader(t *testing.T) {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/muktihari/fit").Output()
	if err != nil {
		t.Skip("the module cache is not at hand: ", err)
	}
	var table struct {
		File  string
		Count int
		Rows  []struct {
			Time   time.Time
			Lat    float64 `json:"lat_deg"`
			Lon    float64 `json:"lon_deg"`
			Height float64 `json:"height_m"`
			Speed  float64 `json:"speed_ms"`
		}
	}
	load(t, "fit.json", &table)
	data, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(dir)), table.File))
	if err != nil {
		t.Skip(err)
	}
	tr := read(t, data, track.Options{})
	// The sample starts at exactly 0, 0, which Read takes for a receiver without a fix.
	if len(tr.Points) != table.Count-1 || table.Count < 1000 || !has(tr, "exactly 0, 0") {
		t.Fatalf("%d points, want %d; %v", len(tr.Points), table.Count-1, tr.Findings)
	}
	for i, row := range table.Rows {
		if i == 0 {
			continue
		}
		p := tr.Points[i*40-1]
		near(t, "lat", p.LatDeg, row.Lat, 1e-9)
		near(t, "lon", p.LonDeg, row.Lon, 1e-9)
		near(t, "height", p.HeightM, row.Height, 1e-6)
		near(t, "speed", p.SpeedMS, row.Speed, 1e-6)
		if !p.Time().Equal(row.Time) {
			t.Fatalf("record %d at %v, want %v", i*40, p.Time(), row.Time)
		}
	}
	if tr, err := track.Read(context.Background(), data[:len(data)/2], track.Options{}); err != nil || !has(tr, "breaks off") {
		t.Errorf("half a file should keep what came before and say so: %v", err)
	}
}

// A KML Track as OGC 12-007r2 (KML 2.3), 13.8 has it; the example's shape is from the
// standard, the numbers are ours.
const kmlTrack = `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.3"><Placemark><name>flown</name>
<Track><altitudeMode>absolute</altitudeMode>
<when>2026-06-21T10:00:00Z</when><when>2026-06-21T12:00:00.5+02:00</when>
<coord>10.3 46.6 1500.5</coord><coord>10.3001 46.6001 1501</coord>
<angles>45.5 -10 0</angles></Track></Placemark></kml>`

func TestKMLTrack(t *testing.T) {
	check := func(t *testing.T, tr *track.Track) {
		t.Helper()
		if len(tr.Points) != 2 || tr.Name != "flown" {
			t.Fatalf("%d points of %q", len(tr.Points), tr.Name)
		}
		a, b := tr.Points[0], tr.Points[1]
		near(t, "lat", a.LatDeg, 46.6, 0)
		near(t, "height", a.HeightM, 1500.5, 0)
		near(t, "yaw", a.Yaw.Deg(), 45.5, 1e-12)
		near(t, "half a second later in another zone", b.UnixS-a.UnixS, 0.5, 1e-6)
	}
	check(t, read(t, []byte(kmlTrack), track.Options{}))
	check(t, read(t, pack(t, "doc.kml", []byte(kmlTrack)), track.Options{}))
	wide := []byte{0xff, 0xfe}
	for _, r := range strings.Replace(kmlTrack, "UTF-8", "UTF-16", 1) {
		wide = append(wide, byte(r), byte(r>>8))
	}
	check(t, read(t, wide, track.Options{}))
}

func pack(t testing.TB, name string, data []byte) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	w.Write(data)
	z.Close()
	return b.Bytes()
}

func TestCSVGuessThenConfirm(t *testing.T) {
	data := []byte("recorder 7, firmware 2\nUTC time,Latitude,Longitude,Alt (ft),Speed [km/h],Heading,Battery %\n" +
		"2026-06-21T10:00:00.1Z,46.6,10.3,4921.26,36,90,80\n2026-06-21T10:00:00.2Z,46.60001,10.3,4921.26,,91,79.5\n")
	_, err := track.Read(context.Background(), data, track.Options{})
	asks(t, err, "which column")
	c, err := track.GuessColumns(data)
	if err != nil {
		t.Fatal(err)
	}
	want := "time=UTC time:iso,lat=Latitude:deg,lon=Longitude:deg,height=Alt (ft):ft,speed=Speed [km/h]:km/h,yaw=Heading:deg,charge=Battery %:%"
	if c.String() != want {
		t.Fatalf("guessed %s\nwant    %s", c, want)
	}
	again, err := track.ParseColumns(c.String())
	if err != nil || again.String() != want {
		t.Fatalf("the guess does not read back: %v %v", again, err)
	}
	tr := read(t, data, track.Options{Columns: again})
	p := tr.Points[0]
	near(t, "height", p.HeightM, 4921.26*0.3048, 1e-9)
	near(t, "speed", p.SpeedMS, 10, 1e-12)
	near(t, "charge", p.ChargeFraction, 0.8, 1e-12)
	if tr.Points[1].Is(track.Speed) {
		t.Error("an empty cell became a speed")
	}
	near(t, "tenth of a second", tr.Points[1].UnixS-p.UnixS, 0.1, 1e-6)
}

func TestCSVAsksAndRefuses(t *testing.T) {
	rows := func(header string, lines ...string) []byte {
		return []byte(header + "\n" + strings.Join(lines, "\n") + "\n")
	}
	for _, c := range []struct {
		name, columns string
		data          []byte
		want          string
	}{
		{"no unit", "", rows("time,lat,lon,alt", "2026-06-21T10:00:00Z,46.6,10.3,1500"), "units are missing for height=alt"},
		{"mixed decimals", "lat=lat,lon=lon", rows("lat;lon", "46,6;10,3", "46.6;10.3"), "decimal comma"},
		{"thousands", "lat=lat,lon=lon,height=h:m", rows("lat;lon;h", "46,6;10,3;1.500,5"), "thousands"},
		{"zone", "time=time:iso,lat=lat,lon=lon", rows("time,lat,lon", "2026-06-21 10:00:00,46.6,10.3"), "zone"},
		{"day or month", "time=time:iso,lat=lat,lon=lon", rows("time,lat,lon", "06/07/2026 10:00:00,46.6,10.3"), "day first or month first"},
		{"time of day", "time=time:iso,lat=lat,lon=lon", rows("time,lat,lon", "10:00:00,46.6,10.3"), "no date"},
		{"elapsed", "time=t:elapsed-s,lat=lat,lon=lon", rows("t,lat,lon", "0,46.6,10.3"), "when did the recording start"},
		{"missing column", "lat=breite,lon=lon", rows("lat,lon", "46.6,10.3"), `no column "breite"`},
		{"binary", "", []byte("lat,lon\n46.6,\x0010.3\n"), "zero bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			opt := track.Options{Format: track.CSV}
			if c.columns != "" {
				var err error
				if opt.Columns, err = track.ParseColumns(c.columns); err != nil {
					t.Fatal(err)
				}
			}
			_, err := track.Read(context.Background(), c.data, opt)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v, want %q", err, c.want)
			}
		})
	}
	for _, bad := range []string{"lat", "latitude=x", "height=alt", "lat=a,lat=b"} {
		if _, err := track.ParseColumns(bad); err == nil {
			t.Errorf("column map %q was taken", bad)
		}
	}
	comma := rows("time;lat;lon;alt (m)", "2026-06-21T10:00:00Z;46,6;10,3 W;1500,5")
	c, _ := track.GuessColumns(comma)
	tr := read(t, comma, track.Options{Columns: c})
	near(t, "decimal comma", tr.Points[0].HeightM, 1500.5, 0)
	near(t, "west by letter", tr.Points[0].LonDeg, -10.3, 0)
}

func TestHostileFiles(t *testing.T) {
	entity := `<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><gpx xmlns="http://www.topografix.com/GPX/1/1"><trk><name>&b;</name></trk></gpx>`
	zeros := func(n int) []byte { return append([]byte(`<kml><Placemark><name>`), bytes.Repeat([]byte{' '}, n)...) }
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "empty"},
		{"entity bomb", []byte(entity), "entity declarations are refused"},
		{"undeclared entity", []byte(`<gpx><trk><name>&bomb;</name></trk></gpx>`), "entity"},
		{"other XML", []byte("<html></html>"), "neither GPX nor KML"},
		{"Latin-1 bytes called UTF-8", []byte("<?xml version=\"1.0\" encoding=\"UTF-8\"?><gpx><trk><name>H\xf6he</name></trk></gpx>"), "not in the encoding"},
		{"unknown encoding", []byte(`<?xml version="1.0" encoding="x-nowhere"?><gpx></gpx>`), "is not known"},
		{"cut off", []byte(`<gpx><trk><trkseg><trkpt lat="1" lon="2">`), "EOF"},
		{"route only", []byte(`<gpx><rte><rtept lat="1" lon="2"/></rte></gpx>`), "no recorded track"},
		{"zip bomb", pack(t, "doc.kml", zeros(64<<20)), "bomb"},
		{"no KML inside", pack(t, "readme.txt", []byte("hello")), "no .kml"},
		{"broken zip", []byte("PK\x03\x04 nothing more"), "archive"},
		{"binary", []byte("\x7fELF\x00\x00\x00\x00\x01,"), "binary"},
		{"no checksum right", []byte("$GPGGA,1*00\r\n"), "no whole sentence"},
		{"unequal KML lists", []byte(`<kml><Track><when>2026-06-21T10:00:00Z</when></Track></kml>`), "1 times but 0 coordinates"},
		{"off the globe", []byte(`<gpx><trk><trkseg><trkpt lat="91" lon="0"/><trkpt lat="nan" lon="1"/><trkpt lat="1e999" lon="1"/></trkseg></trk></gpx>`), "no usable position"},
		{"FIT head only", []byte("\x0e\x20\x00\x00\x00\x00\x00\x00.FIT\x00\x00"), "broken"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := track.Read(context.Background(), c.data, track.Options{})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v, want %q", err, c.want)
			}
		})
	}
}

// A file of 240 MB that only nests must be refused at once and without memory.
func TestDeepNestingCostsNothing(t *testing.T) {
	data := append([]byte("<gpx>"), bytes.Repeat([]byte("<a>"), 80<<20)...)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	began := time.Now()
	_, err := track.Read(context.Background(), data, track.Options{Format: track.GPX})
	runtime.ReadMemStats(&after)
	if err == nil || !strings.Contains(err.Error(), "nested more than") {
		t.Fatal(err)
	}
	if grown := after.TotalAlloc - before.TotalAlloc; grown > 8<<20 {
		t.Errorf("took %d MB", grown>>20)
	}
	t.Logf("refused in %v", time.Since(began))
}

func TestLatin1IsRead(t *testing.T) {
	tr := read(t, []byte("<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?><gpx><trk><name>H\xf6he</name><trkseg><trkpt lat=\"46.6\" lon=\"10.3\"/></trkseg></trk></gpx>"), track.Options{})
	if tr.Name != "Höhe" {
		t.Error(tr.Name)
	}
}

func gpx(points ...string) []byte {
	return []byte(`<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>` + strings.Join(points, "") + `</trkseg></trk></gpx>`)
}

func TestCleanSaysWhatItDid(t *testing.T) {
	start := time.Date(2026, 6, 21, 10, 0, 0, 0, time.UTC)
	at := func(s float64, lat float64) string {
		return fmt.Sprintf(`<trkpt lat="%.7f" lon="10.3"><ele>1500</ele><time>%s</time></trkpt>`, lat, start.Add(time.Duration(s*1e9)).Format(time.RFC3339Nano))
	}
	tr := read(t, gpx(at(0, 46.6), at(1, 46.60001), at(1, 46.60001), at(3, 46.60003), at(2, 46.60002), at(4, 46.7), at(5, 46.60005), at(60, 46.6006)), track.Options{})
	c := tr.Clean(track.Limits{})
	for _, what := range []string{"time of the one before", "out of time order", "spikes", "gaps in the recording, the longest 55.0 s"} {
		if !has(c, what) {
			t.Errorf("no finding about %q in %v", what, c.Findings)
		}
	}
	if len(c.Points) != 6 || len(tr.Points) != 8 {
		t.Errorf("%d points kept of %d", len(c.Points), len(tr.Points))
	}
}

func TestCheckAgainstPlan(t *testing.T) {
	tr := read(t, gpx(`<trkpt lat="46.6" lon="10.3"><time>2026-06-21T10:00:00Z</time></trkpt>`), track.Options{})
	day := time.Date(2026, 6, 21, 9, 0, 0, 0, time.UTC)
	plan := func(lat, lon float64, from time.Time) track.Plan {
		return track.Plan{LatDeg: lat, LonDeg: lon, From: from, To: from.Add(2 * time.Hour)}
	}
	if err := tr.Check(plan(46.61, 10.31, day)); err != nil {
		t.Error(err)
	}
	asks(t, tr.Check(plan(-46.6, 10.3, day)), "south latitudes")
	asks(t, tr.Check(plan(46.6, -10.3, day)), "west longitudes")
	asks(t, tr.Check(plan(10.3, 46.6, day)), "swapped")
	asks(t, tr.Check(plan(46.6, 10.3, day.AddDate(0, 0, 5))), "the plan of 2026-06-26")
	if err := tr.Check(plan(20, 30, day)); err == nil || !strings.Contains(err.Error(), "another job") {
		t.Error(err)
	}
}

// Two hours at 10 Hz, as GPX.
func longGPX() []byte {
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`)
	start := time.Date(2026, 6, 21, 10, 0, 0, 0, time.UTC)
	for i := range 72000 {
		s, c := math.Sincos(float64(i) / 300)
		fmt.Fprintf(&b, "<trkpt lat=\"%.7f\" lon=\"%.7f\"><ele>%.2f</ele><time>%s</time></trkpt>\n", 46.6+0.001*s, 10.3+0.001*c, 1500+s, start.Add(time.Duration(i)*100*time.Millisecond).Format("2006-01-02T15:04:05.000Z"))
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return b.Bytes()
}

func TestProgressAndCancel(t *testing.T) {
	data := longGPX()
	var calls int
	var last int64
	tr := read(t, data, track.Options{Progress: func(done, total int64) {
		if done < last || total != int64(len(data)) {
			t.Errorf("progress %d of %d after %d", done, total, last)
		}
		calls, last = calls+1, done
	}})
	if len(tr.Points) != 72000 || calls < 10 || last != int64(len(data)) {
		t.Errorf("%d points, %d reports, last %d of %d", len(tr.Points), calls, last, len(data))
	}
	ctx, cancel := context.WithCancel(context.Background())
	_, err := track.Read(ctx, data, track.Options{Progress: func(int64, int64) { cancel() }})
	if !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func BenchmarkReadTwoHours10Hz(b *testing.B) {
	data := longGPX()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		tr, err := track.Read(context.Background(), data, track.Options{})
		if err != nil {
			b.Fatal(err)
		}
		tr.Clean(track.Limits{})
	}
}

// Whatever is written as NMEA reads back, whatever the order of the fixes' times.
func TestNMEARoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.IntRange(1, 89*600000).Draw(t, "lat"), rapid.IntRange(1, 179*600000).Draw(t, "lon")
		south, west := rapid.Bool().Draw(t, "south"), rapid.Bool().Draw(t, "west")
		sec := rapid.IntRange(0, 86399).Draw(t, "s")
		ns, ew, sy, sx := "N", "E", 1.0, 1.0
		if south {
			ns, sy = "S", -1
		}
		if west {
			ew, sx = "W", -1
		}
		body := fmt.Sprintf("GNRMC,%02d%02d%02d.00,A,%02d%07.4f,%s,%03d%07.4f,%s,10.0,90.0,210626,,", sec/3600, sec/60%60, sec%60,
			lat/600000, float64(lat%600000)/1e4, ns, lon/600000, float64(lon%600000)/1e4, ew)
		tr, err := track.Read(context.Background(), []byte(track.WriteSentence(body)), track.Options{})
		if err != nil {
			t.Fatal(err)
		}
		p := tr.Points[0]
		if math.Abs(p.LatDeg-sy*float64(lat)/600000) > 1e-9 || math.Abs(p.LonDeg-sx*float64(lon)/600000) > 1e-9 {
			t.Fatal(body, p.LatDeg, p.LonDeg)
		}
	})
}

func fuzz(f *testing.F, format track.Format, seeds ...[]byte) {
	for _, s := range seeds {
		f.Add(s)
	}
	columns, _ := track.ParseColumns("time=time:iso,lat=lat,lon=lon,height=alt:m")
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, opt := range []track.Options{{Format: format}, {Format: format, Columns: columns, Zone: time.UTC, Date: time.Unix(1.78e9, 0)}} {
			tr, err := track.Read(context.Background(), data, opt)
			if err != nil {
				continue
			}
			c := tr.Clean(track.Limits{})
			for _, p := range append(tr.Points, c.Points...) {
				for _, v := range []float64{p.UnixS, p.LatDeg, p.LonDeg, p.HeightM, p.SpeedMS} {
					if math.IsNaN(v) || math.IsInf(v, 0) {
						t.Fatalf("%+v", p)
					}
				}
			}
		}
	})
}

func FuzzGPX(f *testing.F) {
	fuzz(f, track.GPX, gpx(`<trkpt lat="1" lon="2"><ele>3</ele><time>2026-06-21T10:00:00Z</time></trkpt>`), []byte("<gpx><!DOCTYPE x>"))
}
func FuzzKML(f *testing.F) {
	fuzz(f, track.KML, []byte(kmlTrack), []byte("<kml><LineString><coordinates>1,2,3 4,5</coordinates></LineString></kml>"))
}
func FuzzKMZ(f *testing.F) {
	fuzz(f, track.KMZ, pack(f, "doc.kml", []byte(kmlTrack)), []byte("PK\x03\x04"))
}
func FuzzCSV(f *testing.F) {
	fuzz(f, track.CSV, []byte("time,lat,lon,alt\n2026-06-21T10:00:00Z,46.6,10.3,1500\n"), []byte("lat;lon\n1,5;2,5\n"))
}
func FuzzNMEA(f *testing.F) {
	fuzz(f, track.NMEA, nmea("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,", "GPZDA,201530.00,04,07,2002,00,00"), []byte("\\s:x*00\\$GPRMC,,V*"))
}
func FuzzFIT(f *testing.F) {
	fuzz(f, track.FIT, []byte("\x0e\x20\x00\x00\x00\x00\x00\x00.FIT\x00\x00"), []byte(strings.Repeat("\x0e", 40)))
}

// What the page asks of a CSV file: whatever is suggested for it is a map that reads back the same.
func FuzzSuggestion(f *testing.F) {
	f.Add([]byte("time,lat,lon,alt\n2026-06-21T10:00:00Z,46.6,10.3,1500\n"))
	f.Add([]byte("my log\n\"Time: UTC\";Latitude (deg);lon=x;Alt, m\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		header, rows, err := track.Preview(data, 4)
		if err != nil {
			return
		}
		if len(rows) > 4 {
			t.Fatalf("%d rows", len(rows))
		}
		guess, err := track.GuessColumns(data)
		if err != nil || len(guess) == 0 || len(guess.Unsettled()) > 0 {
			return
		}
		again, err := track.ParseColumns(guess.String())
		if err != nil || again.String() != guess.String() {
			t.Fatalf("of %q: %q reads back as %v, %v", header, guess, again, err)
		}
	})
}

func FuzzParseColumns(f *testing.F) {
	f.Add("time=UTC:iso,lat=Lat:deg,height=#3:ft")
	f.Add("lat==:,")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := track.ParseColumns(text)
		if err != nil {
			return
		}
		if again, err := track.ParseColumns(c.String()); err != nil || again.String() != c.String() {
			t.Fatalf("%q reads back as %v, %v", c.String(), again, err)
		}
	})
}
