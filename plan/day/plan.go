package day

// Plan is the answer: what flies when, what stays out and why, and how good
// it is.
type Plan struct {
	Days    []DayPlan `json:"days"`
	LeftOut []LeftOut `json:"left_out"`
	// Score, Bound in thousandths of a point: value times quality less costs.
	// No plan whatever scores above Bound.
	Score int64 `json:"score"`
	Bound int64 `json:"bound"`
	// Gap is (Bound-Score)/Bound, 0 when Proved.
	Gap    float64 `json:"gap"`
	Proved bool    `json:"proved"`
	// Value without costs, the share of each.
	Value       int64    `json:"value"`
	ChangeoverS int64    `json:"changeover_s"`
	Search      Search   `json:"search"`
	Notes       []string `json:"notes,omitempty"`
}

// DayPlan is one day's work in order of take-off.
type DayPlan struct {
	Name    string       `json:"name"`
	StartS  int64        `json:"start_s"`
	EndS    int64        `json:"end_s"`
	Sorties []Sortie     `json:"sorties"`
	Breaks  []BreakTaken `json:"breaks,omitempty"`
	Charges []Charge     `json:"charges,omitempty"`
}

// Sortie is one take-off (StartS) to landing (EndS).
type Sortie struct {
	Unit   string `json:"unit"`
	Rig    string `json:"rig"`
	Pack   string `json:"pack,omitempty"`
	Setup  string `json:"setup"`
	Spot   string `json:"spot,omitempty"`
	StartS int64  `json:"start_s"`
	EndS   int64  `json:"end_s"`
	Shots  []Shot `json:"shots"`
	// EnergyWh spent, LeftWh in the pack at landing.
	EnergyWh float64 `json:"energy_wh"`
	LeftWh   float64 `json:"left_wh"`
	// Before the take-off: seconds of build, move and handover, and pack and checks.
	BuildS    int64 `json:"build_s"`
	MoveS     int64 `json:"move_s"`
	HandoverS int64 `json:"handover_s"`
	GroundS   int64 `json:"ground_s"`
	// LatestS is the latest take-off that leaves every later sortie in place.
	LatestS int64 `json:"latest_s"`
	// Rested: the pilot rests before this sortie.
	Rested bool `json:"rested,omitempty"`
}

// Shot is one slate within a sortie; the reserve ends at ReserveEndS.
type Shot struct {
	Slate       string `json:"slate"`
	StartS      int64  `json:"start_s"`
	EndS        int64  `json:"end_s"`
	ReserveEndS int64  `json:"reserve_end_s"`
	Quality     int64  `json:"quality"` // permille
	Window      int    `json:"window"`  // index into the slate's windows
}

// BreakTaken is one meal or rest.
type BreakTaken struct {
	Unit   string `json:"unit"`
	What   string `json:"what"`
	StartS int64  `json:"start_s"`
	EndS   int64  `json:"end_s"`
}

// Charge is one pack on one charger.
type Charge struct {
	Pack    string  `json:"pack"`
	Charger string  `json:"charger"`
	StartS  int64   `json:"start_s"`
	EndS    int64   `json:"end_s"`
	FromWh  float64 `json:"from_wh"`
	ToWh    float64 `json:"to_wh"`
}

// LeftOut is a slate that the plan does not hold.
type LeftOut struct {
	Slate    string   `json:"slate"`
	Priority Priority `json:"priority"`
	Reason   string   `json:"reason"`
	// Facts is the smallest set found that keeps a must out, Relaxations what
	// would let it in, cheapest first. Certain is false when the search could
	// not prove that the facts are in conflict.
	Facts       []string     `json:"facts,omitempty"`
	Relaxations []Relaxation `json:"relaxations,omitempty"`
	Certain     bool         `json:"certain"`
}

// Relaxation is a change that would let a must in. Cost is in points lost or,
// where only time or kit is asked, seconds or watt-hours as Unit says.
type Relaxation struct {
	What   string  `json:"what"`
	Amount float64 `json:"amount"`
	Unit   string  `json:"unit"`
}

// Search tells the effort. Work counts candidate sorties weighed, States those
// kept, Passes the widths tried, Rounds the neighbourhoods searched.
type Search struct {
	Seed       uint64 `json:"seed"`
	Work       int64  `json:"work"`
	States     int64  `json:"states"`
	Passes     int    `json:"passes"`
	Rounds     int    `json:"rounds"`
	FirstScore int64  `json:"first_score"`
	FirstWork  int64  `json:"first_work"`
	BestWork   int64  `json:"best_work"`
	// Stopped says why the search ended: "proved", "work" or "limit".
	Stopped string `json:"stopped"`
}

// Improvement is handed to Options.Progress whenever a better plan is found.
type Improvement struct {
	Score, Bound, Work int64
	Slates             int
}

// Options of a search. The same problem, seed and work give the same plan.
type Options struct {
	Seed uint64
	// Work budget in candidate sorties weighed; 0 means DefaultWork.
	Work int64
	// Brief leaves out the search for what keeps a must out.
	Brief bool
	// Progress, if set, is called for each better plan, in this goroutine.
	Progress func(Improvement)
}

// DefaultWork is about a second or two of search on one core.
const DefaultWork = 20_000_000
