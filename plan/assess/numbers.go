package assess

import (
	"time"

	"fieldfare/model/exposure"
)

// Numbers are the results of every model for a slate at an instant. Keys carry units; a
// null is not known.
type Numbers struct {
	Move    MoveNumbers    `json:"move"`
	Light   LightNumbers   `json:"light"`
	Picture PictureNumbers `json:"picture"`
	Flight  FlightNumbers  `json:"flight"`
	Balance BalanceNumbers `json:"balance"`
	Weather WeatherNumbers `json:"weather"`
	Safety  SafetyNumbers  `json:"safety"`
	Radio   []RadioNumbers `json:"radio"`
}

// MoveNumbers describe the solved path.
type MoveNumbers struct {
	Moves              []string `json:"moves"`
	DurationS          float64  `json:"duration_s"`
	LengthM            float64  `json:"length_m"`
	TopSpeedMS         float64  `json:"top_speed_m_s"`
	TopAccelerationMS2 float64  `json:"top_acceleration_m_s2"`
	LowestM            float64  `json:"lowest_above_ground_m"`
	HighestM           float64  `json:"highest_above_ground_m"`
	FarthestM          float64  `json:"farthest_from_launch_m"`
	TerrainClearanceM  *float64 `json:"terrain_clearance_m"`
	ObstacleClearanceM *float64 `json:"obstacle_clearance_m"`
	NearestObstacle    string   `json:"nearest_obstacle"`
	SubjectDistanceM   *float64 `json:"subject_distance_m"`
	Class              string   `json:"class"`
	TopYawRateDegS     float64  `json:"top_yaw_rate_deg_s"`
	TopGimbalRateDegS  float64  `json:"top_gimbal_rate_deg_s"`

	ClassWhy        string   `json:"class_reason"`
	LeastSubjectM   *float64 `json:"least_distance_to_framed_subject_m"` // from the camera to its box
	SubjectStartPct *float64 `json:"subject_height_start_percent"`       // of the frame's height; null: not wholly before the camera
	SubjectMidPct   *float64 `json:"subject_height_mid_percent"`
	SubjectEndPct   *float64 `json:"subject_height_end_percent"`
	HorizonStartPct *float64 `json:"horizon_start_percent"` // from the frame's top, in its middle; below 0 or above 100: outside
	HorizonEndPct   *float64 `json:"horizon_end_percent"`
	AxisSide        string   `json:"axis_side"`           // of the line of action at the start; empty: no axis, or on it
	EscapeFreePct   *float64 `json:"escape_free_percent"` // of the seconds from which a straight stop or a climb-out is free; null: unknown
	HiddenS         float64  `json:"subject_hidden_s"`
	OutOfFrameS     float64  `json:"subject_out_of_frame_s"`
	MostControls    int      `json:"most_controls_at_once"`
	ClosingMS       *float64 `json:"top_closing_speed_m_s"` // toward a moving subject within 60 m
	DriftM          *float64 `json:"gust_drift_margin_m"`   // kept beside the position error; null: unknown
}

// LightNumbers describe sun, sky and moon for the subject.
type LightNumbers struct {
	SunAltitudeDeg   float64  `json:"sun_altitude_deg"`
	SunAzimuthDeg    float64  `json:"sun_azimuth_deg"`
	SkylineDeg       *float64 `json:"skyline_deg"` // terrain's horizon toward the sun, from the subject
	Shaded           bool     `json:"subject_shaded"`
	SunFromCameraDeg float64  `json:"sun_from_camera_deg"` // level angle from the camera's axis to the sun at mid take, right positive
	SunFromAxisDeg   float64  `json:"least_sun_from_axis_deg"`
	DirectLx         *float64 `json:"illuminance_direct_lx"`
	SkyLx            *float64 `json:"illuminance_sky_lx"`
	SubjectLx        *float64 `json:"illuminance_subject_lx"`
	CCTK             *float64 `json:"cct_k"`
	ShadowRatio      *float64 `json:"shadow_ratio"`
	Condition        string   `json:"sky"`
	MoonAltitudeDeg  float64  `json:"moon_altitude_deg"`
	MoonIlluminated  float64  `json:"moon_illuminated_fraction"`
	OwnShadowInFrame bool     `json:"own_shadow_in_frame"`
	OwnShadowAtS     *float64 `json:"own_shadow_at_s"`
	OwnShadowLatDeg  *float64 `json:"own_shadow_latitude_deg"` // where it falls on the terrain then
	OwnShadowLonDeg  *float64 `json:"own_shadow_longitude_deg"`
	OwnShadowAwayM   *float64 `json:"own_shadow_distance_m"` // from the aircraft
	SunInFrame       bool     `json:"sun_in_frame"`
}

