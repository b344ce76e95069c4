package dossier

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/radio"
	"fieldfare/model/risk"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/hazard"
	"fieldfare/plan/rule"
)

// Slate is the case of one shot at one hour.
type Slate struct {
	Slate     string                `json:"slate"`
	Title     string                `json:"title"`
	At        time.Time             `json:"at"`
	Windows   []Span                `json:"windows"`
	Barred    bool                  `json:"barred"`
	Unsolved  string                `json:"unsolved,omitempty"` // why there is no path; nothing of the flight is then known
	Rig       string                `json:"rig"`
	Pilot     string                `json:"pilot"`
	Operator  string                `json:"operator"`
	Observers []string              `json:"observers"`
	Launch    string                `json:"launch"`
	MassKg    float64               `json:"takeoff_mass_kg"`
	Moves     []string              `json:"moves"`
	DurationS float64               `json:"duration_s"`
	HighestM  float64               `json:"highest_above_ground_m"`
	FastestMS float64               `json:"top_speed_m_s"`
	Safety    assess.SafetyNumbers  `json:"safety"`
	Eased     []string              `json:"ground_risk_mitigations"` // that the source knows; none is applied
	Radio     []assess.RadioNumbers `json:"radio"`
	Links     []Link                `json:"links"`
	Stands    []assess.Stand        `json:"spotters"`
	Reached   []assess.Reached      `json:"in_volumes"`
	Falls     Falls                 `json:"falls"`
	LostLink  *LostLink             `json:"lost_link"` // null: not known
	Landing   Landing               `json:"emergency_landing"`
	FlyAway   FlyAway               `json:"fly_away"`
	Rules     []rule.Result         `json:"rules"`
	Findings  []assess.Finding      `json:"findings"` // every stop, and all of safety, rules, radio, weather, flight and crew
	Risks     []hazard.Row          `json:"risks"`
	Basis     []Basis               `json:"basis"`
}

// Link is one radio link second by second, its ground end at the launch spot.
type Link struct {
	Use     string   `json:"use"`
	Unknown string   `json:"unknown,omitempty"`
	Points  []Signal `json:"points"`
	Stand   string   `json:"best_stand"` // of the site's launch, observer and set spots
	StandDB *float64 `json:"best_stand_margin_db"`
}

// Signal is one second's.
type Signal struct {
	TimeS      float64  `json:"t_s"`
	MarginDB   float64  `json:"margin_db"`     // an upper bound where the terrain is not known
	Clear      *float64 `json:"fresnel_share"` // null straight overhead
	ObstacleM  float64  `json:"obstacle_m"`
	GroundKnow bool     `json:"terrain_known"`
}

// easing are the mitigations of the ground risk that JARUS SORA 2.5 knows (names from memory). The class
// stands as it is until a crew shows them to its authority.
var easing = []string{
	"M1(A) sheltering: people below are inside buildings (from memory; not applied)",
	"M1(B) operational restrictions: fewer people at this time and place (from memory; not applied)",
	"M1(C) ground observation: somebody sees people below and the flight gives way (from memory; not applied)",
	"M2 effects of impact reduced: parachute, less energy, frangible parts (from memory; not applied)",
}

// Basis is where a number comes from, and how far that was confirmed.
type Basis struct {
	Of   string `json:"of"`
	From string `json:"from"`
}

// bases of every slate's numbers.
var bases = []Basis{
	{"line of sight", risk.BasisLineOfSight},
	{"contingency volume", risk.BasisContingencyVolume},
	{"ground risk buffer", risk.BasisGroundRiskBuffer + "; the 1:1 rule: UK CAA, GM1 UAS.OPEN.040(1)"},
	{"ground risk class", risk.BasisGroundRiskClass + "; before any mitigation"},
	{"falls", risk.BasisFall + ", with any drag up to the aircraft's size"},
	{"radio: free space", radio.BasisFreeSpace},
	{"radio: Fresnel zone", radio.BasisFresnel},
	{"radio: terrain and buildings", radio.BasisBullington},
	{"radio: noise", radio.BasisNoise},
	{"radio: bodies and airframe", radio.BasisBlocking},
	{"lost-link route", "straight at one height, 30 m above terrain and obstacles (common practice, no source)"},
	{"emergency landing", "wind triangle and momentum theory; from the last take that the pack is planned for"},
}

