package radio

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Antenna is one end of a link.
type Antenna struct {
	GainDBi float64
	// VerticalDipole makes the gain fall off above and below the horizon as a vertical
	// half-wave dipole's does, by at most 20 dB: an aircraft overhead sits in the null.
	VerticalDipole bool
}

// deepestNullDB bounds the null of a real dipole (common practice, no source).
const deepestNullDB = 20

// GainToward returns the gain in dBi at an elevation above or below the horizon. Pattern
// of the half-wave dipole: (cos(π/2·sin θ)/cos θ)² (textbook), relative to its peak.
func (a Antenna) GainToward(elevation unit.Angle) float64 {
	if !a.VerticalDipole {
		return a.GainDBi
	}
	sin, cos := math.Sincos(float64(elevation))
	relative := 0.0
	if math.Abs(cos) > 1e-9 {
		relative = math.Cos(math.Pi/2*sin) / cos
	}
	return a.GainDBi + math.Max(-deepestNullDB, 20*math.Log10(math.Abs(relative)+1e-12))
}

// PolarisationLoss returns the loss in dB between two linear antennas whose polarisation
// planes differ by the angle: −20·log10|cos|, at most 30 dB (a bound that reflections set;
// from memory). Linear against circular costs 3 dB (textbook).
func PolarisationLoss(between unit.Angle) float64 {
	return math.Min(30, -20*math.Log10(math.Abs(math.Cos(float64(between)))+1e-9))
}

// CircularToLinearDB is the polarisation loss between a circular and a linear antenna.
const CircularToLinearDB = 3.0103

// Link is a radio link from transmitter to receiver.
type Link struct {
	FrequencyHz    float64 // 1 MHz to 1 THz
	PowerW         float64 // fed to the transmitting antenna, 1 µW to 10 kW
	Tx, Rx         Antenna
	FeederDB       float64 // cable and connector losses, both ends
	PolarisationDB float64 // allowance for unlike polarisation; see PolarisationLoss
	BlockingDB     float64 // allowance for bodies and the airframe between the antennas
	BandwidthHz    float64 // of the receiver
	NoiseFigureDB  float64 // of the receiver
	RequiredSNRDB  float64 // that the mode needs
	TemperatureK   float64 // 0 means 290 K
}

// Budget is the account of a link at one distance.
type Budget struct {
	PathLossDB    float64 // free space
	DiffractionDB float64 // over terrain
	ReceivedDBm   float64
	NoiseDBm      float64
	SNRDB         float64
	MarginDB      float64 // SNR over the required one; negative is no link
}

// Validate says which value of the link cannot be used.
func (l Link) Validate() error {
	return cmp.Or(checkFrequency(l.FrequencyHz), unit.Within("transmitter power", l.PowerW, 1e-6, 1e4, "W"),
		unit.Within("antenna gain", l.Tx.GainDBi, -40, 60, "dBi"), unit.Within("antenna gain", l.Rx.GainDBi, -40, 60, "dBi"),
		unit.Within("feeder loss", l.FeederDB, 0, 100, "dB"), unit.Within("polarisation allowance", l.PolarisationDB, 0, 60, "dB"),
		unit.Within("blocking allowance", l.BlockingDB, 0, 100, "dB"), unit.Within("required signal-to-noise ratio", l.RequiredSNRDB, -60, 80, "dB"))
}

// Budget accounts for the link over distanceM metres with a given diffraction loss, both
// antennas in the horizontal plane of the other.
func (l Link) Budget(distanceM, diffractionDB float64) (Budget, error) {
	return l.budget(distanceM, diffractionDB, 0)
}

func (l Link) budget(distanceM, diffractionDB float64, elevation unit.Angle) (Budget, error) {
	if err := l.Validate(); err != nil {
		return Budget{}, err
	}
	temperature := l.TemperatureK
	if temperature == 0 {
		temperature = 290
	}
	loss, errL := FreeSpaceLoss(l.FrequencyHz, distanceM)
	noise, errN := NoiseFloor(l.BandwidthHz, temperature, l.NoiseFigureDB)
	if err := cmp.Or(errL, errN, unit.Within("diffraction loss", diffractionDB, 0, 1000, "dB")); err != nil {
		return Budget{}, err
	}
	b := Budget{PathLossDB: loss, DiffractionDB: diffractionDB, NoiseDBm: noise}
	b.ReceivedDBm = MilliwattsDB(l.PowerW) + l.Tx.GainToward(elevation) + l.Rx.GainToward(-elevation) -
		loss - diffractionDB - l.FeederDB - l.PolarisationDB - l.BlockingDB
	b.SNRDB = b.ReceivedDBm - noise
	b.MarginDB = b.SNRDB - l.RequiredSNRDB
	return b, nil
}

// Surface gives the height of the ground, in metres above sea level, at a place in the
// site frame; ok is false where it is not known.
type Surface interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// ErrGroundUnknown is wrapped when a profile leaves the known terrain.
var ErrGroundUnknown = errors.New("height of the ground is not known")