// PictureNumbers are what the camera operator sets and what comes of it.
type PictureNumbers struct {
	HFOVDeg       float64        `json:"hfov_deg"`
	VFOVDeg       float64        `json:"vfov_deg"`
	EV100         *float64       `json:"ev100"`
	Card          *exposure.Card `json:"card"`
	NearM         *float64       `json:"near_m"`
	FarM          *float64       `json:"far_m"` // null with a card: infinity
	MotionPx      *float64       `json:"motion_px_per_frame"`
	BlurPx        *float64       `json:"blur_px"`
	SubjectBlurPx *float64       `json:"subject_blur_px"`
	CrossingS     *float64       `json:"crossing_s"`
	ShakePx       *float64       `json:"shake_blur_px"`
	LongestHoldM  *float64       `json:"longest_focal_that_holds_m"`
	CardTakes     *int           `json:"takes_on_card"`
	LongestClipS  *float64       `json:"longest_clip_s"`

	GroundPx    *float64 `json:"ground_px_per_frame"` // middle of the ground in the picture
	SubjectPx   *float64 `json:"subject_px_per_frame"`
	HorizonPx   *float64 `json:"horizon_px_per_frame"`
	NaturalS    *float64 `json:"shortest_natural_crossing_s"`
	NaturalMS   *float64 `json:"fastest_natural_speed_m_s"` // square to the view, past the subject where it is nearest
	NaturalDegS *float64 `json:"fastest_natural_turn_deg_s"`

	BestAperture *float64      `json:"best_aperture_f"` // of the lens's good range, for depth and diffraction together
	BestLimit    string        `json:"best_aperture_limit"`
	Sharpness    string        `json:"best_aperture_grade"`
	DepthNeeds   *float64      `json:"aperture_for_depth_f"` // widest that keeps the wanted range sharp
	OverStops    *float64      `json:"highlight_margin_stops"`
	UnderStops   *float64      `json:"shadow_margin_stops"`
	HorizonPct   *float64      `json:"horizon_travel_percent"` // of the picture's height; null: not in the picture
	DriftTake    *float64      `json:"light_drift_take_stops"`
	DriftWindow  *float64      `json:"light_drift_window_stops"` // spread while the slate's light lasts
	LightUntil   *time.Time    `json:"light_until"`
	ChangeDue    *time.Time    `json:"change_due"` // when this card is no longer right; null: it stays right
	DueStops     *float64      `json:"change_due_stops"`
	Alternatives []Alternative `json:"alternatives"`
}

// Alternative is one usable setting.
type Alternative struct {
	ShutterS      float64  `json:"shutter_s"`
	ISO           float64  `json:"iso"`
	Aperture      float64  `json:"aperture_f"`
	Filters       []string `json:"filters"`
	AttenuationEV float64  `json:"attenuation_stops"`
	ErrorStops    float64  `json:"error_stops"`
	Why           string   `json:"why"`
}

