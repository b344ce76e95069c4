// Package review lays what was flown beside what was planned: path, speed, height above
// ground, clearance, distance to people, framing, light and energy, and says what to
// change.
//
// Units, axes and signs: site frame of model/geo, metres; times in seconds from the
// take's start or Unix seconds UTC; along is positive ahead of the plan, across positive to the
// right of the planned direction of travel, up positive above it.
//
// Source: local quadratic smoothing after Savitzky and Golay, Anal. Chem. 36 (1964)
// 1627; circle fit after Kåsa, IEEE Trans. Instrum. Meas. 25 (1976) 8; the rest is
// plain geometry.
//
// Validity and accuracy: as good as the recording; a receiver without correction is
// some metres off, and heights more. Whatever a recording does not hold is reported as
// unknown, never as kept.
//
// Not modelled: receiver errors, lens distortion in framing, wind that changes during
// the flight.
package review

import (
	"fmt"
	"math"
	"slices"
	"time"

	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Planned is one sample of a planned path. Yaw is the airframe's heading, Pan and Tilt
// the camera's against the level airframe.
type Planned struct {
	T              float64 // seconds from the cue
	Pos, Vel       geo.Vec3
	Yaw, Pan, Tilt unit.Angle
}

// Fix is one recorded position in the site frame.
type Fix struct {
	UnixS          float64
	Pos            geo.Vec3 // Z is 0 when the height is not known
	Vel            geo.Vec3 // by smoothing the positions
	Yaw, Pan, Tilt unit.Angle
	VoltageV       float64
	CurrentA       float64
	ChargeFraction float64
	Has            track.Fields // which of the recorded values are known
	broken         bool         // a gap lies before this fix
}

// Ground is a terrain surface in the site frame.
type Ground interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// Light is daylight at one moment.
type Light struct {
	IlluminanceLx         float64
	SunAzimuth, SunHeight unit.Angle
}

// Limit is a number not to be passed, and where it comes from.
type Limit struct {
	Value float64
	Basis string
}

// Limits of the flight. A nil limit is unknown and reported so.
type Limits struct {
	MaxSpeedMS, MaxAboveGroundM, MinClearanceM, MinPeopleM *Limit
}

// Flight is one sortie to be reviewed.
type Flight struct {
	Sortie          string
	Fixes           []Fix
	Takes           []Take
	Ground          Ground                                              // nil: unknown
	Clearance       func(p geo.Vec3) (m float64, ok bool)               // to the nearest obstacle; nil: unknown
	People          func(p geo.Vec3, at time.Time) (m float64, ok bool) // to the nearest person; nil: unknown
	Limits          Limits
	Rules           *Rulebook // nil: no rule is judged
	EnergyPlannedWh *float64
	EnergyUsedWh    *float64 // as logged; else taken from the recording
	PackWh          *float64 // of the full pack, to turn charge into energy
}

// Take is one performance to be reviewed.
type Take struct {
	Slate     string
	Take      int
	Cue       time.Time // when it began by the log; zero: found by shape in the whole flight
	Path      []Planned
	PlannedAt time.Time                        // when it was planned for, for the light; zero: unknown
	Subject   func(t float64) (geo.Vec3, bool) // nil: unknown
	Light     func(at time.Time) (Light, bool) // on the subject; nil: unknown
}

// Finding is something to know or to mend, in the words that all findings use.
type Finding struct {
	Severity string `json:"severity"` // stop, caution, note or unknown
	Slate    string `json:"slate,omitempty"`
	What     string `json:"what"`
	Value    string `json:"value,omitempty"`
	Limit    string `json:"limit,omitempty"`
	Basis    string `json:"basis,omitempty"`
	Mend     string `json:"mend,omitempty"`
}

// Event is a span of time in which a limit was passed or a rule broken.
type Event struct {
	What      string    `json:"what"`
	From      time.Time `json:"from"`
	To        time.Time `json:"to"`
	Worst     float64   `json:"worst"`
	Limit     *float64  `json:"limit,omitempty"` // of a plain limit, in Unit
	LimitText string    `json:"limit_text"`
	Basis     string    `json:"basis"`
	Unit      string    `json:"unit"`
	Value     string    `json:"value,omitempty"` // of a rule that asks yes or no, or for a share: what was found at the worst moment

	least, plain bool // the smaller the worse; Value says more than Worst
}

// Row is one moment of a take, for the profiles.
type Row struct {
	T              float64  `json:"t_s"`
	AlongM         float64  `json:"along_m"`
	AcrossM        float64  `json:"across_m"`
	UpM            *float64 `json:"up_m,omitempty"`
	SpeedMS        float64  `json:"speed_ms"`
	PlannedSpeedMS float64  `json:"planned_speed_ms"`
	HeightM        *float64 `json:"height_m,omitempty"`
	PlannedHeightM float64  `json:"planned_height_m"`
	AboveGroundM   *float64 `json:"above_ground_m,omitempty"`
	ClearanceM     *float64 `json:"clearance_m,omitempty"`   // to the nearest obstacle
	PeopleM        *float64 `json:"people_m,omitempty"`      // to the nearest people
	AimErrorDeg    *float64 `json:"aim_error_deg,omitempty"` // camera axis, or subject in the frame, against the plan
	SizeRatio      *float64 `json:"size_ratio,omitempty"`    // subject's size in the frame against the plan

	flown, planned geo.Vec3
}

// Spread sums a signed error over a take.
type Spread struct {
	Mean float64 `json:"mean"`
	RMS  float64 `json:"rms"`
	Max  float64 `json:"max"`  // the largest size, with its sign
	At   float64 `json:"at_s"` // when
}

// TakeReport is the review of one take.
type TakeReport struct {
	Slate      string     `json:"slate"`
	Take       int        `json:"take"`
	Start      time.Time  `json:"start"`                 // by the best fit of the path
	AfterCueS  *float64   `json:"after_cue_s,omitempty"` // start against the logged cue
	Along      Spread     `json:"along_m"`
	Across     Spread     `json:"across_m"`
	Up         *Spread    `json:"up_m,omitempty"`
	DistanceM  Spread     `json:"distance_m"` // from the planned position at the same moment
	Speed      Spread     `json:"speed_error_ms"`
	AimDeg     *Spread    `json:"aim_error_deg,omitempty"`
	Size       *Spread    `json:"size_error,omitempty"` // size ratio less one
	LightRatio *float64   `json:"light_ratio,omitempty"`
	SunMoved   *float64   `json:"sun_moved_deg,omitempty"`
	Compared   []Compared `json:"compared"`
	Rows       []Row      `json:"rows"`
	Missing    int        `json:"missing"` // planned moments without a fix near them
}

// Report is the review of a sortie.
type Report struct {
	Sortie       string       `json:"sortie"`
	From         time.Time    `json:"from"`
	To           time.Time    `json:"to"`
	MaxSpeedMS   float64      `json:"max_speed_ms"`
	MaxAboveM    *float64     `json:"max_above_ground_m,omitempty"`
	MinClearM    *float64     `json:"min_clearance_m,omitempty"`
	MinPeopleM   *float64     `json:"min_people_m,omitempty"`
	EnergyUsedWh *float64     `json:"energy_used_wh,omitempty"`
	EnergyFrom   string       `json:"energy_from,omitempty"`
	EnergyRatio  *float64     `json:"energy_ratio,omitempty"` // used to planned
	Wind         *Wind        `json:"wind,omitempty"`
	Takes        []TakeReport `json:"takes"`
	Events       []Event      `json:"events"`
	Findings     []Finding    `json:"findings"`
	Change       []string     `json:"change"` // what to change next time
	Caution      string       `json:"caution"`

	path  []geo.Vec3
	times []float64 // of path, Unix seconds
}

// Caution stands on every review.
const Caution = "Planning aid only. A review shows what one recorder wrote; it does not prove that a limit was kept. Local rules, the aircraft's manual and licensed judgement come first. Unknown is never safe."

// Fixes turns a cleaned recording into the site frame, with clockOffsetS added to its
// times and velocities found by smoothing. Heights above ground become heights above
// sea level where the ground is known.
func Fixes(t *track.Track, frame geo.Frame, clockOffsetS float64, ground Ground) []Fix {
	var out []Fix
	for i := range t.Points {
		p := &t.Points[i]
		if !p.Is(track.Timed) {
			continue
		}
		f := Fix{UnixS: p.UnixS + clockOffsetS, Pos: frame.ToSite(geo.Degrees(p.LatDeg, p.LonDeg), p.HeightM), Yaw: p.Yaw, Pan: p.Pan, Tilt: p.Tilt,
			VoltageV: p.VoltageV, CurrentA: p.CurrentA, ChargeFraction: p.ChargeFraction, Has: p.Has}
		if !p.Is(track.Height) && p.Is(track.AboveGround) && ground != nil {
			if z, ok := ground.HeightAt(f.Pos.X, f.Pos.Y); ok {
				f.Pos.Z, f.Has = z+p.AboveGroundM, f.Has|track.Height
			}
		}
		f.broken = len(out) > 0 && p.Segment != t.Points[i-1].Segment
		out = append(out, f)
	}
	smooth(out)
	return out
}

func (f *Fix) at() time.Time {
	s := math.Floor(f.UnixS)
	return time.Unix(int64(s), int64((f.UnixS-s)*1e9)).UTC().Round(time.Millisecond)
}

// Review compares a flight with its plan. It needs at least ten fixes.
func Review(f Flight) (*Report, error) {
	if len(f.Fixes) < 10 {
		return nil, fmt.Errorf("sortie %s: %d fixes are too few to review", f.Sortie, len(f.Fixes))
	}
	r := &Report{Sortie: f.Sortie, From: f.Fixes[0].at(), To: f.Fixes[len(f.Fixes)-1].at(), Caution: Caution, Takes: []TakeReport{}, Events: []Event{}, Findings: []Finding{}, Change: []string{}}
	for _, x := range f.Fixes {
		r.path, r.times = append(r.path, x.Pos), append(r.times, x.UnixS)
	}
	r.whole(&f)
	r.judged(&f)
	slices.SortStableFunc(r.Events, func(a, b Event) int { return a.From.Compare(b.From) })
	r.energy(&f)
	var why string
	if r.Wind, why = EstimateWind(f.Fixes); r.Wind == nil {
		r.find(Finding{Severity: "unknown", What: "wind from drift: " + why})
	}
	line := newTimeline(f.Fixes)
	for _, t := range f.Takes {
		if err := r.take(&f, t, line); err != nil {
			r.find(Finding{Severity: "unknown", Slate: t.Slate, What: fmt.Sprintf("take %d not reviewed: %v", t.Take, err)})
		}
	}
	r.advise()
	return r, nil
}

func (r *Report) find(f Finding) { r.Findings = append(r.Findings, f) }

// whole checks the limits over the entire flight, not only the takes.
func (r *Report) whole(f *Flight) {
	speed := func(x *Fix) (float64, bool) { return x.Vel.Norm(), true }
	above := func(x *Fix) (float64, bool) {
		if f.Ground == nil || x.Has&track.Height == 0 {
			return 0, false
		}
		z, ok := f.Ground.HeightAt(x.Pos.X, x.Pos.Y)
		return x.Pos.Z - z, ok
	}
	clear := func(x *Fix) (float64, bool) {
		if f.Clearance == nil || x.Has&track.Height == 0 {
			return 0, false
		}
		return f.Clearance(x.Pos)
	}
	people := func(x *Fix) (float64, bool) {
		if f.People == nil {
			return 0, false
		}
		return f.People(x.Pos, x.at())
	}
	v := r.watch(f, "speed over ground", "m/s", speed, f.Limits.MaxSpeedMS, 1)
	r.MaxSpeedMS = *v
	r.MaxAboveM = r.watch(f, "height above ground", "m", above, f.Limits.MaxAboveGroundM, 1)
	r.MinClearM = r.watch(f, "clearance from obstacles", "m", clear, f.Limits.MinClearanceM, -1)
	r.MinPeopleM = r.watch(f, "distance to people", "m", people, f.Limits.MinPeopleM, -1)
}

// watch finds the extreme of a value (sign +1 for a maximum, -1 for a minimum) and the
// spans in which it passes its limit.
func (r *Report) watch(f *Flight, what, unit string, value func(*Fix) (float64, bool), limit *Limit, sign float64) *float64 {
	var worst *float64
	unknown := 0
	var open *Event
	for i := range f.Fixes {
		x := &f.Fixes[i]
		v, ok := value(x)
		if !ok {
			unknown++
			open = nil
			continue
		}
		if worst == nil || sign*v > sign**worst {
			w := v
			worst = &w
		}
		if limit == nil || sign*(v-limit.Value) <= 0 {
			open = nil
			continue
		}
		if open == nil || x.broken {
			r.Events = append(r.Events, Event{What: what, From: x.at(), Limit: &limit.Value, LimitText: fmt.Sprintf("%.1f %s", limit.Value, unit), Basis: limit.Basis, Unit: unit, Worst: v, least: sign < 0})
			open = &r.Events[len(r.Events)-1]
		}
		open.To = x.at()
		if sign*v > sign*open.Worst {
			open.Worst = v
		}
	}
	switch {
	case worst == nil:
		r.find(Finding{Severity: "unknown", What: what + " is not known for this flight", Mend: "record heights and give the site's terrain, obstacles and people areas"})
	case limit == nil && f.Rules != nil && slices.Contains(f.Rules.Limits, what): // judged by rules
	case limit == nil:
		r.find(Finding{Severity: "unknown", What: "no limit is given for " + what, Value: fmt.Sprintf("%.1f %s", *worst, unit)})
	case unknown > 0:
		r.find(Finding{Severity: "unknown", What: fmt.Sprintf("%s is not known for %d of %d fixes", what, unknown, len(f.Fixes))})
	}
	var first *Event
	n := 0
	for i := range r.Events {
		if e := &r.Events[i]; e.What == what {
			n++
			if first == nil || sign*e.Worst > sign*first.Worst {
				first = e
			}
		}
	}
	if first != nil {
		r.find(Finding{Severity: "stop", What: fmt.Sprintf("%s passed its limit %s, worst from %s for %.1f s", what, times(n), first.From.Format("15:04:05Z"), first.To.Sub(first.From).Seconds()),
			Value: fmt.Sprintf("%.1f %s", first.Worst, unit), Limit: first.LimitText, Basis: first.Basis, Mend: "find out why before the next flight; consider an incident entry"})
	}
	return worst
}

// energy takes the used energy from the log, else from volts times amperes, else from
// charge and the pack's size.
func (r *Report) energy(f *Flight) {
	var joules float64
	known := 0
	first, last := -1.0, -1.0
	for i := range f.Fixes {
		x := &f.Fixes[i]
		if i > 0 {
			p := &f.Fixes[i-1]
			if x.Has&p.Has&(track.Voltage|track.Current) == track.Voltage|track.Current {
				joules += (x.UnixS - p.UnixS) * (x.VoltageV*x.CurrentA + p.VoltageV*p.CurrentA) / 2
				known++
			}
		}
		if x.Has&track.Charge != 0 {
			if first < 0 {
				first = x.ChargeFraction
			}
			last = x.ChargeFraction
		}
	}
	set := func(wh float64, from string) { r.EnergyUsedWh, r.EnergyFrom = &wh, from }
	switch {
	case f.EnergyUsedWh != nil:
		set(*f.EnergyUsedWh, "log")
	case known > len(f.Fixes)*9/10:
		set(joules/3600, "recorded voltage and current")
	case first > last && last >= 0 && f.PackWh != nil:
		set((first-last)**f.PackWh, "recorded charge and the pack's rated energy")
	default:
		r.find(Finding{Severity: "unknown", What: "energy used is not known", Mend: "log it, or record voltage and current"})
		return
	}
	if f.EnergyPlannedWh == nil || *f.EnergyPlannedWh <= 0 {
		r.find(Finding{Severity: "unknown", What: "no predicted energy to compare with", Value: fmt.Sprintf("%.1f Wh used", *r.EnergyUsedWh)})
		return
	}
	ratio := *r.EnergyUsedWh / *f.EnergyPlannedWh
	r.EnergyRatio = &ratio
	if ratio > 1.1 {
		r.find(Finding{Severity: "caution", What: "more energy was used than predicted", Value: fmt.Sprintf("%.1f Wh", *r.EnergyUsedWh), Limit: fmt.Sprintf("%.1f Wh predicted", *f.EnergyPlannedWh), Mend: "let the rig's power factor be learnt again, and plan shorter sorties until then"})
	}
}

// Path is the whole flight in the site frame, for a map.
func (r *Report) Path() []geo.Vec3 { return r.path }

// During is the part of the flight from one moment to another, for a map.
func (r *Report) During(from, to time.Time) []geo.Vec3 {
	at := func(t time.Time, late float64) int {
		s := float64(t.UnixMilli())/1000 + late
		return search(len(r.times), func(i int) bool { return r.times[i] >= s })
	}
	return r.path[at(from, -0.001):at(to, 0.002)]
}

// Paths are the take's places as planned and as flown, moment by moment, for a map.
func (k *TakeReport) Paths() (planned, flown []geo.Vec3) {
	for i := range k.Rows {
		planned, flown = append(planned, k.Rows[i].planned), append(flown, k.Rows[i].flown)
	}
	return planned, flown
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