// Between cuts a terrain profile from a to b, sampled every stepM metres (0.1 to 1e4).
func Between(ground Surface, a, b geo.Vec3, stepM float64) (Profile, error) {
	var p Profile
	return p, p.cut(ground, a, b, stepM)
}

func (p *Profile) cut(ground Surface, a, b geo.Vec3, stepM float64) error {
	if err := unit.Within("sampling step", stepM, 0.1, 1e4, "m"); err != nil {
		return err
	}
	d := b.Sub(a).Horizontal()
	if !(d > 0 && d < 1e6) {
		return fmt.Errorf("antennas %g m apart on the level; expected above 0 to 1000 km", d)
	}
	n := max(2, int(math.Ceil(d/stepM)))
	p.DistanceM, p.HeightM = append(p.DistanceM[:0], 0), append(p.HeightM[:0], a.Z)
	for i := 1; i < n; i++ {
		q := a.Lerp(b, float64(i)/float64(n))
		z, ok := ground.HeightAt(q.X, q.Y)
		if !ok {
			return fmt.Errorf("profile at x %.1f y %.1f: %w", q.X, q.Y, ErrGroundUnknown)
		}
		p.DistanceM, p.HeightM = append(p.DistanceM, d*float64(i)/float64(n)), append(p.HeightM, z)
	}
	p.DistanceM, p.HeightM = append(p.DistanceM, d), append(p.HeightM, b.Z)
	return nil
}

// Moment is the aircraft at one time of a path.
type Moment struct {
	TimeS float64
	Pos   geo.Vec3
}

// Reading is the link at one moment.
type Reading struct {
	TimeS        float64
	Budget       Budget
	FresnelShare float64 // least clearance over the first Fresnel radius; see FresnelClearance
	ObstacleM    float64 // distance from the station of the least clearance
	TerrainKnown bool    // false: diffraction is not in the budget, and the margin is an upper bound
	Overhead     bool    // the aircraft is straight above; no profile exists and none is needed
}

// Along accounts for the link between a ground station and each moment of a path, with
// Bullington diffraction over the ground sampled every stepM metres. The station is the
// antenna itself, not the ground below it. Moments over unknown ground are marked, never
// taken as clear.
func (l Link) Along(ground Surface, station geo.Vec3, path []Moment, stepM float64) ([]Reading, error) {
	readings := make([]Reading, len(path))
	var profile Profile
	for i, m := range path {
		r := Reading{TimeS: m.TimeS, TerrainKnown: true}
		d := m.Pos.Sub(station)
		diffraction := 0.0
		if d.Horizontal() < 0.5 {
			r.Overhead, r.FresnelShare = true, 1
		} else if err := profile.cut(ground, station, m.Pos, stepM); errors.Is(err, ErrGroundUnknown) {
			r.TerrainKnown = false
		} else if err != nil {
			return nil, fmt.Errorf("at %.1f s: %w", m.TimeS, err)
		} else {
			if diffraction, err = profile.Bullington(l.FrequencyHz); err != nil {
				return nil, fmt.Errorf("at %.1f s: %w", m.TimeS, err)
			}
			r.FresnelShare, r.ObstacleM, _ = profile.FresnelClearance(l.FrequencyHz)
		}
		elevation := unit.Angle(math.Atan2(d.Z, d.Horizontal()))
		var err error
		if r.Budget, err = l.budget(math.Max(d.Norm(), 0.1), diffraction, elevation); err != nil {
			return nil, fmt.Errorf("at %.1f s: %w", m.TimeS, err)
		}
		readings[i] = r
	}
	return readings, nil
}

// Weakest returns the index of the reading with the least margin, a reading over unknown
// ground counting as weaker than any known one; -1 for none.
func Weakest(readings []Reading) int {
	weakest := -1
	for i, r := range readings {
		if weakest < 0 || !r.TerrainKnown && readings[weakest].TerrainKnown ||
			r.TerrainKnown == readings[weakest].TerrainKnown && r.Budget.MarginDB < readings[weakest].Budget.MarginDB {
			weakest = i
		}
	}
	return weakest
}

// Stand is a candidate place for a ground station or monitor with its weakest moment.
type Stand struct {
	Index   int // of the candidate
	Weakest Reading
}

// BestStand returns the candidates' weakest moments and which candidate's is strongest:
// where the monitor should stand.
func (l Link) BestStand(ground Surface, candidates []geo.Vec3, path []Moment, stepM float64) (best int, stands []Stand, err error) {
	if len(candidates) == 0 || len(path) == 0 {
		return 0, nil, errors.New("no place or no path to compare; give at least one of each")
	}
	weak := make([]Reading, len(candidates))
	for i, c := range candidates {
		readings, err := l.Along(ground, c, path, stepM)
		if err != nil {
			return 0, nil, fmt.Errorf("place %d: %w", i+1, err)
		}
		weak[i] = readings[Weakest(readings)]
		stands = append(stands, Stand{i, weak[i]})
		b := weak[best]
		if weak[i].TerrainKnown && !b.TerrainKnown || weak[i].TerrainKnown == b.TerrainKnown && weak[i].Budget.MarginDB > b.Budget.MarginDB {
			best = i
		}
	}
	return best, stands, nil
}