// FlightNumbers are mass, power and energy.
type FlightNumbers struct {
	TakeoffMassKg    float64  `json:"takeoff_mass_kg"`
	MassMarginKg     float64  `json:"mass_margin_kg"`
	DensityKgM3      *float64 `json:"air_density_kg_m3"`
	DensityAltitudeM *float64 `json:"density_altitude_m"`
	HoverPowerW      *float64 `json:"hover_power_w"`
	TakeEnergyWh     *float64 `json:"take_energy_wh"`
	TransitEnergyWh  *float64 `json:"transit_energy_wh"` // launch, recovery and the way there and back
	UsableEnergyWh   *float64 `json:"usable_energy_wh"`  // weakest pack of the rig, above the reserve
	TakesPerPack     *int     `json:"takes_per_pack"`
	ReserveLeftPct   *float64 `json:"left_after_takes_percent"`
	ThrustRatio      *float64 `json:"thrust_to_weight"`
	TransitS         float64  `json:"transit_s"`
	NoReturnS        *float64 `json:"no_return_s"`
	RotorOut         string   `json:"one_rotor_out"`

	RotorOutFactor  *float64       `json:"one_rotor_out_thrust_factor"` // of the busiest rotor, times its hover thrust
	RotorOutEnough  *bool          `json:"one_rotor_out_thrust_enough"`
	ThrustMarginPct *float64       `json:"thrust_margin_percent"`
	PeakThrustPct   *float64       `json:"peak_thrust_percent"` // of the greatest, along the take
	MaxMassKg       *float64       `json:"greatest_mass_for_thrust_margin_kg"`
	Fit             *FitNumbers    `json:"fit"`
	BestEnduranceMS *float64       `json:"best_endurance_speed_m_s"`
	BestRangeMS     *float64       `json:"best_range_speed_m_s"`
	Wind            *BreezeNumbers `json:"wind_along_path"`
	VortexS         *float64       `json:"vortex_ring_s"`
	VortexAtS       *float64       `json:"vortex_ring_at_s"`
	SafeDescentMS   *float64       `json:"safe_descent_m_s"`
	StationS        *float64       `json:"station_s"` // of the weakest pack, between the way out and the way back
	Packs           []PackNumbers  `json:"packs"`
	Load            LoadNumbers    `json:"load"`
}

// FitNumbers are the hovers that the power model rests on, and how well it meets them.
type FitNumbers struct {
	Hovers     []HoverNumbers `json:"hovers"`
	Efficiency float64        `json:"efficiency"` // ideal power over pack power in hover, accessories apart
	AccessoryW float64        `json:"accessory_w"`
	SpreadPct  *float64       `json:"spread_percent"` // null: one hover cannot tell
	Note       string         `json:"note"`
	Caution    string         `json:"caution"`
}

// HoverNumbers is one hover with the fitted model's answer.
type HoverNumbers struct {
	Source      string  `json:"source"`
	MassKg      float64 `json:"mass_kg"`
	MeasuredW   float64 `json:"measured_w"`
	ModelW      float64 `json:"model_w"`
	ResidualPct float64 `json:"residual_percent"`
}

// BreezeNumbers are the air that the aircraft meets along the take, each at its hardest.
type BreezeNumbers struct {
	HeadwindMS   float64 `json:"most_headwind_m_s"`
	HeadwindAtS  float64 `json:"most_headwind_at_s"`
	TailwindMS   float64 `json:"most_tailwind_m_s"`
	CrosswindMS  float64 `json:"most_crosswind_m_s"`
	CrosswindAtS float64 `json:"most_crosswind_at_s"`
	AirspeedMS   float64 `json:"most_airspeed_m_s"`
	AirspeedAtS  float64 `json:"most_airspeed_at_s"`
	GustMS       float64 `json:"most_airspeed_in_gust_m_s"`
	LeanDeg      float64 `json:"most_lean_deg"`
	LeanAtS      float64 `json:"most_lean_at_s"`
	PushM        float64 `json:"gust_push_m"` // until the pilot reacts
	AnyDirection bool    `json:"wind_from_any_side"`
}

// PackNumbers are one pack for the slate, from the label to what is left.
type PackNumbers struct {
	Name        string   `json:"name"`
	Model       string   `json:"model"`
	RatedWh     float64  `json:"rated_wh"`
	AgedWh      *float64 `json:"aged_wh"`      // after its cycles
	ColdWh      *float64 `json:"cold_wh"`      // and at the hour's temperature
	DeliveredWh *float64 `json:"delivered_wh"` // and less what warms the pack
	ReserveWh   *float64 `json:"reserve_wh"`
	UsableWh    *float64 `json:"usable_wh"`
	Takes       *int     `json:"takes"`
	LeftWh      *float64 `json:"left_wh"` // above the reserve, after those takes
	StationS    *float64 `json:"station_s"`
	DrawC       *float64 `json:"draw_c"` // mean, multiples of capacity per hour
	PeakA       *float64 `json:"peak_current_a"`
	PeakLimitA  *float64 `json:"current_limit_a"`
}

