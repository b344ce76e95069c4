package risk

import (
	"cmp"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Clearance is the least height of a route above the ground.
type Clearance struct {
	LeastM float64  // metres; negative when the route runs into the ground
	At     geo.Vec3 // point of the route where it is least
}

// RouteClearance samples a polyline every stepM metres of level distance, and across it
// corridorM metres to either side, and returns the least clearance. An unknown height
// anywhere is an error that wraps ErrGroundUnknown.
func RouteClearance(ground Surface, route []geo.Vec3, corridorM, stepM float64) (Clearance, error) {
	least := Clearance{LeastM: math.Inf(1)}
	err := eachOnRoute(ground, route, corridorM, stepM, func(p geo.Vec3, z float64) {
		if c := p.Z - z; c < least.LeastM {
			least = Clearance{LeastM: c, At: p}
		}
	})
	if err != nil {
		return Clearance{}, err
	}
	return least, nil
}

// LostLinkHeight returns the height in metres above sea level at which a straight flight
// along the route clears the ground in the corridor by marginM.
func LostLinkHeight(ground Surface, route []geo.Vec3, marginM, corridorM, stepM float64) (float64, error) {
	if err := unit.Within("clearance margin", marginM, 0, 10000, "m"); err != nil {
		return 0, err
	}
	highest := math.Inf(-1)
	err := eachOnRoute(ground, route, corridorM, stepM, func(_ geo.Vec3, z float64) { highest = math.Max(highest, z) })
	if err != nil {
		return 0, err
	}
	return highest + marginM, nil
}

// ReturnRoute returns the route of a lost-link return: straight up to heightM above sea
// level unless the aircraft is higher already, level to the place above home. The descent there is not part of it.
func ReturnRoute(from, home geo.Vec3, heightM float64) []geo.Vec3 {
	z := math.Max(from.Z, heightM)
	return []geo.Vec3{from, {X: from.X, Y: from.Y, Z: z}, {X: home.X, Y: home.Y, Z: z}}
}

func eachOnRoute(ground Surface, route []geo.Vec3, corridorM, stepM float64, visit func(p geo.Vec3, z float64)) error {
	err := cmp.Or(unit.Within("sampling step", stepM, 0.01, 1e4, "m"), unit.Within("corridor", corridorM, 0, 1e4, "m"))
	if err != nil {
		return err
	}
	if len(route) < 2 {
		return fmt.Errorf("a route of %d points; give at least two", len(route))
	}
	sides := int(math.Ceil(corridorM / stepM))
	for i := 1; i < len(route); i++ {
		a, b := route[i-1], route[i]
		d := b.Sub(a)
		length := d.Horizontal()
		n := max(1, int(math.Ceil(length/stepM)))
		if float64(n)*float64(2*sides+1) > 2e7 {
			return fmt.Errorf("leg %d of %g m needs too many samples; use a coarser step than %g m", i, length, stepM)
		}
		across := geo.Vec3{Y: 1}
		if length > 0 {
			across = geo.Vec3{X: -d.Y / length, Y: d.X / length}
		}
		for j := 0; j <= n; j++ {
			p := a.Lerp(b, float64(j)/float64(n))
			for k := -sides; k <= sides; k++ {
				q := p
				if sides > 0 {
					q = p.Add(across.Scale(corridorM * float64(k) / float64(sides)))
				}
				z, ok := ground.HeightAt(q.X, q.Y)
				if !ok {
					return fmt.Errorf("route at x %.1f y %.1f: %w", q.X, q.Y, ErrGroundUnknown)
				}
				visit(q, z)
			}
		}
	}
	return nil
}

// Spot is a place where the aircraft can land in an emergency.
type Spot struct {
	Name string
	Pos  geo.Vec3 // on the ground
}

// Diversion is how the aircraft flies to a landing spot.
type Diversion struct {
	AirspeedMS    float64  // 0.1 to 200
	PowerW        float64  // in level flight at that airspeed, above 0
	DescentMS     float64  // sink speed, 0.1 to 50
	DescentPowerW float64  // while sinking, above 0
	ClimbMS       float64  // climb speed for a spot above the aircraft, 0.1 to 50
	ClimbPowerW   float64  // while climbing, above 0
	WindMS        geo.Vec3 // where the wind blows to
	ReserveJ      float64  // energy that must be left after landing
}

// Charge is the aircraft at one time of a path with the usable energy left in its pack.
type Charge struct {
	TimeS float64
	Pos   geo.Vec3
	LeftJ float64
}

// Reach is one landing spot as seen from one moment.
type Reach struct {
	Spot      int     // index of the spot
	TravelS   float64 // level flight, then straight down (or up first)
	NeededJ   float64
	LeftJ     float64 // after landing; may be negative
	Reachable bool    // lands with the reserve in hand
	Headwind  bool    // the wind is too strong to get there at all; the numbers are then 0
}

// LandingReach returns, for each moment, every spot with the energy left after landing
// there; spots are ordered as given. Level flight is at the ground speed of the wind
// triangle: w_along + √(v² − w_cross²). Ground between is not looked at; see RouteClearance.
func (d Diversion) LandingReach(path []Charge, spots []Spot) ([][]Reach, error) {
	err := cmp.Or(unit.Within("airspeed", d.AirspeedMS, 0.1, 200, "m/s"), unit.Within("power", d.PowerW, 1e-3, 1e7, "W"),
		unit.Within("sink speed", d.DescentMS, 0.1, 50, "m/s"), unit.Within("power while sinking", d.DescentPowerW, 1e-3, 1e7, "W"),
		unit.Within("climb speed", d.ClimbMS, 0.1, 50, "m/s"), unit.Within("power while climbing", d.ClimbPowerW, 1e-3, 1e7, "W"),
		unit.Within("reserve", d.ReserveJ, 0, 1e12, "J"), unit.Within("wind", d.WindMS.Norm(), 0, 100, "m/s"))
	if err != nil {
		return nil, err
	}
	all := make([]Reach, len(path)*len(spots))
	table := make([][]Reach, len(path))
	for i, m := range path {
		row := all[i*len(spots) : (i+1)*len(spots) : (i+1)*len(spots)]
		for j, s := range spots {
			row[j] = d.reach(m, s)
			row[j].Spot = j
		}
		table[i] = row
	}
	return table, nil
}

func (d Diversion) reach(m Charge, s Spot) Reach {
	way := s.Pos.Sub(m.Pos)
	level := way.Horizontal()
	var r Reach
	if level > 0 {
		along := (d.WindMS.X*way.X + d.WindMS.Y*way.Y) / level
		across := (d.WindMS.X*way.Y - d.WindMS.Y*way.X) / level
		speed := 0.0
		if math.Abs(across) < d.AirspeedMS {
			speed = along + math.Sqrt(d.AirspeedMS*d.AirspeedMS-across*across)
		}
		if speed < 0.1 {
			return Reach{Headwind: true}
		}
		r.TravelS = level / speed
		r.NeededJ = d.PowerW * r.TravelS
	}
	rate, power := d.DescentMS, d.DescentPowerW
	if way.Z > 0 {
		rate, power = d.ClimbMS, d.ClimbPowerW
	}
	t := math.Abs(way.Z) / rate
	r.TravelS += t
	r.NeededJ += power * t
	r.LeftJ = m.LeftJ - r.NeededJ
	r.Reachable = r.LeftJ >= d.ReserveJ
	return r
}

// NearestReachable returns the reachable spot of least travel time, ok false when there
// is none.
func NearestReachable(spots []Reach) (nearest Reach, ok bool) {
	for _, r := range spots {
		if r.Reachable && (!ok || r.TravelS < nearest.TravelS) {
			nearest, ok = r, true
		}
	}
	return nearest, ok
}