// Falls is where a dead aircraft comes down, second by second.
type Falls struct {
	Basis     string `json:"basis"`
	WindKnown bool   `json:"wind_known"`
	Unknown   string `json:"unknown,omitempty"` // why there are none
	Points    []Fall `json:"points"`
}

// Fall is one second's.
type Fall struct {
	TimeS     float64 `json:"t_s"`
	Lat       float64 `json:"lat_deg"` // of the farthest impact
	Lon       float64 `json:"lon_deg"`
	DistanceM float64 `json:"distance_m"`
	EnergyJ   float64 `json:"energy_j"` // of the hardest
	SpeedMS   float64 `json:"speed_m_s"`
}

// LostLink is what the aircraft is set to do when its control link is lost.
type LostLink struct {
	AboveLaunchM float64 `json:"height_above_launch_m"`
	AboveSeaM    float64 `json:"height_above_sea_m"`
	NeededM      float64 `json:"needed_above_launch_m"`
	ClearanceM   float64 `json:"least_clearance_m"`
	Action       string  `json:"action"`
}

// Landing is which landing spots can be reached, second by second, on the last take of a pack.
type Landing struct {
	Unknown string    `json:"unknown,omitempty"`
	Spots   []string  `json:"spots"`
	Points  []Reaches `json:"points"`
}

// Reaches is one second's.
type Reaches struct {
	TimeS       float64 `json:"t_s"`
	LeftPercent float64 `json:"left_percent"` // of the packs' energy, at that second
	Spots       []Reach `json:"reached"`      // nearest in time first
}

// Reach is the way to one landing spot.
type Reach struct {
	Spot        string  `json:"spot"`
	TravelS     float64 `json:"travel_s"`
	LeftPercent float64 `json:"left_at_landing_percent"`
	Clear       string  `json:"straight_way"` // "clear", "blocked" or "unknown"
}

// FlyAway is how far an aircraft that answers to nobody can go.
type FlyAway struct {
	Unknown   string  `json:"unknown,omitempty"`
	ReachM    float64 `json:"reach_m"`
	DurationS float64 `json:"duration_s"`
}

func slate(a *assess.Assessor, x *check.Slate) (Slate, error) {
	t, s := a.Take(x.Slate), a.Shoot
	c := Slate{Slate: x.Slate, Title: x.Title, At: x.At, Barred: x.Barred, Rig: x.Rig, Pilot: t.Rig.Pilot, Operator: orNone(t.Rig.Operator),
		Observers: t.Observers(), Launch: x.Launch, MassKg: t.MassKg(), Moves: x.Numbers.Move.Moves, DurationS: x.Numbers.Move.DurationS,
		HighestM: x.Numbers.Move.HighestM, FastestMS: x.Numbers.Move.TopSpeedMS, Safety: x.Numbers.Safety, Radio: x.Numbers.Radio,
		Stands: t.Stands(), Reached: t.Reached(), Basis: bases, Eased: easing}
	for _, w := range x.Windows {
		c.Windows = append(c.Windows, Span{w.From, w.To})
	}
	for _, f := range x.Findings {
		switch f.Topic {
		case assess.TopicSafety, assess.TopicRules, assess.TopicRadio, assess.TopicCrew, assess.TopicWeather, assess.TopicFlight:
			c.Findings = append(c.Findings, f)
		default:
			if f.Severity == assess.Stop {
				c.Findings = append(c.Findings, f)
			}
		}
	}
	if t.Unsolved != nil {
		c.Unsolved = t.Unsolved.Error()
	}
	c.Rules = t.Rules(x.At)
	var err error
	if c.Risks, err = s.Library().Assess(t.Facts(x.At), s.Decision()); err != nil {
		return c, fmt.Errorf("risk assessment: %w", err)
	}
	c.falls(a, t)
	c.landing(t)
	c.links(t)
	n := x.Numbers.Safety
	if n.LostLinkM != nil && n.LostLinkNeedM != nil && n.LostLinkClearM != nil {
		c.LostLink = &LostLink{AboveLaunchM: *n.LostLinkM - t.Launch().Z, AboveSeaM: *n.LostLinkM, NeededM: *n.LostLinkNeedM, ClearanceM: *n.LostLinkClearM,
			Action: fmt.Sprintf("climb to %.0f m above the launch spot unless higher already, fly straight to %s, descend and land", math.Ceil(*n.LostLinkM-t.Launch().Z), x.Launch)}
	}
	reach, lasts, err := t.FlyAway(x.At)
	if err != nil {
		c.FlyAway.Unknown = err.Error()
	} else {
		c.FlyAway.ReachM, c.FlyAway.DurationS = reach, lasts
	}
	return c, nil
}

