package assess

import "fieldfare/model/exposure"

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
}

// BalanceNumbers are the camera package on the gimbal.
type BalanceNumbers struct {
	PayloadKg   *float64 `json:"payload_kg"`
	TiltNmm     *float64 `json:"tilt_moment_n_mm"`
	ShiftMM     *float64 `json:"plate_shift_mm"`
	TorqueShare *float64 `json:"torque_share"`
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
}

// SafetyNumbers are distances, volumes and falls.
type SafetyNumbers struct {
	PeopleM         *float64 `json:"people_distance_m"`
	Nearest         string   `json:"nearest_people"`
	PilotM          float64  `json:"farthest_from_pilot_m"`
	SightLimitM     *float64 `json:"sight_limit_m"`
	PilotSees       *bool    `json:"pilot_sees_aircraft"`
	ContingencyM    *float64 `json:"contingency_m"`
	ContingencyTopM *float64 `json:"contingency_top_m"`
	BufferM         *float64 `json:"ground_risk_buffer_m"`
	FallM           *float64 `json:"farthest_fall_m"`
	FallEnergyJ     *float64 `json:"fall_energy_j"`
	GroundRisk      *int     `json:"intrinsic_ground_risk_class"`
	LostLinkM       *float64 `json:"lost_link_height_above_sea_m"`
}

// RadioNumbers are one link at its weakest moment.
type RadioNumbers struct {
	Use      string   `json:"use"`
	MarginDB *float64 `json:"margin_db"`
	AtS      *float64 `json:"weakest_at_s"`
	Clear    *float64 `json:"fresnel_clear_share"`
}

func known(v float64) *float64 { return &v }
