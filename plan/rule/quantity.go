package rule

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"fieldfare/model/unit"
)

// Kind is what a quantity is measured in.
type Kind int

// The kinds. The first three are not numbers.
const (
	YesNo Kind = iota
	Choice
	List
	Number
	Length
	Speed
	Mass
	Energy
	Duration
	Angle
	Ratio
	Power
	Frequency
	Gain
	PeopleDensity
	Temperature
)

func (k Kind) String() string {
	return [...]string{"yes or no", "named choice", "list of names", "number", "length", "speed", "mass", "energy", "duration",
		"angle", "ratio", "power", "frequency", "gain", "density of people", "temperature"}[k]
}

// measure is how numbers of a kind are read and written.
type measure struct {
	parse func(string) (float64, error)
	write func(si float64, symbol string) string
	si    string
}

func measured[T interface {
	~float64
	Text(string) string
}](parse func(string) (T, error), si string) measure {
	return measure{
		func(s string) (float64, error) { v, err := parse(s); return float64(v), err },
		func(v float64, symbol string) string { return T(v).Text(symbol) }, si,
	}
}

var measures = map[Kind]measure{
	Number: {func(s string) (float64, error) { return strconv.ParseFloat(strings.TrimSpace(s), 64) },
		func(v float64, _ string) string { return strconv.FormatFloat(v, 'g', 6, 64) }, ""},
	Length: measured(unit.ParseLength, "m"), Speed: measured(unit.ParseSpeed, "m/s"), Mass: measured(unit.ParseMass, "kg"),
	Energy: measured(unit.ParseEnergy, "J"), Duration: measured(unit.ParseDuration, "s"), Angle: measured(unit.ParseAngle, "deg"),
	Ratio: measured(unit.ParseRatio, "%"), Power: measured(unit.ParsePower, "W"), Frequency: measured(unit.ParseFrequency, "Hz"),
	Gain: measured(unit.ParseGain, "dB"), PeopleDensity: measured(unit.ParsePeopleDensity, "/km2"), Temperature: measured(unit.ParseTemperature, "C"),
}

// Quantity is a named fact that rules can limit.
type Quantity struct {
	Kind    Kind
	Meaning string
}

