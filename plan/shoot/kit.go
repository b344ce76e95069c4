package shoot

import "fieldfare/model/unit"

// Kit is the shelf: gear by name, from kit/*.yaml beside the shoot file.
type Kit struct {
	Airframes []Airframe `yaml:"airframes"`
	Gimbals   []Gimbal   `yaml:"gimbals"`
	Cameras   []Camera   `yaml:"cameras"`
	Lenses    []Lens     `yaml:"lenses"`
	Filters   []Filter   `yaml:"filters"`
	Packs     []PackType `yaml:"packs"`
	Chargers  []Charger  `yaml:"chargers"`
	Radios    []Radio    `yaml:"radios"`
}

// Airframe is a multirotor without gimbal, camera and packs.
type Airframe struct {
	Name           string            `yaml:"name" need:"yes"`
	Mass           unit.Mass         `yaml:"mass" doc:"without packs and payload" need:"yes"`
	MaxTakeoff     unit.Mass         `yaml:"max_takeoff" need:"yes"`
	Rotors         int               `yaml:"rotors" need:"yes"`
	Coaxial        bool              `yaml:"coaxial" doc:"rotors in pairs, one above the other"`
	RotorDiameter  unit.Length       `yaml:"rotor_diameter" need:"yes"`
	Size           unit.Length       `yaml:"size" doc:"largest dimension, rotors included" need:"yes"`
	Hover          Hover             `yaml:"hover" doc:"a maker's or logged hover that fits the power model" need:"yes"`
	Hovers         []Hover           `yaml:"more_hovers" doc:"further hovers, as logged by the crew; the power model is fitted to all"`
	MaxThrust      unit.Mass         `yaml:"max_thrust" doc:"all rotors at full power at sea level, as mass lifted"`
	DragArea       float64           `yaml:"drag_area_m2" doc:"parasite drag area in square metres"`
	LevelSpeed     unit.Speed        `yaml:"level_speed" need:"yes"`
	ClimbSpeed     unit.Speed        `yaml:"climb_speed" need:"yes"`
	DescentSpeed   unit.Speed        `yaml:"descent_speed" need:"yes"`
	Acceleration   unit.Acceleration `yaml:"acceleration" need:"yes"`
	TiltLimit      unit.Angle        `yaml:"tilt_limit" need:"yes"`
	YawRate        unit.AngularRate  `yaml:"yaw_rate" need:"yes"`
	Wind           unit.Speed        `yaml:"wind" doc:"maker's limit"`
	Coldest        *unit.Temperature `yaml:"coldest" doc:"maker's limit"`
	Hottest        *unit.Temperature `yaml:"hottest" doc:"maker's limit"`
	Ceiling        unit.Length       `yaml:"ceiling" doc:"maker's limit above sea"`
	PacksFitted    int               `yaml:"packs_fitted" doc:"packs that fly at once as one set; 1 where left out"`
	GearHalfWidth  unit.Length       `yaml:"gear_half_width" doc:"landing gear legs, sideways from the pan axis"`
	GearDrop       unit.Length       `yaml:"gear_drop" doc:"landing gear legs, below the rotor plane"`
	RotorAbove     unit.Length       `yaml:"rotor_above" doc:"rotor plane above the camera"`
	Parachute      bool              `yaml:"parachute"`
	SinkUnderChute unit.Speed        `yaml:"parachute_sink"`
	Noise          float64           `yaml:"noise_db_10m" doc:"sound pressure level at 10 m, dB(A)"`
	Class          string            `yaml:"class" doc:"class label on the aircraft, if any"`
	CentreForward  *unit.Length      `yaml:"centre_forward" doc:"centre of mass of the bare airframe forward of the gimbal's pan axis"`
	CentreUp       *unit.Length      `yaml:"centre_up" doc:"and above its tilt axis"`
	PacksForward   *unit.Length      `yaml:"packs_forward" doc:"centre of the packs forward of the pan axis"`
	PacksUp        *unit.Length      `yaml:"packs_up" doc:"and above the tilt axis"`
	HubForward     unit.Length       `yaml:"hub_forward" doc:"centre of the rotor circle forward of the pan axis"`
	GearLength     unit.Length       `yaml:"gear_length" doc:"of its skids along the airframe; 0 for a single leg each side"`
	GearFolds      bool              `yaml:"gear_folds" doc:"the landing gear folds away in flight"`
	Source         string            `yaml:"source" doc:"where the numbers come from"`
}

