package logbook

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// bodies makes an empty body of each kind.
var bodies = map[Kind]func() Body{
	KindSortie:   func() Body { return new(Sortie) },
	KindTake:     func() Body { return new(Take) },
	KindPack:     func() Body { return new(Pack) },
	KindUpkeep:   func() Body { return new(Upkeep) },
	KindIncident: func() Body { return new(Incident) },
	KindPermit:   func() Body { return new(Permit) },
	KindHours:    func() Body { return new(Hours) },
	KindFlown:    func() Body { return new(Flown) },
	KindLesson:   func() Body { return new(Lesson) },
	KindPractice: func() Body { return new(Practice) },
	KindRemark:   func() Body { return new(Remark) },
	KindStrike:   func() Body { return new(Strike) },
}

// Kinds lists every kind, in alphabetical order.
func Kinds() []Kind {
	var all []Kind
	for k := range bodies {
		all = append(all, k)
	}
	slices.Sort(all)
	return all
}

// ShotClass grades how hard a shot is to fly; package skill holds their order.
type ShotClass string

// The shot classes, from easiest to hardest.
const (
	Trainer     ShotClass = "trainer"
	WideOpen    ShotClass = "wide and open"
	NearObjects ShotClass = "near objects"
	Between     ShotClass = "between objects"
	CloseMoving ShotClass = "close to moving subjects"
	TwoOperator ShotClass = "two operators"
)

// ShotClasses lists the classes in order.
var ShotClasses = []ShotClass{Trainer, WideOpen, NearObjects, Between, CloseMoving, TwoOperator}

func (c ShotClass) check() error {
	if c != "" && !slices.Contains(ShotClasses, c) {
		return fmt.Errorf("shot class %q is not one of %v", c, ShotClasses)
	}
	return nil
}

// Sortie is one take-off to landing. A nil number is not known.
type Sortie struct {
	Sortie          string    `json:"sortie"` // the crew's own reference, as "2026-06-21/3"
	Shoot           string    `json:"shoot,omitempty"`
	Slates          []string  `json:"slates,omitempty"`
	Aircraft        string    `json:"aircraft"` // registration or the crew's name for it
	AircraftClass   string    `json:"aircraft_class,omitempty"`
	Pilot           string    `json:"pilot"`
	Operator        string    `json:"operator,omitempty"` // of the camera, when a second person
	Observer        string    `json:"observer,omitempty"`
	ShotClass       ShotClass `json:"shot_class,omitempty"`
	Pack            string    `json:"pack,omitempty"`
	TakeOff         time.Time `json:"take_off"`
	Landing         time.Time `json:"landing"`
	LatDeg          *float64  `json:"lat_deg,omitempty"`
	LonDeg          *float64  `json:"lon_deg,omitempty"`
	EnergyPlannedWh *float64  `json:"energy_planned_wh,omitempty"`
	EnergyUsedWh    *float64  `json:"energy_used_wh,omitempty"`
	PowerFactor     *float64  `json:"power_factor,omitempty"` // of the rig, that energy_planned_wh was worked out with
	Permits         []string  `json:"permits,omitempty"`
	Notes           string    `json:"notes,omitempty"`
}

// Take is one performance of a shot.
type Take struct {
	Sortie  string    `json:"sortie,omitempty"`
	Slate   string    `json:"slate"`
	Take    int       `json:"take"`
	Circled bool      `json:"circled"` // marked to be printed
	From    time.Time `json:"from,omitzero"`
	To      time.Time `json:"to,omitzero"`
	Planned time.Time `json:"planned,omitzero"` // for when the plan had it
	Card    string    `json:"card,omitempty"`
	Clip    string    `json:"clip,omitempty"`
	Notes   string    `json:"notes,omitempty"`
}

// Pack is the state of one battery set as measured.
type Pack struct {
	Pack          string   `json:"pack"`
	Cycles        int      `json:"cycles"`
	RatedAh       *float64 `json:"rated_ah,omitempty"`
	CapacityAh    *float64 `json:"capacity_ah,omitempty"`
	ResistanceOhm *float64 `json:"resistance_ohm,omitempty"` // of the whole set
	TemperatureK  *float64 `json:"temperature_k,omitempty"`
	Method        string   `json:"method,omitempty"` // how it was measured
	Notes         string   `json:"notes,omitempty"`
}

