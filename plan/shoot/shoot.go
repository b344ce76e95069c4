// Package shoot is the document a crew writes: one folder that describes a
// job's site, kit, crew and slates.
//
// Units, axes, signs: quantities carry their units in the file and are SI inside
// (package unit). Places are "46.6012 N, 10.3011 E"; azimuths are clockwise from true north.
//
// Source: the file's shape is ours; features are GeoJSON (RFC 7946), dates and
// times ISO 8601, zones from the IANA database.
//
// Validity: one site of at most about 50 km across, dates 1950 to 2100.
// Not modelled: several sites in one folder.
package shoot

import (
	"time"

	"fieldfare/model/air"
	"fieldfare/model/basemap"
	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
	"fieldfare/plan/hazard"
	"fieldfare/plan/move"
	"fieldfare/plan/rule"
)

// Shoot is one job at one site over one or more dates, as read from shoot.yaml and the
// files it names.
type Shoot struct {
	Format     int    `yaml:"fieldfare" doc:"version of the file's shape" need:"yes"`
	Title      string `yaml:"title" doc:"working title of the job" need:"yes"`
	Production string `yaml:"production" doc:"who commissions the job"`
	Dates      []Date `yaml:"dates" doc:"shooting dates, local" need:"yes"`
	Zone       string `yaml:"zone" doc:"IANA time zone of the site" need:"yes"`
	Call       *Clock `yaml:"call" doc:"when the crew's day begins; where left out, the call is chosen among those in time for the first light of a slate"`
	Measures   string `yaml:"measures" doc:"metric or imperial, for printed papers" one:"metric,imperial"`

	Site        Site         `yaml:"site" doc:"where it happens" need:"yes"`
	House       House        `yaml:"house" doc:"the crew's own limits"`
	Rules       []string     `yaml:"rules" doc:"rule profiles to hold the plan against, by id"`
	Crew        []Person     `yaml:"crew" doc:"who is on the job" need:"yes"`
	Contacts    []Contact    `yaml:"contacts" doc:"numbers to call"`
	Subjects    []Subject    `yaml:"subjects" doc:"what the frames are about"`
	Rigs        []Rig        `yaml:"rigs" doc:"aircraft as flown" need:"yes"`
	Packs       []Pack       `yaml:"packs" doc:"battery sets, one flies one sortie" need:"yes"`
	Charging    Charging     `yaml:"charging" doc:"chargers and the supply they hang on"`
	Forecast    string       `yaml:"forecast" doc:"weather table, CSV beside this file"`
	Reports     []string     `yaml:"reports" doc:"METAR and TAF texts"`
	Permissions []Permission `yaml:"permissions" doc:"what is allowed, by whom, when"`
	Calls       []Call       `yaml:"calls" doc:"meals and other fixed times of the day"`
	Mitigations []Mitigation `yaml:"mitigations" doc:"the crew's own measures for the risk assessment"`
	Stunts      *bool        `yaml:"stunts" doc:"whether stunt performers take part; unknown where left out"`
	Stated      []Statement  `yaml:"stated" doc:"facts that rules ask for and nothing here computes, on the crew's word"`
	Changes     []Change     `yaml:"changes" doc:"what was agreed after the plan of activities was issued"`
	Slates      []Slate      `yaml:"slates" doc:"the shots" need:"yes"`

	folder   folder
	location *time.Location
	kit      *Kit
	frame    geo.Frame
	features []Feature
	ground   *terrain.Grid
	basemap  *basemap.Map
	land     land
	datum    terrain.Datum
	weather  weather
	ways     map[string][]Waypoint
	profiles []*rule.Profile
	permits  []string // what the known rule profiles call their permits
	library  *hazard.Library
	survey   *Survey
	marks    marks
}