// Hover is one measured or published hover: mass lifted, time, energy drawn.
type Hover struct {
	Mass   unit.Mass     `yaml:"mass" need:"yes"`
	Time   unit.Duration `yaml:"time" need:"yes"`
	Energy unit.Energy   `yaml:"energy" doc:"drawn from the pack in that time" need:"yes"`
	Source string        `yaml:"source" doc:"maker, or date of the logged flight"`
	// Elevation and Temperature put a logged hover into its air.
	Elevation   unit.Length       `yaml:"elevation" doc:"height above sea at which it was flown; sea level where left out"`
	Temperature *unit.Temperature `yaml:"temperature" doc:"of the air; standard where left out"`
}

// Gimbal is a camera mount.
type Gimbal struct {
	Name            string           `yaml:"name" need:"yes"`
	Mass            unit.Mass        `yaml:"mass" need:"yes"`
	Axes            int              `yaml:"axes" doc:"3, or 2 for a mount that cannot pan" need:"yes"`
	Payload         unit.Mass        `yaml:"payload" doc:"heaviest camera package"`
	PanFrom         unit.Angle       `yaml:"pan_from"`
	PanTo           unit.Angle       `yaml:"pan_to"`
	TiltFrom        unit.Angle       `yaml:"tilt_from" need:"yes"`
	TiltTo          unit.Angle       `yaml:"tilt_to" need:"yes"`
	RollLimit       unit.Angle       `yaml:"roll_limit"`
	PanRate         unit.AngularRate `yaml:"pan_rate"`
	TiltRate        unit.AngularRate `yaml:"tilt_rate" need:"yes"`
	Torque          unit.Torque      `yaml:"torque" doc:"continuous motor torque per axis"`
	MoveTravel      unit.Length      `yaml:"plate_travel" doc:"how far the camera plate can slide either way"`
	HeightTravel    unit.Length      `yaml:"height_travel" doc:"how far it can be raised or lowered; as plate_travel where left out"`
	SideTravel      unit.Length      `yaml:"side_travel" doc:"how far the roll arm can be moved to the side; as plate_travel where left out"`
	PanTravel       unit.Length      `yaml:"pan_travel" doc:"how far the pan arm can be moved forward and back; as plate_travel where left out"`
	PlateUp         *unit.Length     `yaml:"plate_up" doc:"camera plate above the tilt axis with the plate in the middle of its travel"`
	ScrewForward    *unit.Length     `yaml:"screw_forward" doc:"mounting screw forward of the axes with the plate in the middle of its travel"`
	ArmMass         unit.Mass        `yaml:"arm_mass" doc:"of the tilt and roll frame that the pan axis carries beside the camera"`
	ArmForward      unit.Length      `yaml:"arm_forward" doc:"its centre of mass forward of the pan axis"`
	CounterArm      unit.Length      `yaml:"counterweight_arm" doc:"where a counterweight would sit, from the axis; 60 mm where left out"`
	ImbalanceShare  unit.Ratio       `yaml:"imbalance_share" doc:"share of the torque that imbalance may take; 10 % where left out"`
	Residual        unit.AngularRate `yaml:"residual" doc:"shake left in still air, rms"`
	ResidualPerWind unit.AngularRate `yaml:"residual_per_wind" doc:"shake added per 1 m/s of wind, rms"`
	Source          string           `yaml:"source"`
}

// Camera is a body with its recording formats.
type Camera struct {
	Name          string         `yaml:"name" need:"yes"`
	Mass          unit.Mass      `yaml:"mass" need:"yes"`
	SensorWidth   unit.Length    `yaml:"sensor_width" need:"yes"`
	SensorHeight  unit.Length    `yaml:"sensor_height" need:"yes"`
	Formats       []Recording    `yaml:"formats" need:"yes"`
	Shutters      []unit.Shutter `yaml:"shutters" doc:"shutter times the camera offers" need:"yes"`
	ISOs          []unit.ISO     `yaml:"isos" doc:"sensitivities the camera offers" need:"yes"`
	BaseISOs      []unit.ISO     `yaml:"base_isos" doc:"native sensitivities"`
	StopsOver     float64        `yaml:"stops_over" doc:"stops above middle grey before clipping"`
	StopsUnder    float64        `yaml:"stops_under" doc:"usable stops below middle grey"`
	CardSize      unit.DataSize  `yaml:"card"`
	LongestClip   unit.Duration  `yaml:"longest_clip"`
	CentreForward unit.Length    `yaml:"centre_forward" doc:"centre of mass forward of the mounting screw"`
	CentreUp      unit.Length    `yaml:"centre_up" doc:"centre of mass above the mounting plate"`
	MountForward  unit.Length    `yaml:"mount_forward" doc:"lens mount forward of the mounting screw"`
	MountUp       *unit.Length   `yaml:"mount_up" doc:"lens axis above the mounting plate; centre_up where left out"`
	CentreRight   unit.Length    `yaml:"centre_right" doc:"centre of mass right of the mounting screw, seen from behind"`
	Width         unit.Length    `yaml:"width" doc:"of the body"`
	Height        unit.Length    `yaml:"height" doc:"of the body"`
	Depth         unit.Length    `yaml:"depth" doc:"of the body, along the lens"`
	Source        string         `yaml:"source"`
}

