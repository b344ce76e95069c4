package day

// Priority says how much a slate matters.
type Priority string

// The three priorities. A must that cannot be placed is explained in full.
const (
	Must   Priority = "must"
	Should Priority = "should"
	Nice   Priority = "nice"
)

// Value of a slate in points when Slate.Value is zero (our own rule).
const (
	MustValue   = 1000
	ShouldValue = 300
	NiceValue   = 100
)

// Problem is everything the search knows. Times (…S) are whole seconds of
// elapsed time since one epoch of the caller's choice (never clock readings, so
// a clock change cannot bend them); durations are whole seconds. Things refer
// to each other by name. Times in which nothing may start are simply not in a
// window: weather, airspace slots, light and talent calls all arrive as windows.
type Problem struct {
	// StepS is the grid of take-off times in seconds; 0 means 60. Changeovers,
	// flights and charges are rounded up to it.
	StepS int64 `json:"step_s,omitempty"`
	Days  []Day `json:"days"`
	// Calls are, per day, the times at which the crew may be called, within the
	// day: one is chosen, and the day starts there. None: the day's start.
	Calls    [][]int64     `json:"calls,omitempty"`
	Slates   []Slate       `json:"slates"`
	Setups   []Setup       `json:"setups"`
	Spots    []Spot        `json:"spots,omitempty"`
	Rigs     []Rig         `json:"rigs"`
	Packs    []Pack        `json:"packs,omitempty"`
	Chargers []Charger     `json:"chargers,omitempty"`
	People   []Person      `json:"people,omitempty"`
	Units    []Unit        `json:"units"`
	Weights  Weights       `json:"weights"`
	Clock    []ClockChange `json:"clock,omitempty"`
	// Keep rewards slates for staying where an earlier plan had them.
	Keep []Keep `json:"keep,omitempty"`
}

// Keep rewards a slate that stays on its rig at its time: Points (thousandths)
// when it starts at AtS, falling to nothing WithinS earlier or later.
type Keep struct {
	Slate   string `json:"slate"`
	Rig     string `json:"rig"`
	AtS     int64  `json:"at_s"`
	Points  int64  `json:"points"`
	WithinS int64  `json:"within_s"`
}

// Day is one working day of the site: nothing flies outside [StartS, EndS].
type Day struct {
	Name   string `json:"name"`
	StartS int64  `json:"start_s"`
	EndS   int64  `json:"end_s"`
}

// Slate is one shot to be got.
type Slate struct {
	Name     string   `json:"name"`
	Priority Priority `json:"priority"`
	// Value in points for the shot at full quality; 0 takes it from Priority.
	Value   int64    `json:"value,omitempty"`
	Windows []Window `json:"windows"`
	// TakeS is one take with its reset; Takes are wanted, and time and energy
	// for Reserve more are held for a reshoot.
	TakeS   int64 `json:"take_s"`
	Takes   int   `json:"takes"`
	Reserve int   `json:"reserve,omitempty"`
	// Spot is the launch spot; "" means anywhere the unit stands.
	Spot    string   `json:"spot,omitempty"`
	Options []Option `json:"options"`
	// Skills and People that the unit must hold (skill gates).
	Skills []string `json:"skills,omitempty"`
	People []string `json:"people,omitempty"`
	// After names slates that must be got before this one; without them it is
	// not taken at all (continuity).
	After []string `json:"after,omitempty"`
}

// Option is one way to shoot a slate.
type Option struct {
	Rig   string `json:"rig"`
	Setup string `json:"setup"`
	// TakeWh is the energy of one take in watt-hours.
	TakeWh float64 `json:"take_wh"`
}

// Window is an interval in which a slate can be taken: all its takes and the
// reserve lie inside [FromS, ToS].
type Window struct {
	FromS int64 `json:"from_s"`
	ToS   int64 `json:"to_s"`
	// Quality in permille by time, linear between knots in rising order, level
	// outside them; none means 1000 throughout. The quality of a shot is read
	// at the middle of its wanted takes.
	Quality []Knot `json:"quality,omitempty"`
	// Because names the fact behind the window, for explanations.
	Because string `json:"because,omitempty"`
}

// Knot is one point of a quality curve.
type Knot struct {
	AtS     int64 `json:"at_s"`
	Quality int64 `json:"quality"`
}

// Setup is a rig's build on the ground. Shots of one sortie share it.
type Setup struct {
	Name    string `json:"name"`
	Lens    string `json:"lens,omitempty"`
	Filter  string `json:"filter,omitempty"`
	Balance string `json:"balance,omitempty"`
	Card    string `json:"card,omitempty"`
}

// Spot is a launch spot; MoveS gives the seconds to move a unit from here to
// every other spot by name (a missing pair is read the other way round, then 0).
type Spot struct {
	Name  string           `json:"name"`
	MoveS map[string]int64 `json:"move_s,omitempty"`
}