// Site is the place: terrain, features and the people around.
type Site struct {
	Name        string             `yaml:"name" doc:"what the place is called" need:"yes"`
	Origin      Place              `yaml:"origin" doc:"centre of the site frame" need:"yes"`
	Terrain     string             `yaml:"terrain" doc:"elevation grid beside this file (GeoTIFF, HGT or ESRI ASCII)" need:"yes"`
	TerrainCRS  string             `yaml:"terrain_crs" doc:"coordinate system of an elevation file that names none, as EPSG:32632"`
	Map         string             `yaml:"map" doc:"base map beside this file, drawn beneath the plan: a tile archive (PMTiles), GeoTIFF, or PNG or JPEG with a world file"`
	MapCRS      string             `yaml:"map_crs" doc:"coordinate system of a map whose file names none, as EPSG:32632"`
	MapCredit   string             `yaml:"map_credit" doc:"whose map it is and on what terms, printed beside it; what a tile archive says of itself where left out"`
	Features    string             `yaml:"features" doc:"obstacles, areas, people and launch spots (GeoJSON)"`
	Airspace    []string           `yaml:"airspace" doc:"files of airspace beside this one: GeoJSON, KML or OpenAir"`
	GroundCover string             `yaml:"ground_cover" doc:"roughness class for wind near the ground" one:"sea,smooth,open,roughly open,rough,very rough,closed,chaotic"`
	Stability   string             `yaml:"stability" doc:"Pasquill class of the air, A very unstable to F very stable; where given, wind grows with height by its power law" one:"A,B,C,D,E,F"`
	Station     *unit.Length       `yaml:"report_height" doc:"height above sea of the place that the reports are for; the site's where left out"`
	People      unit.PeopleDensity `yaml:"people" doc:"people per area beneath the flight, for the ground risk class"`
	Closed      *bool              `yaml:"closed" doc:"whether nobody can enter who was not told of the flight; unknown where left out"`
	Hospital    string             `yaml:"hospital" doc:"nearest hospital: name, way, telephone"`
	Refraction  unit.Ratio         `yaml:"refraction" doc:"terrestrial refraction coefficient, 13 % where left out"`
	Cell        unit.Length        `yaml:"cell" doc:"cell of the working grid; the file's own where left out"`
	Magnetic    *unit.Angle        `yaml:"declination" doc:"magnetic declination, east positive"`
	Mains       unit.Frequency     `yaml:"mains" doc:"frequency of the mains where lamps are in the picture; 50 Hz where left out"`
}

// House holds the crew's own limits; each finding that rests on one says "house rule".
type House struct {
	Reserve          unit.Ratio            `yaml:"reserve" doc:"share of a pack left at landing"`
	Clearance        unit.Length           `yaml:"clearance" doc:"least distance to ground and obstacles"`
	WireClearance    unit.Length           `yaml:"wire_clearance" doc:"least distance to wires"`
	PeopleDistance   unit.Length           `yaml:"people_distance" doc:"least level distance to people outside the crew"`
	SubjectDistance  unit.Length           `yaml:"subject_distance" doc:"least distance to a moving subject"`
	Wind             unit.Speed            `yaml:"wind" doc:"strongest mean wind at flying height"`
	Gust             unit.Speed            `yaml:"gust" doc:"strongest gust at flying height"`
	Visibility       unit.Length           `yaml:"visibility" doc:"least visibility"`
	ReactionTime     unit.Duration         `yaml:"reaction_time" doc:"pilot's reaction time"`
	PositionError    unit.Length           `yaml:"position_error" doc:"how far off the aircraft may be"`
	CrossingTime     unit.Duration         `yaml:"crossing_time" doc:"least time for the picture to cross its own width"`
	Smear            float64               `yaml:"smear_px" doc:"most that the subject may smear in one frame, in pixels; not held where left out"`
	ThrustMargin     unit.Ratio            `yaml:"thrust_margin" doc:"least spare thrust in hover"`
	LinkMargin       unit.Gain             `yaml:"link_margin" doc:"least radio margin"`
	LostLinkHeight   unit.Length           `yaml:"lost_link_height" doc:"height above the launch spot at which the aircraft is set to come home; worked out for each slate where left out"`
	SetupTime        unit.Duration         `yaml:"setup_time" doc:"from one sortie's landing to the next take-off"`
	LensChange       unit.Duration         `yaml:"lens_change" doc:"swap a lens and rebalance"`
	FilterChange     unit.Duration         `yaml:"filter_change" doc:"swap filters"`
	LaunchMove       unit.Duration         `yaml:"launch_move" doc:"move between launch spots"`
	TakeGap          unit.Duration         `yaml:"take_gap" doc:"between two takes, in the air"`
	WhiteBalanceStep unit.ColorTemperature `yaml:"white_balance_step" doc:"white balance settings are multiples of this"`
}