// Upkeep is work done on an aircraft and when it is due again.
type Upkeep struct {
	Aircraft    string    `json:"aircraft"`
	Work        string    `json:"work"`
	AirframeS   *float64  `json:"airframe_s,omitempty"` // airframe time when done
	NextAfterS  *float64  `json:"next_after_s,omitempty"`
	NextBy      time.Time `json:"next_by,omitzero"`
	Serviceable bool      `json:"serviceable"` // released to fly after the work
	Notes       string    `json:"notes,omitempty"`
}

// Incident holds the facts that an occurrence report usually asks for (compare ICAO
// Annex 13 appendix 2 and Regulation (EU) 2015/1018; from memory). What is not known
// stays empty: it must not be guessed.
type Incident struct {
	Severity     string   `json:"severity"` // near-miss, damage, injury or loss
	What         string   `json:"what"`     // what happened, in order
	Sortie       string   `json:"sortie,omitempty"`
	Place        string   `json:"place"`
	LatDeg       *float64 `json:"lat_deg,omitempty"`
	LonDeg       *float64 `json:"lon_deg,omitempty"`
	HeightM      *float64 `json:"height_m,omitempty"`
	Aircraft     string   `json:"aircraft"`
	Registration string   `json:"registration,omitempty"`
	MassKg       *float64 `json:"mass_kg,omitempty"`
	Pilot        string   `json:"pilot"`
	Certificate  string   `json:"certificate,omitempty"`
	Phase        string   `json:"phase,omitempty"` // take-off, take, return, landing, on the ground
	Weather      string   `json:"weather,omitempty"`
	WindMS       *float64 `json:"wind_ms,omitempty"`
	Light        string   `json:"light,omitempty"`
	Injuries     string   `json:"injuries,omitempty"`
	Damage       string   `json:"damage,omitempty"`
	ThirdParties string   `json:"third_parties,omitempty"`
	OtherTraffic string   `json:"other_traffic,omitempty"`
	Actions      string   `json:"actions,omitempty"` // what was done at once
	Cause        string   `json:"cause,omitempty"`   // as far as known
	ReportedTo   string   `json:"reported_to,omitempty"`
	Reference    string   `json:"reference,omitempty"`
	Witnesses    []string `json:"witnesses,omitempty"`
}

// Missing lists the facts that a report usually needs and that are still unknown.
func (i *Incident) Missing() []string {
	var m []string
	for _, f := range []struct {
		name  string
		known bool
	}{
		{"position", i.LatDeg != nil && i.LonDeg != nil}, {"height", i.HeightM != nil},
		{"registration", i.Registration != ""}, {"take-off mass", i.MassKg != nil}, {"pilot's certificate", i.Certificate != ""},
		{"phase of flight", i.Phase != ""}, {"weather", i.Weather != ""}, {"wind", i.WindMS != nil}, {"light", i.Light != ""},
		{"injuries (write \"none\" if none)", i.Injuries != ""}, {"damage (write \"none\" if none)", i.Damage != ""},
		{"third parties", i.ThirdParties != ""}, {"actions taken", i.Actions != ""}, {"to whom it was reported", i.ReportedTo != ""},
	} {
		if !f.known {
			m = append(m, f.name)
		}
	}
	return m
}

// Permit is one use of a permission.
type Permit struct {
	Permit string    `json:"permit"`
	Sortie string    `json:"sortie,omitempty"`
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	Kept   string    `json:"kept,omitempty"` // how its conditions were kept
	Notes  string    `json:"notes,omitempty"`
}

// Hours brings forward time flown before this logbook began.
type Hours struct {
	Person        string    `json:"person"`
	Role          string    `json:"role"` // pilot or operator
	AircraftClass string    `json:"aircraft_class,omitempty"`
	ShotClass     ShotClass `json:"shot_class,omitempty"`
	FlownS        float64   `json:"flown_s"`
	LastFlown     time.Time `json:"last_flown,omitzero"`
	Source        string    `json:"source"` // the log or certificate it is taken from
}