// Rig is one airframe with its camera.
type Rig struct {
	Name string `json:"name"`
	// Setup is the build at the beginning; WrapSetup, if given, the build it
	// must be brought back to by the end of every day on which it flew.
	Setup     string `json:"setup,omitempty"`
	WrapSetup string `json:"wrap_setup,omitempty"`
	// ChangeS[i][j] is the time to go from Problem.Setups[i] to [j]. When nil it
	// is the sum of the Swap times of the parts that differ.
	ChangeS [][]int64 `json:"change_s,omitempty"`
	Swap    Swap      `json:"swap"`
	// GroundS is spent on the ground before every take-off (pack, checks);
	// LaunchS from take-off to the first frame, RecoverS from the last frame to
	// landing, RepositionS between two shots of one sortie.
	GroundS     int64 `json:"ground_s,omitempty"`
	LaunchS     int64 `json:"launch_s,omitempty"`
	RecoverS    int64 `json:"recover_s,omitempty"`
	RepositionS int64 `json:"reposition_s,omitempty"`
	// OverheadWh is spent by launch and recovery, RepositionWh by each
	// reposition, in watt-hours.
	OverheadWh   float64 `json:"overhead_wh,omitempty"`
	RepositionWh float64 `json:"reposition_wh,omitempty"`
	// MaxShots of one sortie; 0 means 3.
	MaxShots int `json:"max_shots,omitempty"`
	// FreeS: in use until then (0: free from the beginning).
	FreeS int64 `json:"free_s,omitempty"`
	// Mains: fed by a tether or otherwise without packs.
	Mains bool `json:"mains,omitempty"`
}

// Swap times in seconds for each part of a setup.
type Swap struct {
	LensS    int64 `json:"lens_s,omitempty"`
	FilterS  int64 `json:"filter_s,omitempty"`
	BalanceS int64 `json:"balance_s,omitempty"`
	CardS    int64 `json:"card_s,omitempty"`
}

// Pack is one battery set. Energies in watt-hours, powers in watts.
type Pack struct {
	Name       string   `json:"name"`
	Rigs       []string `json:"rigs"`
	CapacityWh float64  `json:"capacity_wh"`
	// ChargeWh is held at the beginning of the first day; packs are charged
	// overnight, so every later day begins with full packs.
	ChargeWh float64 `json:"charge_wh"`
	// ReserveWh must remain at landing.
	ReserveWh float64 `json:"reserve_wh"`
	// ChargeW is the most the pack accepts; 0 means whatever the charger gives.
	ChargeW float64 `json:"charge_w,omitempty"`
	// CoolS from landing to charging, RestS from landing or from the end of a
	// charge to the next take-off.
	CoolS int64 `json:"cool_s,omitempty"`
	RestS int64 `json:"rest_s,omitempty"`
	// ReadyS: not before this time (0: from the beginning).
	ReadyS int64 `json:"ready_s,omitempty"`
}

// Charger is a bank of equal outlets on one supply. Packs go on in the order
// in which they took off and stay until full.
type Charger struct {
	Name  string  `json:"name"`
	Slots int     `json:"slots"`
	SlotW float64 `json:"slot_w"`
	// SupplyW limits how many outlets work at once; 0 means all.
	SupplyW float64  `json:"supply_w,omitempty"`
	Packs   []string `json:"packs,omitempty"` // nil: every pack
	// BusyS: outlets that are in use until these times at the beginning.
	BusyS []int64 `json:"busy_s,omitempty"`
}

// Person is a member of one unit.
type Person struct {
	Name   string   `json:"name"`
	Skills []string `json:"skills,omitempty"` // "pilot" flies
	// DutyS is the longest day from call to wrap, TurnaroundS the least rest
	// from wrap to the next call; 0 means no limit is known.
	DutyS       int64 `json:"duty_s,omitempty"`
	TurnaroundS int64 `json:"turnaround_s,omitempty"`
	// A pilot flies at most FlyS between rests of RestS on the ground.
	FlyS  int64 `json:"fly_s,omitempty"`
	RestS int64 `json:"rest_s,omitempty"`
}

// Pilot is the skill a unit needs to fly.
const Pilot = "pilot"

// Unit is a team that flies one sortie at a time; units work side by side.
type Unit struct {
	Name   string   `json:"name"`
	People []string `json:"people,omitempty"` // none: no duty rules, any skill
	Rigs   []string `json:"rigs"`
	Spot   string   `json:"spot,omitempty"` // where it stands at the beginning
	// HandoverS is added when the unit flies another rig than last time. With a
	// Technician the next rig is built while the unit still flies or moves, but
	// not before the call; a changeover lies wholly after a break that comes
	// before its take-off, for the technician eats too.
	HandoverS  int64 `json:"handover_s,omitempty"`
	Technician bool  `json:"technician,omitempty"`
	// CallS per day (parallel to Problem.Days); nil means the day's start. Duty
	// counts from the call even where the day's start is later.
	CallS []int64 `json:"call_s,omitempty"`
	// FreeS: on its way until then at the beginning, with FlownS flown since its
	// pilot's last rest.
	FreeS  int64   `json:"free_s,omitempty"`
	FlownS int64   `json:"flown_s,omitempty"`
	Breaks []Break `json:"breaks,omitempty"`
}

// Break is a meal or another rest on the ground, begun within
// [EarliestS, LatestS] unless the unit has landed for the day by LatestS.
type Break struct {
	What      string `json:"what"`
	EarliestS int64  `json:"earliest_s"`
	LatestS   int64  `json:"latest_s"`
	DurationS int64  `json:"duration_s"`
}

// Weights are the costs taken from the value, in thousandths of a point per
// second: of changeover (build, move, handover) and of the unit's day from call
// to last landing. Zero is zero; see DefaultWeights.
type Weights struct {
	ChangePerS int64 `json:"change_per_s"`
	SpanPerS   int64 `json:"span_per_s"`
}

// DefaultWeights: 100 minutes of changeover weigh 18 points, a longer day a
// third of that; both far below a nice shot.
var DefaultWeights = Weights{ChangePerS: 3, SpanPerS: 1}

// ClockChange gives the clock's offset from the epoch's clock from FromS on;
// only for printing times and for the note on a day that has one inside it.
type ClockChange struct {
	FromS   int64 `json:"from_s"`
	OffsetS int64 `json:"offset_s"`
}