func (c *Slate) falls(a *assess.Assessor, t *assess.Take) {
	c.Falls.Basis = risk.BasisFall + ", any drag up to the aircraft's size"
	drops, windKnown, err := t.Falls(c.At)
	c.Falls.WindKnown = windKnown
	if err != nil {
		c.Falls.Unknown = err.Error()
		return
	}
	frame := a.Shoot.Frame()
	for _, d := range drops {
		ll := frame.ToLatLon(d.Pos)
		c.Falls.Points = append(c.Falls.Points, Fall{d.TimeS, ll.Lat.Deg(), ll.Lon.Deg(), d.DistanceM, d.EnergyJ, d.SpeedMS})
	}
}

func (c *Slate) links(t *assess.Take) {
	for _, l := range t.Links() {
		one := Link{Use: l.Use, Stand: l.Stand}
		if l.Err != nil {
			one.Unknown = l.Err.Error()
		}
		if l.Stand != "" {
			margin := l.StandDB
			one.StandDB = &margin
		}
		for _, r := range l.Readings {
			p := Signal{TimeS: r.TimeS, MarginDB: r.Budget.MarginDB, ObstacleM: r.ObstacleM, GroundKnow: r.TerrainKnown}
			if !r.Overhead && r.TerrainKnown {
				share := r.FresnelShare
				p.Clear = &share
			}
			one.Points = append(one.Points, p)
		}
		c.Links = append(c.Links, one)
	}
}

// landing lists at each second the spots that can be reached. The straight way to each is looked at
// from every fifth second; between them the earlier answer stands unless the later is worse.
func (c *Slate) landing(t *assess.Take) {
	table, spots, full, err := t.Landing(c.At)
	for _, s := range spots {
		c.Landing.Spots = append(c.Landing.Spots, s.Name)
	}
	if err != nil {
		c.Landing.Unknown = err.Error()
		return
	}
	const every = 5
	moments := t.Moments(len(table))
	ways := make([][]string, len(table))
	for i := range table {
		if i%every != 0 && i != len(table)-1 {
			continue
		}
		ways[i] = make([]string, len(spots))
		for j, s := range spots {
			clears, known := t.RouteClears(moments[min(i, len(moments)-1)].Pos, s.Pos)
			ways[i][j] = map[bool]string{true: "clear", false: "blocked"}[clears]
			if !known {
				ways[i][j] = Unknown
			}
		}
	}
	way := func(i, spot int) string {
		before, after := i-i%every, min(i-i%every+every, len(table)-1)
		if i%every == 0 {
			after = before
		}
		for _, w := range []string{Unknown, "blocked"} {
			if ways[before][spot] == w || ways[after][spot] == w {
				return w
			}
		}
		return "clear"
	}
	for i, row := range table {
		r := Reaches{TimeS: row.TimeS, LeftPercent: 100 * row.LeftJ / full}
		for _, s := range row.Spots {
			if s.Reachable {
				r.Spots = append(r.Spots, Reach{spots[s.Spot].Name, s.TravelS, 100 * s.LeftJ / full, way(i, s.Spot)})
			}
		}
		for k := 1; k < len(r.Spots); k++ { // few spots: insertion sort by time, ties in the site's order
			for l := k; l > 0 && r.Spots[l].TravelS < r.Spots[l-1].TravelS; l-- {
				r.Spots[l], r.Spots[l-1] = r.Spots[l-1], r.Spots[l]
			}
		}
		c.Landing.Points = append(c.Landing.Points, r)
	}
}

// Nearest is the landing spot nearest in time with a clear way at each second, and the seconds at which
// there is none.
func (l *Landing) Nearest() (stretches []Stretch) {
	for _, p := range l.Points {
		name := ""
		for _, r := range p.Spots {
			if r.Clear == "clear" {
				name = r.Spot
				break
			}
		}
		if n := len(stretches); n > 0 && stretches[n-1].Spot == name {
			stretches[n-1].ToS = p.TimeS
			continue
		}
		stretches = append(stretches, Stretch{name, p.TimeS, p.TimeS})
	}
	return stretches
}

// Stretch is a part of a path with one answer; Spot is empty where no spot has a clear way.
type Stretch struct {
	Spot       string
	FromS, ToS float64
}

func orNone(text string) string {
	if text == "" {
		return "none: the pilot frames alone"
	}
	return text
}