// LoadNumbers roll up what leaves the ground.
type LoadNumbers struct {
	Items  []ItemNumbers  `json:"items"`
	Limits []MassLimit    `json:"limits"`
	Centre *CentreNumbers `json:"centre_of_mass"` // null where a position is not known
	Leave  []LeaveNumbers `json:"leave_behind"`   // ranked ways to get under the lowest limit that is broken
}

// ItemNumbers is one thing that flies. Positions are from the gimbal's axes.
type ItemNumbers struct {
	What      string   `json:"what"`
	MassKg    float64  `json:"mass_kg"`
	RightMM   *float64 `json:"right_mm"`
	ForwardMM *float64 `json:"forward_mm"`
	UpMM      *float64 `json:"up_mm"`
}

// MassLimit is a greatest take-off mass and whose it is.
type MassLimit struct {
	Basis  string  `json:"basis"`
	MaxKg  float64 `json:"max_kg"`
	OverKg float64 `json:"over_kg"` // above 0: too heavy
}

// CentreNumbers is the aircraft's centre of mass from the middle of its rotors.
type CentreNumbers struct {
	RightMM   float64 `json:"right_mm"`
	ForwardMM float64 `json:"forward_mm"`
	UpMM      float64 `json:"up_mm"`
	// ThrustPct is how much more, or less, than the mean the outermost rotors give to hold it level.
	ThrustPct float64 `json:"rotor_thrust_spread_percent"`
}

// LeaveNumbers is one way to get under a limit.
type LeaveNumbers struct {
	Items  []string `json:"items"`
	MassKg float64  `json:"mass_kg"`
	Worth  int      `json:"worth"`
}

// BalanceNumbers are the camera package on the gimbal.
type BalanceNumbers struct {
	PayloadKg   *float64 `json:"payload_kg"`
	TiltNmm     *float64 `json:"tilt_moment_n_mm"`
	ShiftMM     *float64 `json:"plate_shift_mm"`
	TorqueShare *float64 `json:"torque_share"`

	Plates []PlateNumbers `json:"plates"` // in the order in which they are set, for the bare lens
	Axes   []AxisNumbers  `json:"axes"`   // with the card's filters, the plates left
	Swaps  []SwapNumbers  `json:"swaps"`  // from this slate's bare lens
}

// PlateNumbers are one adjustment of the gimbal.
type PlateNumbers struct {
	Plate          string   `json:"plate"`
	Axis           string   `json:"axis"`
	MomentNmm      float64  `json:"moment_n_mm"` // front-, top- or right-heavy positive
	ShiftMM        float64  `json:"shift_mm"`
	TravelMM       *float64 `json:"travel_mm"`
	CounterweightG float64  `json:"counterweight_g"` // does the same on the light side
	ArmMM          float64  `json:"counterweight_arm_mm"`
	Known          bool     `json:"known"`
	Says           string   `json:"says"`
}

// AxisNumbers are what one motor must do.
type AxisNumbers struct {
	Axis          string   `json:"axis"`
	InertiaKgM2   float64  `json:"inertia_kg_m2"`
	ImbalanceNmm  float64  `json:"imbalance_n_mm"`
	AccelerateNmm float64  `json:"acceleration_n_mm"`
	WindNmm       *float64 `json:"wind_n_mm"`
	TotalNmm      float64  `json:"total_n_mm"`
	TorqueNmm     *float64 `json:"torque_n_mm"`
	RateDegS      float64  `json:"rate_deg_s"` // greatest along the path
	RateLimitDegS *float64 `json:"rate_limit_deg_s"`
	AccelDegS2    float64  `json:"acceleration_deg_s2"`
	AccelMaxDegS2 *float64 `json:"acceleration_limit_deg_s2"` // that the torque left over gives
	SpareDeg      *float64 `json:"spare_travel_deg"`          // least along the path, the airframe leaning in the hour's wind
}