// Quantities are all names that a profile may use. Numbers are worst cases over the flight:
// the greatest height, the least distance.
var Quantities = map[string]Quantity{
	// Where the aircraft is.
	"height_above_ground":       {Length, "greatest height above the ground below"},
	"height_above_takeoff":      {Length, "greatest height above the take-off place"},
	"height_above_structure":    {Length, "greatest height above the top of the structure flown around"},
	"height_of_structure":       {Length, "height of that structure above its ground"},
	"distance_to_structure":     {Length, "greatest level distance to that structure"},
	"distance_to_pilot":         {Length, "greatest distance from the pilot"},
	"line_of_sight":             {YesNo, "somebody in the crew keeps the aircraft in sight, unaided, all along"},
	"line_of_sight_share":       {Ratio, "greatest distance from whoever watches it, over the line-of-sight limit"},
	"terrain_clearance":         {Length, "least distance above terrain along the path"},
	"obstacle_clearance":        {Length, "least distance to an obstacle"},
	"lost_link_clearance":       {Length, "least height of the lost-link route above the ground"},
	"controlled_airspace":       {YesNo, "some part of the flight is inside an area that needs permission"},
	"out_of_bounds_airspace":    {YesNo, "some part of the flight is inside an area that is out of bounds"},
	"sunward_angle":             {Angle, "least angle at the pilot's eye between aircraft and sun"},
	"horizontal_distance_cloud": {Length, "least level distance to cloud"},
	"vertical_distance_cloud":   {Length, "least distance below cloud"},
	"sky_clear":                 {YesNo, "there is no cloud at flying height"},
	// How it moves.
	"ground_speed":   {Speed, "greatest speed over the ground"},
	"airspeed":       {Speed, "greatest speed through the air"},
	"low_speed_mode": {YesNo, "the aircraft's low-speed mode is on"},
	"follow_mode":    {YesNo, "the aircraft follows a subject by itself"},
	// People.
	"distance_to_uninvolved":       {Length, "least level distance to a person who takes no part"},
	"distance_to_uninvolved_share": {Ratio, "least level distance to a person who takes no part, over the height there"},
	"distance_to_crew":             {Length, "least distance to cast and crew"},
	"distance_to_performers":       {Length, "least distance to stunt performers"},
	"distance_to_assembly":         {Length, "least level distance to an assembly of people"},
	"distance_to_built_up":         {Length, "least level distance to residential, commercial, industrial or recreational areas"},
	"over_people":                  {YesNo, "it flies over people who take no part"},
	"over_assembly":                {YesNo, "it flies over an assembly of people"},
	"over_moving_vehicles":         {YesNo, "it flies over moving vehicles"},
	"over_people_category":         {Choice, "category of the aircraft for flight over people"},
	"closed_site":                  {YesNo, "nobody can enter the site who was not told of the flight"},
	"people_density":               {PeopleDensity, "density of people below, buffer included"},
	"ground_risk_class":            {Number, "ground risk class after mitigations"},
	"impact_energy":                {Energy, "greatest kinetic energy at impact"},
	"buffer_clear_of_people":       {YesNo, "no person who takes no part is inside the ground risk buffer"},
	// Aircraft and crew.
	"take_off_mass":        {Mass, "mass at take-off"},
	"class_label":          {Choice, "class label on the aircraft"},
	"exposed_rotors":       {YesNo, "rotors could cut skin"},
	"anti_collision_light": {Length, "distance from which the anti-collision light is seen"},
	"registered":           {YesNo, "the operator or aircraft is registered as required"},
	"remote_identified":    {YesNo, "the aircraft broadcasts its identity"},
	"insured":              {YesNo, "insurance covers this flight"},
	"pilot_certified":      {YesNo, "the pilot holds the certificate and it is valid on the day"},
	"observer":             {YesNo, "an observer without other duty watches air and ground"},
	"permissions_held":     {List, "waivers, authorisations and permissions held for this flight"},
	"parachute_fitted":     {YesNo, "a recovery parachute is fitted"},
	"filter_fitted":        {YesNo, "a filter or matte box is on the lens"},
	"focus_motor_fitted":   {YesNo, "a motor drives the lens"},
	"packs":                {Number, "battery packs carried by the aircraft"},
	"vehicle_in_shot":      {YesNo, "a moving vehicle takes part in the shot"},
	"water_below":          {YesNo, "the path or its fall footprint lies over water"},
	"wires_near":           {YesNo, "power lines or other wires stand near the path"},
	// Light and weather.
	"visibility":     {Length, "ground visibility"},
	"night":          {YesNo, "the sun is below civil twilight at some time of the flight"},
	"civil_twilight": {YesNo, "civil twilight at some time of the flight"},
	"sun_altitude":   {Angle, "least altitude of the sun"},
	"wind_share":     {Ratio, "greatest steady wind over the airframe's limit"},
	"gust_share":     {Ratio, "greatest gust over the airframe's limit"},
	"temperature":    {Temperature, "air temperature"},
	// Power and radio.
	"battery_reserve":   {Ratio, "energy left at landing over usable energy"},
	"link_margin":       {Gain, "least margin of the control link"},
	"video_margin":      {Gain, "least margin of the video link"},
	"fresnel_clearance": {Ratio, "least clearance over the first Fresnel radius"},
	"radiated_power":    {Power, "equivalent isotropic radiated power"},
	"radio_frequency":   {Frequency, "carrier frequency"},
	"power_control":     {YesNo, "the transmitter controls its power"},
}

const permissionsHeld = "permissions_held"

