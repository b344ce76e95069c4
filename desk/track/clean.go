package track

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"fieldfare/model/geo"
)

// DistanceM is the geodesic distance between two positions in degrees.
func DistanceM(lat1, lon1, lat2, lon2 float64) float64 {
	return geo.Distance(geo.Degrees(lat1, lon1), geo.Degrees(lat2, lon2))
}

// LengthM is the level length of the track over the ellipsoid, breaks between
// segments left out.
func (t *Track) LengthM() float64 {
	var sum float64
	for i := 1; i < len(t.Points); i++ {
		a, b := &t.Points[i-1], &t.Points[i]
		if a.Segment == b.Segment {
			sum += DistanceM(a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg)
		}
	}
	return sum
}

// Limits say what Clean may believe of an aircraft. Zero values take the defaults.
type Limits struct {
	MaxSpeedMS float64 // 60 m/s: faster than any camera multicopter; common practice, no source
	GapS       float64 // 0: five times the usual interval, at least 2 s
}

// Clean returns the track in time order with doubles and spikes taken out, and every
// change listed in its findings; t itself is unchanged. A spike is a point that can be
// neither reached nor left below MaxSpeedMS. Gaps are listed and left open: nothing is
// invented to fill them. Points without a time are dropped when others have one.
func (t *Track) Clean(lim Limits) *Track {
	if lim.MaxSpeedMS <= 0 {
		lim.MaxSpeedMS = 60
	}
	out := *t
	out.Findings = slices.Clone(t.Findings)
	timed := make([]Point, 0, len(t.Points))
	for _, p := range t.Points {
		if p.Is(Timed) {
			timed = append(timed, p)
		}
	}
	if len(timed) == 0 {
		out.Points = slices.Clone(t.Points)
		out.find("unknown", "no point has a time: speeds and moments cannot be checked", "", "")
		return &out
	}
	if n := len(t.Points) - len(timed); n > 0 {
		out.Findings = append(out.Findings, Finding{Severity: "caution", What: "points without a time were left out", Count: n})
	}
	if !sort.SliceIsSorted(timed, func(i, j int) bool { return timed[i].UnixS < timed[j].UnixS }) {
		out.find("note", "points stood out of time order and were sorted", "", "")
		sort.SliceStable(timed, func(i, j int) bool { return timed[i].UnixS < timed[j].UnixS })
	}
	kept := timed[:0]
	for _, p := range timed {
		if n := len(kept); n > 0 && p.UnixS-kept[n-1].UnixS < 1e-4 {
			out.find("note", "points with the time of the one before were left out", p.stamp(), "")
			continue
		}
		kept = append(kept, p)
	}
	kept = out.despike(kept, lim.MaxSpeedMS)
	gap := lim.GapS
	if gap <= 0 {
		gap = max(2, 5*usualInterval(kept))
	}
	var gaps int
	var longest float64
	first := ""
	for i := 1; i < len(kept); i++ {
		if d := kept[i].UnixS - kept[i-1].UnixS; d > gap {
			gaps++
			longest = max(longest, d)
			if first == "" {
				first = kept[i-1].stamp()
			}
		}
	}
	if gaps > 0 {
		out.Findings = append(out.Findings, Finding{Severity: "caution", What: fmt.Sprintf("gaps in the recording, the longest %.1f s; left open", longest), Count: gaps, At: first})
	}
	out.Points = kept
	return &out
}

func (t *Track) despike(points []Point, limit float64) []Point {
	at := places(points)
	speed := func(i, j int) float64 {
		d := at[j].Sub(at[i])
		if !points[i].Is(Height) || !points[j].Is(Height) {
			d.Z = 0
		}
		return d.Norm() / (points[j].UnixS - points[i].UnixS)
	}
	kept := make([]Point, 0, len(points))
	last := -1
	for i := range points {
		p := &points[i]
		in := last >= 0 && speed(last, i) > limit
		out := i+1 < len(points) && speed(i, i+1) > limit
		alone := in && (out || i+1 == len(points)) || last < 0 && out
		// A lasting jump is not a spike: the points after it agree with one another.
		if alone {
			t.find("caution", fmt.Sprintf("spikes faster than %g m/s were left out", limit), p.stamp(), "")
			continue
		}
		if in {
			t.find("caution", fmt.Sprintf("jumps faster than %g m/s, kept because the points after them agree", limit), p.stamp(), "check the receiver's log for a lost fix")
		}
		kept, last = append(kept, *p), i
	}
	return kept
}

