package cli

// calc groups the calculators; each lives in its own file calc_NAME.go.
type calc struct {
	Sun       sunCmd       `cmd:"" help:"Where the sun and the moon stand, and the light they give."`
	Sunday    sundayCmd    `cmd:"" help:"Rise, transit, set and twilights of one local day."`
	Air       airCmd       `cmd:"" help:"Air density, density altitude and wind with height."`
	Power     powerCmd     `cmd:"" help:"What an aircraft needs in hover, level flight and climb, and its best speeds."`
	Endurance enduranceCmd `cmd:"" help:"How long and how far a pack carries an aircraft, with reserve."`
	Balance   balanceCmd   `cmd:"" help:"How far to move which plate of a gimbal, or what counterweight, for a camera as dressed."`
	Lens      lensCmd      `cmd:"" help:"What a lens sees, what is sharp, and its best aperture."`
	Exposure  exposureCmd  `cmd:"" help:"Ranked camera cards for a light: shutter, ISO, aperture and filters."`
	Smear     smearCmd     `cmd:"" help:"How far the picture runs in a frame, and whether it looks natural."`
	Ground    groundCmd    `cmd:"" help:"Line of sight, fall, buffers and ground risk class of one flight."`
	Link      linkCmd      `cmd:"" help:"The account of one radio link, with its margin."`
	Metar     metarCmd     `cmd:"" help:"What an aerodrome's report (METAR, SPECI) or forecast (TAF) says."`
}