// Names returns the names of all quantities in alphabetical order.
func Names() []string {
	names := make([]string, 0, len(Quantities))
	for n := range Quantities {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// Value is one fact: a number in SI, a yes or no, a name, or a list of names.
type Value struct {
	shape  shape
	number float64
	yes    bool
	names  []string
}

type shape int

const (
	number shape = iota + 1
	yesNo
	name
	list
)

// Nowhere is the distance in metres to what is known not to be there at all.
const Nowhere = 1e7

// Of is a number in SI. NaN is no fact.
func Of[T ~float64](si T) Value { return Value{shape: number, number: float64(si)} }

// Number returns the number in SI, where the fact is a finite one.
func (v Value) Number() (si float64, ok bool) {
	return v.number, v.shape == number && !math.IsNaN(v.number) && !math.IsInf(v.number, 0)
}

// Is is a yes or no.
func Is(b bool) Value { return Value{shape: yesNo, yes: b} }

// Named is a named choice.
func Named(choice string) Value { return Value{shape: name, names: []string{choice}} }

// Listed is a list of names.
func Listed(names ...string) Value { return Value{shape: list, names: names} }

// Facts are what is known of a flight, by quantity. A quantity that is absent is unknown.
type Facts map[string]Value

// Check says which facts have no such quantity or are of the wrong kind.
func (f Facts) Check() error {
	names := make([]string, 0, len(f))
	for n := range f {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		q, ok := Quantities[n]
		if !ok {
			return fmt.Errorf("%q is not a quantity%s", n, suggest(n))
		}
		if f[n].shape != q.Kind.shape() {
			return fmt.Errorf("fact %q is not a %s", n, q.Kind)
		}
	}
	return nil
}

func (k Kind) shape() shape {
	switch k {
	case YesNo:
		return yesNo
	case Choice:
		return name
	case List:
		return list
	}
	return number
}

// get returns a usable fact: present, of the right kind, and a number if it is one.
func (f Facts) get(quantity string) (Value, bool) {
	v, ok := f[quantity]
	if !ok || v.shape != Quantities[quantity].Kind.shape() || math.IsNaN(v.number) || math.IsInf(v.number, 0) {
		return Value{}, false
	}
	return v, true
}

// includes compares names without regard to case: crews type them.
func (v Value) includes(name string) bool {
	for _, n := range v.names {
		if strings.EqualFold(strings.TrimSpace(n), name) {
			return true
		}
	}
	return false
}

func (v Value) text(k Kind, symbol string) string {
	switch v.shape {
	case yesNo:
		if v.yes {
			return "yes"
		}
		return "no"
	case number:
		if k == Length && v.number >= Nowhere {
			return "none"
		}
		m := measures[k]
		if symbol == "" && k != Ratio {
			symbol = m.si
		}
		return short(m.write(v.number, symbol))
	case list:
		if len(v.names) == 0 {
			return "none"
		}
	}
	return strings.Join(v.names, ", ")
}

// suggest offers the quantity nearest in spelling.
func suggest(wrong string) string {
	best, least := "", 4+len(wrong)/4
	for _, n := range Names() {
		if d := editDistance(wrong, n); d < least {
			best, least = n, d
		}
	}
	if best == "" {
		return "; plan/rule/quantities.md lists the names"
	}
	return fmt.Sprintf("; did you mean %q", best)
}

// editDistance is Levenshtein's distance.
func editDistance(a, b string) int {
	if len(a) > 64 {
		a = a[:64]
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := diagonal
			if a[i-1] != b[j-1] {
				cost++
			}
			diagonal = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}

// short keeps four digits of a number that begins a text: what a person reads.
func short(text string) string {
	digits, unit, _ := strings.Cut(text, " ")
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return text
	}
	decimals := 3
	for size := math.Abs(v); size >= 10 && decimals > 0; size /= 10 {
		decimals--
	}
	return strings.TrimSpace(strconv.FormatFloat(math.Round(v*math.Pow10(decimals))/math.Pow10(decimals), 'f', -1, 64) + " " + unit)
}