// Flown ties an imported recording to a sortie. The original lies in the store.
type Flown struct {
	Sortie       string    `json:"sortie"`
	SHA256       string    `json:"sha256"`
	Name         string    `json:"name"`
	Format       string    `json:"format"`
	Columns      string    `json:"columns,omitempty"`
	Zone         string    `json:"zone,omitempty"`
	Start        time.Time `json:"start,omitzero"`    // given by hand, for recordings without a date
	ClockOffsetS float64   `json:"clock_offset_s"`    // to add to the recorder's time
	RaiseM       float64   `json:"raise_m,omitempty"` // to add to the recorder's heights
	From         time.Time `json:"from,omitzero"`
	To           time.Time `json:"to,omitzero"`
	Points       int       `json:"points"`
	Findings     []string  `json:"findings,omitempty"`
}

// Lesson is a number learnt from the log and accepted by a person.
type Lesson struct {
	Quantity string  `json:"quantity"` // with its unit at the end, as "changeover_s"
	Subject  string  `json:"subject"`  // the rig, pack or crew it is about
	Old      float64 `json:"old"`
	New      float64 `json:"new"`
	Low      float64 `json:"low"` // 95 % interval
	High     float64 `json:"high"`
	Cases    int     `json:"cases"`
}

// Practice is one graded move flown in practice. Passed is what the crew's rule said.
type Practice struct {
	Person    string    `json:"person"`
	ShotClass ShotClass `json:"shot_class"`
	Move      string    `json:"move"`
	Sortie    string    `json:"sortie,omitempty"`
	Score     float64   `json:"score"` // 0 to 100
	Passed    bool      `json:"passed"`
}

// Remark is free text.
type Remark struct {
	Text string `json:"text"`
}

// Strike takes out the entry it corrects.
type Strike struct{}

// Kind and check of each body.

func (*Sortie) Kind() Kind   { return KindSortie }
func (*Take) Kind() Kind     { return KindTake }
func (*Pack) Kind() Kind     { return KindPack }
func (*Upkeep) Kind() Kind   { return KindUpkeep }
func (*Incident) Kind() Kind { return KindIncident }
func (*Permit) Kind() Kind   { return KindPermit }
func (*Hours) Kind() Kind    { return KindHours }
func (*Flown) Kind() Kind    { return KindFlown }
func (*Lesson) Kind() Kind   { return KindLesson }
func (*Practice) Kind() Kind { return KindPractice }
func (*Remark) Kind() Kind   { return KindRemark }
func (*Strike) Kind() Kind   { return KindStrike }

// FlownS is the time from take-off to landing in seconds.
func (s *Sortie) FlownS() float64 { return s.Landing.Sub(s.TakeOff).Seconds() }

func (s *Sortie) check() error {
	return errors.Join(
		needed("sortie", s.Sortie), needed("aircraft", s.Aircraft), needed("pilot", s.Pilot),
		span("take_off", s.TakeOff, "landing", s.Landing), s.ShotClass.check(),
		place(s.LatDeg, s.LonDeg), atLeast("energy_planned_wh", s.EnergyPlannedWh, 0), atLeast("energy_used_wh", s.EnergyUsedWh, 0), above("power_factor", s.PowerFactor))
}

func (t *Take) check() error {
	err := needed("slate", t.Slate)
	if t.Take < 1 || t.Take > 9999 {
		err = errors.Join(err, fmt.Errorf("take %d: expected 1 or more", t.Take))
	}
	if !t.From.IsZero() || !t.To.IsZero() {
		err = errors.Join(err, span("from", t.From, "to", t.To))
	}
	return err
}

func (p *Pack) check() error {
	err := needed("pack", p.Pack)
	if p.Cycles < 0 {
		err = errors.Join(err, fmt.Errorf("cycles %d: expected 0 or more", p.Cycles))
	}
	return errors.Join(err, above("rated_ah", p.RatedAh), above("capacity_ah", p.CapacityAh), above("resistance_ohm", p.ResistanceOhm), atLeast("temperature_k", p.TemperatureK, 200))
}

func (u *Upkeep) check() error {
	return errors.Join(needed("aircraft", u.Aircraft), needed("work", u.Work), atLeast("airframe_s", u.AirframeS, 0), above("next_after_s", u.NextAfterS))
}