// Person is one of the crew.
type Person struct {
	Name         string        `yaml:"name" need:"yes"`
	Roles        []string      `yaml:"roles" doc:"pilot, operator, observer, lead" need:"yes" one:"pilot,operator,observer,lead"`
	Rung         string        `yaml:"rung" doc:"hardest class of shot held" one:"trainer,wide and open,near objects,between objects,close to moving subjects"`
	Certificates []Certificate `yaml:"certificates"`
	Duty         unit.Duration `yaml:"duty" doc:"longest duty day"`
	Rest         unit.Duration `yaml:"rest" doc:"least rest between days"`
	Phone        string        `yaml:"phone"`
}

// Certificate is a pilot's or operator's paper with its expiry.
type Certificate struct {
	Title   string `yaml:"title" need:"yes"`
	Number  string `yaml:"number"`
	Expires *Date  `yaml:"expires"`
}

// Contact is a number to call.
type Contact struct {
	Who   string `yaml:"who" need:"yes"`
	Phone string `yaml:"phone"`
	Why   string `yaml:"why" doc:"what to call them for"`
}

// Subject is what a frame is about: a still box or a timed track.
type Subject struct {
	Name      string       `yaml:"name" need:"yes"`
	At        *Place       `yaml:"at" doc:"where it stands, for a still subject"`
	Elevation *unit.Length `yaml:"elevation" doc:"height of its foot above sea; the terrain's where left out"`
	Lift      unit.Length  `yaml:"lift" doc:"height of its foot above ground"`
	Width     unit.Length  `yaml:"width"`
	Depth     unit.Length  `yaml:"depth"`
	Height    unit.Length  `yaml:"height" need:"yes"`
	Facing    *unit.Angle  `yaml:"facing" doc:"azimuth its front looks to"`
	Track     string       `yaml:"track" doc:"timed track beside this file (CSV or GPX), for a moving subject"`
	Drift     unit.Speed   `yaml:"drift" doc:"how fast its place becomes uncertain"`
	Reflects  unit.Ratio   `yaml:"reflects" doc:"share of light it gives back; 18 % where left out"`
}

// Rig is an aircraft as flown.
type Rig struct {
	Name      string   `yaml:"name" need:"yes"`
	Airframe  string   `yaml:"airframe" doc:"from the shelf" need:"yes"`
	Gimbal    string   `yaml:"gimbal" doc:"from the shelf"`
	Camera    string   `yaml:"camera" doc:"from the shelf"`
	Lenses    []string `yaml:"lenses" doc:"lenses packed for it, from the shelf"`
	Filters   []string `yaml:"filters" doc:"filters packed for it, from the shelf"`
	Radio     string   `yaml:"radio" doc:"from the shelf"`
	Pilot     string   `yaml:"pilot" need:"yes"`
	Operator  string   `yaml:"operator" doc:"left out: the pilot frames alone"`
	Extras    []Extra  `yaml:"extras" doc:"anything else that flies"`
	Trainer   bool     `yaml:"trainer" doc:"for practice only, carries no camera"`
	Mark      string   `yaml:"mark" doc:"registration"`
	Insurance string   `yaml:"insurance"`

	PowerFactor unit.Ratio `yaml:"power_factor" doc:"energy that it really draws over the energy predicted, learnt from the logbook; 100 % where left out"`
}

// Extra is a further item that flies on a rig.
type Extra struct {
	Name string      `yaml:"name" need:"yes"`
	Mass unit.Mass   `yaml:"mass" need:"yes"`
	X    unit.Length `yaml:"x" doc:"forward of the gimbal's pan axis"`
	Y    unit.Length `yaml:"y" doc:"right of it"`
	Z    unit.Length `yaml:"z" doc:"above the tilt axis"`
	// What it rides on, and what it is worth.
	On    string `yaml:"on" doc:"what it rides on; the airframe where left out" one:"airframe,camera,roll arm,pan arm"`
	Keep  bool   `yaml:"keep" doc:"the shot cannot be flown without it"`
	Worth int    `yaml:"worth" doc:"what is lost without it: the higher, the later it is left behind"`
}