// Recording is a way the camera records.
type Recording struct {
	Name       string           `yaml:"name" need:"yes"`
	Width      int              `yaml:"width" doc:"pixels" need:"yes"`
	Height     int              `yaml:"height" doc:"pixels" need:"yes"`
	Rates      []unit.FrameRate `yaml:"rates" need:"yes"`
	CropWidth  unit.Length      `yaml:"crop_width" doc:"sensor width used; the whole where left out"`
	CropHeight unit.Length      `yaml:"crop_height" doc:"sensor height used"`
	BitRate    unit.BitRate     `yaml:"bit_rate"`
}

// Lens is a prime or a zoom left at one focal length for the take.
type Lens struct {
	Name          string       `yaml:"name" need:"yes"`
	Mass          unit.Mass    `yaml:"mass" need:"yes"`
	Focal         unit.Length  `yaml:"focal" need:"yes"`
	Widest        unit.FNumber `yaml:"widest" need:"yes"`
	Smallest      unit.FNumber `yaml:"smallest" need:"yes"`
	GoodFrom      unit.FNumber `yaml:"good_from" doc:"wide end of its good range"`
	GoodTo        unit.FNumber `yaml:"good_to" doc:"small end of its good range"`
	Thread        unit.Length  `yaml:"thread" doc:"filter thread"`
	NearFocus     unit.Length  `yaml:"near_focus"`
	CentreForward unit.Length  `yaml:"centre_forward" doc:"centre of mass forward of the mount"`
	Length        unit.Length  `yaml:"length" doc:"from mount to front; twice centre_forward where left out"`
	Diameter      unit.Length  `yaml:"diameter" doc:"outside; the thread where left out"`
	Stabiliser    bool         `yaml:"stabiliser"`
	StabiliserOn  string       `yaml:"stabiliser_on_gimbal" doc:"what the crew found best on a gimbal" one:"on,off"`
	BreathingAt   unit.Length  `yaml:"breathing_at" doc:"focus distance at which breathing was measured; near_focus where left out"`
	Squeeze       float64      `yaml:"squeeze" doc:"anamorphic factor; 1 where left out"`
	Breathing     *unit.Ratio  `yaml:"breathing" doc:"change of angle of view from near focus to far, if measured"`
	Source        string       `yaml:"source"`
}

// Filter sits before the lens.
type Filter struct {
	Name      string        `yaml:"name" need:"yes"`
	Kind      string        `yaml:"kind" one:"nd,graduated,polariser" need:"yes"`
	Density   float64       `yaml:"density" doc:"optical density, 0.3 is one stop"`
	Mass      unit.Mass     `yaml:"mass" need:"yes"`
	Thread    unit.Length   `yaml:"thread" doc:"size; step rings are listed by the kit"`
	Depth     unit.Length   `yaml:"depth" doc:"of its frame along the lens; 4 mm where left out"`
	StepsFrom []unit.Length `yaml:"step_rings" doc:"lens threads it fits by a ring that is packed"`
	Source    string        `yaml:"source"`
}

// PackType is a battery as bought.
type PackType struct {
	Name           string          `yaml:"name" need:"yes"`
	Capacity       unit.Charge     `yaml:"capacity" need:"yes"`
	Voltage        unit.Voltage    `yaml:"voltage" doc:"nominal" need:"yes"`
	Mass           unit.Mass       `yaml:"mass" need:"yes"`
	Resistance     unit.Resistance `yaml:"resistance" doc:"whole pack"`
	FadePerCycle   unit.Ratio      `yaml:"fade_per_cycle" doc:"capacity lost per full cycle"`
	DischargeLimit float64         `yaml:"discharge_c" doc:"largest continuous discharge, multiples of capacity per hour"`
	ChargeLimit    float64         `yaml:"charge_c" doc:"fastest charge, multiples of capacity per hour"`
	Cold           []ColdPoint     `yaml:"cold" doc:"share of capacity left at low temperature"`
	Airframes      []string        `yaml:"airframes" doc:"airframes it fits" need:"yes"`
	Source         string          `yaml:"source"`
}