// SwapNumbers are one change of lens or filter.
type SwapNumbers struct {
	From      string  `json:"from"`
	To        string  `json:"to"`
	Says      string  `json:"says"`
	ForwardMM float64 `json:"camera_forward_mm"`
	UpMM      float64 `json:"camera_up_mm"`
	SideMM    float64 `json:"roll_arm_right_mm"`
	PanMM     float64 `json:"pan_arm_forward_mm"`
	TiltNmm   float64 `json:"left_tilt_n_mm"` // worst moment with the plates left
	RollNmm   float64 `json:"left_roll_n_mm"`
	PanNmm    float64 `json:"left_pan_n_mm"`
	Unaided   *bool   `json:"holds_unaided"` // null: the motors' torque is not known
}

// WeatherNumbers are the forecast at the instant, at flying height where it matters.
type WeatherNumbers struct {
	Source       string   `json:"source"`
	WindMS       *float64 `json:"wind_m_s"`
	GustMS       *float64 `json:"gust_m_s"`
	WindFromDeg  *float64 `json:"wind_from_deg"`
	VisibilityM  *float64 `json:"visibility_m"`
	TemperatureC *float64 `json:"temperature_c"`
	CloudOktas   *float64 `json:"cloud_oktas"`
	Rain         string   `json:"precipitation"`
	ReportedMS   *float64 `json:"wind_at_10_m_m_s"`
	CeilingM     *float64 `json:"ceiling_m"`    // above ground; 30000: none
	PressureHPa  *float64 `json:"pressure_hpa"` // QNH
	HumidityPct  *float64 `json:"humidity_percent"`
}

// SafetyNumbers are distances, volumes and falls.
type SafetyNumbers struct {
	PeopleM         *float64 `json:"people_distance_m"`
	Nearest         string   `json:"nearest_people"`
	SetM            *float64 `json:"set_distance_m"`   // in space, to where the set's people stand
	StuntM          *float64 `json:"stunt_distance_m"` // in space, to where stunt performers are
	PilotM          float64  `json:"farthest_from_pilot_m"`
	AttitudeM       *float64 `json:"attitude_sight_m"`
	DetectionM      *float64 `json:"detection_sight_m"`
	SightLimitM     *float64 `json:"sight_limit_m"` // the lesser of the two
	PilotSees       *bool    `json:"pilot_sees_aircraft"`
	Spotters        []string `json:"spotters_needed"`
	GlareDeg        *float64 `json:"sun_from_aircraft_deg"` // least, at the pilot's eye; null with the sun down or behind terrain
	GlareAtS        *float64 `json:"sun_from_aircraft_at_s"`
	GeographyM      *float64 `json:"flight_geography_half_width_m"`
	ContingencyM    *float64 `json:"contingency_m"`     // around the flight geography
	ContingencyTopM *float64 `json:"contingency_top_m"` // above ground
	BufferM         *float64 `json:"ground_risk_buffer_m"`
	BallisticM      *float64 `json:"ballistic_buffer_m"`
	ParachuteM      *float64 `json:"parachute_buffer_m"`
	FallM           *float64 `json:"farthest_fall_m"`
	FallEnergyJ     *float64 `json:"fall_energy_j"`
	FallWind        bool     `json:"fall_in_wind"`
	GroundRisk      *int     `json:"intrinsic_ground_risk_class"`
	LostLinkM       *float64 `json:"lost_link_height_above_sea_m"`
	LostLinkNeedM   *float64 `json:"lost_link_height_needed_above_launch_m"`
	LostLinkClearM  *float64 `json:"lost_link_clearance_m"`
	LandingSpot     string   `json:"emergency_landing"` // nearest from the worst moment
	LandingS        *float64 `json:"emergency_landing_s"`
	LandingLeftPct  *float64 `json:"emergency_landing_left_percent"`
}

// RadioNumbers are one link at its weakest moment.
type RadioNumbers struct {
	Use      string   `json:"use"`
	MarginDB *float64 `json:"margin_db"`
	AtS      *float64 `json:"weakest_at_s"`
	Clear    *float64 `json:"fresnel_clear_share"`
	EIRPmW   *float64 `json:"eirp_mw"`
	Stand    string   `json:"stand"` // where the station or monitor stands best
	StandDB  *float64 `json:"stand_margin_db"`
}

func known(v float64) *float64 { return &v }