// Pack is one battery set that flies one sortie.
type Pack struct {
	Name   string     `yaml:"name" need:"yes"`
	Model  string     `yaml:"model" doc:"from the shelf" need:"yes"`
	Cycles int        `yaml:"cycles" doc:"full cycles so far"`
	Charge unit.Ratio `yaml:"charge" doc:"state of charge at the first call; 100 % where left out"`
	Health unit.Ratio `yaml:"health" doc:"measured share of rated capacity, if known"`
}

// Charging is what packs are charged with on location.
type Charging struct {
	Chargers []string      `yaml:"chargers" doc:"from the shelf, one entry per charger brought"`
	Supply   unit.Power    `yaml:"supply" doc:"power that generator, inverter or mains can give"`
	Source   string        `yaml:"source" one:"generator,inverter,mains"`
	CoolDown unit.Duration `yaml:"cool_down" doc:"from landing until charging may begin"`
}

// Permission is one paper that lets a flight happen.
type Permission struct {
	What      string   `yaml:"what" need:"yes"`
	From      string   `yaml:"from" doc:"who gave it"`
	Reference string   `yaml:"reference"`
	Status    string   `yaml:"status" one:"to ask,asked,granted,refused"`
	Starts    *Moment  `yaml:"starts" doc:"local date and time"`
	Ends      *Moment  `yaml:"ends" doc:"local date and time"`
	Area      string   `yaml:"area" doc:"name of the area that it opens; it opens none where left out"`
	LeadDays  int      `yaml:"lead_days" doc:"days to ask ahead"`
	Document  string   `yaml:"document" doc:"file beside this one"`
	SHA256    string   `yaml:"sha256" doc:"digest of the document when it was read; a change is reported"`
	Contact   string   `yaml:"contact"`
	Covers    []string `yaml:"covers" doc:"permits of the rule profiles that it is, for instance zone permission"`

	digest string
	// Its times in the site's zone, once that is known.
	settled         bool
	begins, expires time.Time
}

// settle works out the permission's times in the site's zone.
func (p *Permission) settle(zone *time.Location) {
	p.begins, p.expires = p.times(zone)
	p.settled = true
}

// times are when the permission begins and ends, zero where it does not say.
func (p *Permission) times(zone *time.Location) (begins, ends time.Time) {
	if p.Starts != nil {
		begins, _ = p.Starts.In(zone)
	}
	if p.Ends != nil {
		ends, _ = p.Ends.In(zone)
	}
	return begins, ends
}

// Digest returns the SHA-256 of the permission's document in hexadecimal, "" where it names none.
func (p *Permission) Digest() string { return p.digest }

// Changed reports whether the document is another than the one whose digest was noted.
func (p *Permission) Changed() bool { return p.SHA256 != "" && p.SHA256 != p.digest }

// Valid reports whether the permission is granted and holds from one instant to another.
func (p *Permission) Valid(from, to time.Time, zone *time.Location) bool {
	if p.Status != "granted" {
		return false
	}
	begins, ends := p.begins, p.expires
	if !p.settled {
		begins, ends = p.times(zone)
	}
	return (p.Starts == nil || !from.Before(begins)) && (p.Ends == nil || !to.After(ends))
}

// Statement is a fact that rules ask for, on the crew's word.
type Statement struct {
	Fact string `yaml:"fact" doc:"as remote_identified, follow_mode, anti_collision_light" need:"yes"`
	Is   string `yaml:"is" doc:"yes, no, a name, or a number with its unit" need:"yes"`
	Rig  string `yaml:"rig" doc:"of one rig only"`

	value rule.Value
}

// Value returns the stated fact.
func (s *Statement) Value() rule.Value { return s.value }

// Change is something agreed after the plan of activities was issued.
type Change struct {
	Date Date   `yaml:"date" need:"yes"`
	What string `yaml:"what" need:"yes"`
	With string `yaml:"with" doc:"who agreed"`
}

// Call is a fixed time of the day: a meal, a talent's call, a handover.
type Call struct {
	What     string        `yaml:"what" need:"yes"`
	Date     *Date         `yaml:"date" doc:"each day where left out"`
	At       Clock         `yaml:"at" need:"yes"`
	Duration unit.Duration `yaml:"duration" need:"yes"`
	Who      []string      `yaml:"who" doc:"whom it binds; everyone where left out"`
}