// ColdPoint is one row of a pack's temperature table.
type ColdPoint struct {
	At    unit.Temperature `yaml:"at" need:"yes"`
	Share unit.Ratio       `yaml:"share" need:"yes"`
}

// Charger fills packs.
type Charger struct {
	Name       string     `yaml:"name" need:"yes"`
	Ports      int        `yaml:"ports" need:"yes"`
	Power      unit.Power `yaml:"power" doc:"into the packs, all ports together" need:"yes"`
	Efficiency unit.Ratio `yaml:"efficiency"`
	Source     string     `yaml:"source"`
}

// Radio is the set of links of a rig.
type Radio struct {
	Name   string `yaml:"name" need:"yes"`
	Links  []Link `yaml:"links" need:"yes"`
	Source string `yaml:"source"`
}

// Link is one radio link.
type Link struct {
	Use         string         `yaml:"use" one:"control,telemetry,video" need:"yes"`
	Frequency   unit.Frequency `yaml:"frequency" need:"yes"`
	Power       unit.Power     `yaml:"power" need:"yes"`
	AirGain     unit.Gain      `yaml:"air_gain"`
	GroundGain  unit.Gain      `yaml:"ground_gain"`
	Bandwidth   unit.Frequency `yaml:"bandwidth" need:"yes"`
	NoiseFigure unit.Gain      `yaml:"noise_figure" need:"yes"`
	Required    unit.Gain      `yaml:"required_snr" need:"yes"`
	Blocking    unit.Gain      `yaml:"blocking" doc:"allowance for body, airframe and polarisation"`
}

func named[T any](all []T, name string, of func(*T) string) *T {
	for i := range all {
		if of(&all[i]) == name {
			return &all[i]
		}
	}
	return nil
}

// Airframe returns the airframe of that name, or nil.
func (k *Kit) Airframe(name string) *Airframe {
	return named(k.Airframes, name, func(a *Airframe) string { return a.Name })
}

// Gimbal returns the gimbal of that name, or nil.
func (k *Kit) Gimbal(name string) *Gimbal {
	return named(k.Gimbals, name, func(g *Gimbal) string { return g.Name })
}

// Camera returns the camera of that name, or nil.
func (k *Kit) Camera(name string) *Camera {
	return named(k.Cameras, name, func(c *Camera) string { return c.Name })
}

// Lens returns the lens of that name, or nil.
func (k *Kit) Lens(name string) *Lens {
	return named(k.Lenses, name, func(l *Lens) string { return l.Name })
}

// Filter returns the filter of that name, or nil.
func (k *Kit) Filter(name string) *Filter {
	return named(k.Filters, name, func(f *Filter) string { return f.Name })
}

// Pack returns the battery type of that name, or nil.
func (k *Kit) Pack(name string) *PackType {
	return named(k.Packs, name, func(p *PackType) string { return p.Name })
}

// Charger returns the charger of that name, or nil.
func (k *Kit) Charger(name string) *Charger {
	return named(k.Chargers, name, func(c *Charger) string { return c.Name })
}

// Radio returns the radio of that name, or nil.
func (k *Kit) Radio(name string) *Radio {
	return named(k.Radios, name, func(r *Radio) string { return r.Name })
}

// Format returns the recording format of that name, or nil.
func (c *Camera) Format(name string) *Recording {
	return named(c.Formats, name, func(r *Recording) string { return r.Name })
}

// Rig returns the rig of that name, or nil.
func (s *Shoot) Rig(name string) *Rig {
	return named(s.Rigs, name, func(r *Rig) string { return r.Name })
}

// Subject returns the subject of that name, or nil.
func (s *Shoot) Subject(name string) *Subject {
	return named(s.Subjects, name, func(x *Subject) string { return x.Name })
}

// Person returns the crew member of that name, or nil.
func (s *Shoot) Person(name string) *Person {
	return named(s.Crew, name, func(p *Person) string { return p.Name })
}

// Slate returns the slate of that identity, or nil.
func (s *Shoot) Slate(slate string) *Slate {
	return named(s.Slates, slate, func(x *Slate) string { return x.Slate })
}