// places turns positions into metres about the first: true to scale for a sortie, and
// enough to tell a spike.
func places(points []Point) []geo.Vec3 {
	at := make([]geo.Vec3, len(points))
	if len(points) == 0 {
		return at
	}
	frame := geo.NewFrame(geo.Degrees(points[0].LatDeg, points[0].LonDeg))
	for i := range points {
		p := &points[i]
		at[i] = frame.ToSite(geo.Degrees(p.LatDeg, p.LonDeg), p.HeightM)
	}
	return at
}

// usualInterval is the median time between points, in seconds.
func usualInterval(points []Point) float64 {
	if len(points) < 2 {
		return 0
	}
	d := make([]float64, len(points)-1)
	for i := range d {
		d[i] = points[i+1].UnixS - points[i].UnixS
	}
	slices.Sort(d)
	return d[len(d)/2]
}

func (p *Point) stamp() string { return p.Time().Format("2006-01-02T15:04:05.000Z") }

// Raise adds m metres to every height above sea level, as to take a geoid's height off.
func (t *Track) Raise(m float64) {
	for i := range t.Points {
		if t.Points[i].Is(Height) {
			t.Points[i].HeightM += m
		}
	}
}

// Plan is where and when a recording ought to lie.
type Plan struct {
	LatDeg, LonDeg float64
	From, To       time.Time // zero when not known
}

// Check refuses or asks when the recording cannot belong to the plan: another place,
// a mirrored hemisphere, swapped columns, another day. Within 30 km and a day it passes.
func (t *Track) Check(plan Plan) error {
	const near = 30_000
	var lat, lon []float64
	for i := range t.Points {
		lat, lon = append(lat, t.Points[i].LatDeg), append(lon, t.Points[i].LonDeg)
	}
	slices.Sort(lat)
	slices.Sort(lon)
	if len(lat) == 0 {
		return fmt.Errorf("the recording is empty")
	}
	la, lo := lat[len(lat)/2], lon[len(lon)/2]
	if d := DistanceM(la, lo, plan.LatDeg, plan.LonDeg); d > near {
		for _, try := range []struct {
			lat, lon float64
			what     string
		}{{-la, lo, "south latitudes written without their sign"}, {la, -lo, "west longitudes written without their sign"}, {-la, -lo, "both signs missing"}, {lo, la, "latitude and longitude swapped"}} {
			if math.Abs(try.lat) <= 90 && DistanceM(try.lat, try.lon, plan.LatDeg, plan.LonDeg) <= near {
				return &Question{Ask: AskFile, What: fmt.Sprintf("the recording lies %.0f km from the site, but would lie at it with %s", d/1000, try.what), Mend: "mend the column map or the file"}
			}
		}
		return fmt.Errorf("the recording lies %.0f km from the site (its middle is %.5f, %.5f): it belongs to another job", d/1000, la, lo)
	}
	from, to, ok := t.Span()
	if !ok || plan.From.IsZero() || plan.To.IsZero() {
		return nil
	}
	if from.After(plan.To.Add(24*time.Hour)) || to.Before(plan.From.Add(-24*time.Hour)) {
		return &Question{Ask: AskOffset, What: fmt.Sprintf("the recording is of %s, the plan of %s", from.Format(time.DateOnly), plan.From.UTC().Format(time.DateOnly)), Mend: "choose the sortie it belongs to, or mend the recorder's date with a clock offset"}
	}
	return nil
}