// Mitigation is the crew's own measure against a hazard of the risk assessment.
type Mitigation struct {
	Hazard     string `yaml:"hazard" doc:"id of the hazard, as fall-on-uninvolved" need:"yes"`
	Measure    string `yaml:"measure" doc:"id of one of its controls, or the crew's own words" need:"yes"`
	Owner      string `yaml:"owner"`
	Likelihood int    `yaml:"likelihood" doc:"steps that it takes the likelihood down, for the crew's own measure"`
	Severity   int    `yaml:"severity" doc:"steps that it takes the severity down, for the crew's own measure"`
}

// Slate is one shot.
type Slate struct {
	Slate    string                `yaml:"slate" doc:"scene number and letter, as 4B" need:"yes"`
	Title    string                `yaml:"title" need:"yes"`
	Wish     string                `yaml:"wish" doc:"the director's words"`
	Priority string                `yaml:"priority" one:"must,should,nice"`
	Rig      string                `yaml:"rig" need:"yes"`
	Lens     string                `yaml:"lens" doc:"one of the rig's lenses"`
	Launch   string                `yaml:"launch" doc:"launch spot by name" need:"yes"`
	Format   string                `yaml:"format" doc:"recording format of the camera"`
	Rate     unit.FrameRate        `yaml:"rate" doc:"frame rate"`
	Angle    unit.Angle            `yaml:"shutter_angle" doc:"180 deg where left out"`
	Takes    int                   `yaml:"takes" doc:"takes wanted; 2 where left out"`
	Reserve  int                   `yaml:"reshoots" doc:"further takes kept in hand"`
	After    []string              `yaml:"after" doc:"slates that must be shot before this one"`
	Fixed    *Moment               `yaml:"fixed" doc:"when it must start: a talent's or a vehicle's call"`
	From     *Moment               `yaml:"from" doc:"not before"`
	Until    *Moment               `yaml:"until" doc:"not after"`
	Light    []string              `yaml:"light" doc:"the light wanted, in trade words"`
	Sky      string                `yaml:"sky" doc:"sky the picture wants" one:"clear,partly cloudy,overcast,any"`
	Subject  string                `yaml:"subject" doc:"main subject by name" need:"yes"`
	Filters  []string              `yaml:"filters" doc:"filters the picture asks for, as a graduated one"`
	Lamps    bool                  `yaml:"lamps" doc:"mains lamps are in the picture"`
	White    unit.ColorTemperature `yaml:"white_balance" doc:"white balance that the picture wants; one for the scene is chosen where left out"`
	Near     unit.Length           `yaml:"near" doc:"nearest thing that must be sharp"`
	Far      *unit.Length          `yaml:"far" doc:"farthest thing that must be sharp; the horizon where left out"`
	Silent   bool                  `yaml:"silent" doc:"live sound is recorded; the aircraft must stay quiet"`
	Cross    bool                  `yaml:"cross_axis" doc:"crosses the axis of action on purpose"`
	Axis     []string              `yaml:"axis" doc:"two subjects or named points between which the line of action runs; the way of a moving subject where left out"`
	Spotters []string              `yaml:"spotters" doc:"observer spots that are manned for this slate, by name"`
	Pilot    *Place                `yaml:"pilot_at" doc:"where the pilot stands; the launch spot where left out"`
	Moves    []move.Step           `yaml:"moves" doc:"the camera's motion in film grammar" need:"yes"`
}

// Location returns the site's time zone.
func (s *Shoot) Location() *time.Location { return s.location }

// Frame returns the site frame, centred on the site's origin.
func (s *Shoot) Frame() geo.Frame { return s.frame }

// Ground returns the terrain, resampled into the site frame.
func (s *Shoot) Ground() *terrain.Grid { return s.ground }

// Datum returns the vertical datum of the terrain, stated or assumed.
func (s *Shoot) Datum() terrain.Datum { return s.datum }

// Kit returns the shelf: all gear that the folder's kit files describe.
func (s *Shoot) Kit() *Kit { return s.kit }

// Features returns what stands and lies on the site.
func (s *Shoot) Features() []Feature { return s.features }

// Weather returns every period of table and reports together; it has none where the folder gives no
// weather. What holds at a time is WeatherAt's.
func (s *Shoot) Weather() air.Forecast { return s.weather.all() }

// Profiles returns the rule profiles that the shoot file names, in its order.
func (s *Shoot) Profiles() []*rule.Profile { return s.profiles }