var severities = []string{"near-miss", "damage", "injury", "loss"}

func (i *Incident) check() error {
	err := errors.Join(needed("what", i.What), needed("place", i.Place), needed("aircraft", i.Aircraft), needed("pilot", i.Pilot), place(i.LatDeg, i.LonDeg), above("mass_kg", i.MassKg), atLeast("wind_ms", i.WindMS, 0))
	if !slices.Contains(severities, i.Severity) {
		err = errors.Join(err, fmt.Errorf("severity %q is not one of %s", i.Severity, strings.Join(severities, ", ")))
	}
	return err
}

func (p *Permit) check() error {
	return errors.Join(needed("permit", p.Permit), span("from", p.From, "to", p.To))
}

func (h *Hours) check() error {
	err := errors.Join(needed("person", h.Person), needed("source", h.Source), h.ShotClass.check(), atLeast("flown_s", &h.FlownS, 0))
	if h.Role != "pilot" && h.Role != "operator" {
		err = errors.Join(err, fmt.Errorf("role %q is not pilot or operator", h.Role))
	}
	return err
}

func (f *Flown) check() error {
	err := errors.Join(needed("sortie", f.Sortie), needed("format", f.Format))
	if b, e := hex.DecodeString(f.SHA256); e != nil || len(b) != 32 {
		err = errors.Join(err, fmt.Errorf("sha256 %.80q: expected 64 hexadecimal digits", f.SHA256))
	}
	if !finite(f.ClockOffsetS) || !finite(f.RaiseM) {
		err = errors.Join(err, errors.New("clock_offset_s or raise_m is not a number"))
	}
	return err
}

func (l *Lesson) check() error {
	err := errors.Join(needed("quantity", l.Quantity), needed("subject", l.Subject))
	if !finite(l.Old) || !finite(l.New) || !(l.Low <= l.New && l.New <= l.High) {
		err = errors.Join(err, fmt.Errorf("low %g, new %g, high %g: expected them in order", l.Low, l.New, l.High))
	}
	return err
}

func (p *Practice) check() error {
	err := errors.Join(needed("person", p.Person), needed("move", p.Move), needed("shot_class", string(p.ShotClass)), p.ShotClass.check())
	if !(p.Score >= 0 && p.Score <= 100) {
		err = errors.Join(err, fmt.Errorf("score %g: expected 0 to 100", p.Score))
	}
	return err
}

func (r *Remark) check() error { return needed("text", r.Text) }
func (*Strike) check() error   { return nil }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func needed(name, text string) error { return plainText(name, text, 20_000, true) }

func span(name1 string, from time.Time, name2 string, to time.Time) error {
	switch {
	case from.IsZero() || to.IsZero():
		return fmt.Errorf("%s and %s are both needed", name1, name2)
	case to.Before(from):
		return fmt.Errorf("%s %s lies before %s %s", name2, to.Format(time.RFC3339), name1, from.Format(time.RFC3339))
	case to.Sub(from) > 48*time.Hour:
		return fmt.Errorf("%s to %s is %s: expected less than two days", name1, name2, to.Sub(from))
	}
	return nil
}

func place(lat, lon *float64) error {
	switch {
	case lat == nil && lon == nil:
		return nil
	case lat == nil || lon == nil:
		return errors.New("lat_deg and lon_deg go together")
	case !(math.Abs(*lat) <= 90) || !(math.Abs(*lon) <= 180):
		return fmt.Errorf("position %g, %g is off the globe", *lat, *lon)
	}
	return nil
}

func atLeast(name string, v *float64, low float64) error {
	if v != nil && !(*v >= low && finite(*v)) {
		return fmt.Errorf("%s %g: expected %g or more", name, *v, low)
	}
	return nil
}

func above(name string, v *float64) error {
	if v != nil && !(*v > 0 && finite(*v)) {
		return fmt.Errorf("%s %g: expected more than 0", name, *v)
	}
	return nil
}

// Blank returns an empty body of a kind, to be filled in.
func Blank(k Kind) (Body, error) {
	make, ok := bodies[k]
	if !ok {
		return nil, fmt.Errorf("kind %q is not one of %s", k, Kinds())
	}
	return make(), nil
}
