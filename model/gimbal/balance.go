package gimbal

import (
	"fmt"
	"math"
	"strings"

	"fieldfare/model/air"
	"fieldfare/model/geo"
)

// Plate is one of the adjustments by which a mount is balanced.
type Plate int

// Plates in the order in which they are set (common practice, no source): each is done
// with those before it already right.
const (
	CameraForward Plate = iota // camera plate along the lens: tilt axis, camera level
	CameraHeight               // camera plate up and down: tilt axis, camera tilted
	RollSide                   // to the side: roll axis
	PanForward                 // pan arm along the lens: pan axis
	plates
)

func (p Plate) String() string {
	return [...]string{"camera forward/back", "camera up/down", "roll arm right/left", "pan arm forward/back"}[p]
}

// Move says a shift in words: "camera back 14.0 mm".
func (p Plate) Move(shiftM float64) string {
	words := [...][3]string{{"camera", "forward", "back"}, {"camera", "up", "down"}, {"roll arm", "right", "left"}, {"pan arm", "forward", "back"}}[p]
	direction := words[1]
	if shiftM < 0 {
		direction = words[2]
	}
	return fmt.Sprintf("%s %s %.1f mm", words[0], direction, math.Abs(shiftM)*1000)
}

// Axis is the axis that the plate balances.
func (p Plate) Axis() Axis { return [...]Axis{Tilt, Tilt, Roll, Pan}[p] }

func (p Plate) along(v geo.Vec3) float64 {
	switch p {
	case CameraHeight:
		return v.Z
	case RollSide:
		return v.X
	}
	return v.Y
}

func (p Plate) direction() geo.Vec3 {
	switch p {
	case CameraHeight:
		return geo.Vec3{Z: 1}
	case RollSide:
		return geo.Vec3{X: 1}
	}
	return geo.Vec3{Y: 1}
}

// Shifts is how far each plate stands forward, up or right of where the items'
// positions were taken, in metres.
type Shifts [plates]float64

// seen is where an item is as an axis sees it. A plate moves what it carries against its
// own axis and the axes outside it; the axes inside move along.
func (s Shifts) seen(i Item, axis Axis) geo.Vec3 {
	at := i.At
	if i.Fixed {
		return at
	}
	for p := range plates {
		if i.On <= p.Axis() && p.Axis() <= axis {
			at = at.Add(p.direction().Scale(s[p]))
		}
	}
	return at
}

// Setting is what one plate needs.
type Setting struct {
	Plate    Plate
	MomentNM float64 // before, with the plates ahead of it already set: front-, top- or right-heavy positive
	ShiftM   float64 // move the plate this far forward, up or right
	Movable  bool    // false when nothing on the axis moves with the plate
	// CounterweightKg at the arm given to Settings, on the light side, does the same
	// without moving the plate.
	CounterweightKg float64
}

// Settings works out every plate in order, each with those before it set, from where the
// items stand. armM is the distance from the axis at which a counterweight would sit.
func Settings(items []Item, armM float64) (all [plates]Setting) {
	var shifts Shifts
	for p := range plates {
		all[p] = setting(items, p, shifts, armM)
		shifts[p] = all[p].ShiftM
	}
	return all
}

// Alone works out one plate with all others left where they are.
func Alone(items []Item, p Plate, armM float64) Setting { return setting(items, p, Shifts{}, armM) }

func setting(items []Item, p Plate, shifts Shifts, armM float64) Setting {
	moment := p.along(Carried(items, p.Axis(), shifts).FirstMoment)
	moved := 0.0
	for _, i := range items {
		if i.On <= p.Axis() && !i.Fixed {
			moved += i.MassKg
		}
	}
	s := Setting{Plate: p, MomentNM: air.GravityMS2 * moment, Movable: moved > 0}
	if moved > 0 {
		s.ShiftM = -moment / moved
	}
	if armM > 0 {
		s.CounterweightKg = math.Abs(moment) / armM
	}
	return s
}

// Balance returns the shifts that balance the items on every axis.
func Balance(items []Item) (s Shifts) {
	for p, setting := range Settings(items, 0) {
		s[p] = setting.ShiftM
	}
	return s
}

// Setup is one way of dressing the camera: a lens with its filter, matte box and motor.
type Setup struct {
	Name  string
	Items []Item
}

// Swap is what it takes to go from one setup to another.
type Swap struct {
	From, To string
	// Shift is how far each plate moves from its balanced place for From to that for To.
	Shift Shifts
	// ImbalanceNM is the worst static torque on each axis if the plates stay where
	// they are for From.
	ImbalanceNM [3]float64
	// Unaided is whether every imbalance stays within the motors' allowance, so that
	// the swap needs no rebalancing; AllowanceKnown is false when a torque is unknown.
	Unaided, AllowanceKnown bool
}

// String says the swap as a crew would: "12 mm to 35 mm: camera back 14.0 mm".
// Moves below half a millimetre are left out.
func (s Swap) String() string {
	text, moves := s.From+" to "+s.To+":", 0
	for p := range plates {
		if math.Abs(s.Shift[p]) >= 0.0005 {
			text += " " + p.Move(s.Shift[p]) + ","
			moves++
		}
	}
	switch {
	case moves == 0:
		return text + " nothing to move"
	case s.Unaided:
		return text + " or leave it: within the motors' allowance"
	case !s.AllowanceKnown:
		return text + " whether the motors would hold it is unknown"
	}
	return strings.TrimSuffix(text, ",")
}

// Swaps works out every change among setups, in order, each pair both ways.
func (m Mount) Swaps(setups []Setup) []Swap {
	balanced := make([]Shifts, len(setups))
	for i, s := range setups {
		balanced[i] = Balance(s.Items)
	}
	var swaps []Swap
	for i, from := range setups {
		for j, to := range setups {
			if i == j {
				continue
			}
			s := Swap{From: from.Name, To: to.Name, Unaided: true, AllowanceKnown: true}
			for p := range plates {
				s.Shift[p] = balanced[j][p] - balanced[i][p]
			}
			for axis := Tilt; axis <= Pan; axis++ {
				if !m.Axes[axis].Present {
					continue
				}
				s.ImbalanceNM[axis] = Carried(to.Items, axis, balanced[i]).WorstNM(axis)
				allowance, known := m.Axes[axis].AllowanceNM()
				s.AllowanceKnown = s.AllowanceKnown && known
				s.Unaided = s.Unaided && known && s.ImbalanceNM[axis] <= allowance
			}
			swaps = append(swaps, s)
		}
	}
	return swaps
}
