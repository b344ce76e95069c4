package gimbal

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Mount is a gimbal's axes and what they can do, indexed by Axis.
type Mount struct{ Axes [3]Limits }

// Limits are one axis's. A zero TorqueNM or RateS is not known.
type Limits struct {
	Present        bool
	From, To       unit.Angle // travel, From below To; a pan that turns without end has From = To = 0
	TorqueNM       float64    // continuous
	RateS          float64    // rad/s
	ImbalanceShare float64    // share of the torque that imbalance may take; 0 takes 0.1 (common practice, no source)
}

// AllowanceNM is the imbalance that the motor is given to hold; known is false when the
// torque is not.
func (l Limits) AllowanceNM() (nm float64, known bool) {
	share := l.ImbalanceShare
	if share == 0 {
		share = 0.1
	}
	return share * l.TorqueNM, l.TorqueNM > 0
}

// Check reports travel or numbers that no mount has.
func (m Mount) Check() error {
	for axis, l := range m.Axes {
		if !l.Present {
			continue
		}
		switch {
		case !(l.To >= l.From) || !(math.Abs(float64(l.From)) <= 100) || !(math.Abs(float64(l.To)) <= 100):
			return fmt.Errorf("%s travel from %v to %v is not possible: give from below to", Axis(axis), l.From, l.To)
		case !(l.TorqueNM >= 0 && l.TorqueNM <= 1000):
			return fmt.Errorf("%s torque %.4g N m is not possible", Axis(axis), l.TorqueNM)
		case !(l.RateS >= 0 && l.RateS <= 100):
			return fmt.Errorf("%s rate %.4g rad/s is not possible", Axis(axis), l.RateS)
		case !(l.ImbalanceShare >= 0 && l.ImbalanceShare <= 1):
			return fmt.Errorf("%s share of torque for imbalance %.4g is outside 0 to 1", Axis(axis), l.ImbalanceShare)
		}
	}
	return nil
}

// Turns reports whether the axis can turn at a rate in rad/s; known is false when its
// greatest rate is not.
func (l Limits) Turns(rateS float64) (ok, known bool) {
	return l.Present && l.RateS > 0 && math.Abs(rateS) <= l.RateS, l.RateS > 0
}

// endless reports whether the axis turns without end.
func (l Limits) endless() bool { return l.From == 0 && l.To == 0 }

// Effort is what an axis's motor must do.
type Effort struct {
	ImbalanceNM, AccelerateNM, WindNM, TotalNM float64
	TorqueNM                                   float64 // what it has
	Enough, Known                              bool    // Known is false when TorqueNM is not known
}

// Effort adds the worst static torque under an aircraft acceleration (m/s², its size
// only), the torque of an angular acceleration (rad/s²) and the wind's.
func (m Mount) Effort(l Load, axis Axis, aircraftMS2, angularS2, windNM float64) Effort {
	e := Effort{
		ImbalanceNM:  l.WorstNM(axis) * (1 + math.Abs(aircraftMS2)/9.80665),
		AccelerateNM: l.InertiaKgM2 * math.Abs(angularS2),
		WindNM:       math.Abs(windNM),
		TorqueNM:     m.Axes[axis].TorqueNM,
		Known:        m.Axes[axis].TorqueNM > 0,
	}
	e.TotalNM = e.ImbalanceNM + e.AccelerateNM + e.WindNM
	e.Enough = e.Known && e.TotalNM <= e.TorqueNM
	return e
}

// MaxAngularS2 is the angular acceleration that the torque left over by imbalance and
// wind gives, in rad/s²; known is false when torque or inertia is not.
func (m Mount) MaxAngularS2(l Load, axis Axis, windNM float64) (s2 float64, known bool) {
	left := m.Axes[axis].TorqueNM - l.WorstNM(axis) - math.Abs(windNM)
	if m.Axes[axis].TorqueNM <= 0 || l.InertiaKgM2 <= 0 {
		return 0, false
	}
	return math.Max(0, left) / l.InertiaKgM2, true
}

// Aim is where the camera should look, relative to the airframe held level on its
// heading.
type Aim struct{ Pan, Tilt, Roll unit.Angle }

// Reach is how a mount meets an aim.
type Reach struct {
	Joint Aim        // angles at the mount's own axes, after the airframe's lean
	Yaw   unit.Angle // what the airframe must turn, clockwise, for the part of pan that the mount lacks
	// Short is by how much each axis falls short after yawing; all zero when the aim
	// is met.
	Short [3]unit.Angle
}

// Met reports whether the aim is met, perhaps with the airframe yawed.
func (r Reach) Met() bool { return r.Short == [3]unit.Angle{} }

// Reach resolves an aim for an airframe that leans nose up by pitch and right side down
// by bank. A mount without pan, or at its stop, has the airframe yaw. The lean is taken
// off tilt and roll in the direction of view (exact for lean in that plane, first order
// in the other).
func (m Mount) Reach(aim Aim, pitch, bank unit.Angle) Reach {
	r := Reach{Joint: Aim{Pan: aim.Pan.Signed()}}
	pan := m.Axes[Pan]
	switch {
	case !pan.Present:
		r.Yaw, r.Joint.Pan = r.Joint.Pan, 0
	case !pan.endless():
		turn := func(a unit.Angle) unit.Angle { return min(max(a, pan.From), pan.To) }
		// Take the wrap that needs the least yaw.
		best := r.Joint.Pan
		for _, w := range [...]unit.Angle{best - 2*math.Pi, best + 2*math.Pi} {
			if math.Abs(float64(w-turn(w))) < math.Abs(float64(best-turn(best))) {
				best = w
			}
		}
		r.Joint.Pan = turn(best)
		r.Yaw = best - r.Joint.Pan
	}
	sin, cos := math.Sincos(float64(r.Joint.Pan))
	r.Joint.Tilt = aim.Tilt - pitch*unit.Angle(cos) + bank*unit.Angle(sin)
	r.Joint.Roll = aim.Roll - bank*unit.Angle(cos) - pitch*unit.Angle(sin)
	r.Short[Tilt] = m.Axes[Tilt].short(r.Joint.Tilt)
	r.Short[Roll] = m.Axes[Roll].short(r.Joint.Roll)
	return r
}

// short is how far a joint angle lies outside the travel. An absent axis can only be at 0;
// a hundredth of a degree of lean is let pass.
func (l Limits) short(joint unit.Angle) unit.Angle {
	if l.Present && l.endless() {
		return 0
	}
	var from, to unit.Angle
	if l.Present {
		from, to = l.From, l.To
	}
	outside := max(joint-to, from-joint, 0)
	if outside < 0.01*unit.Degree {
		return 0
	}
	return outside
}

// Part is a piece of the aircraft that might come into the picture, in the mount's frame
// with the airframe level: a rotor disc when RadiusM is above 0 (level, centre A), else
// a straight rod from A to B such as a landing leg.
type Part struct {
	Name    string
	A, B    geo.Vec3
	RadiusM float64
}

// View is how the camera looks past the aircraft.
type View struct {
	Aim         Aim
	Pitch, Bank unit.Angle // the airframe's lean: nose up, right side down
	Horizontal  unit.Angle // angles of view, below 180°
	Vertical    unit.Angle
	PupilM      float64 // entrance pupil ahead of the axes
}

// InFrame returns the names of the parts of which any point lies inside the picture, in
// the order given. Rods and rims are sampled at 65 points.
func InFrame(parts []Part, v View) (names []string) {
	c := newCamera(v)
	for _, p := range parts {
		if c.sees(p) {
			names = append(names, p.Name)
		}
	}
	return names
}

// ClearTilt returns the highest tilt, to a tenth of a degree, from low to high, up to which
// no part is in the picture; ok is false when one is already in it at low. The other
// angles are the view's.
func ClearTilt(parts []Part, v View, low, high unit.Angle) (tilt unit.Angle, ok bool) {
	const step = unit.Degree / 10
	n := int((high-low)/step + 1e-6)
	for i := 0; i <= n; i++ {
		v.Aim.Tilt = low + unit.Angle(i)*step
		if len(InFrame(parts, v)) > 0 {
			return tilt, ok
		}
		tilt, ok = v.Aim.Tilt, true
	}
	return tilt, ok
}

type camera struct {
	right, forward, up geo.Vec3
	pupil              geo.Vec3
	tanH, tanV         float64
	body               func(geo.Vec3) geo.Vec3
}

func newCamera(v View) camera {
	sp, cp := math.Sincos(float64(v.Aim.Pan))
	st, ct := math.Sincos(float64(v.Aim.Tilt))
	sr, cr := math.Sincos(float64(v.Aim.Roll))
	c := camera{forward: geo.Vec3{X: sp * ct, Y: cp * ct, Z: st}}
	right := geo.Vec3{X: cp, Y: -sp}
	up := right.Cross(c.forward)
	// Right side down: right turns toward down.
	c.right = right.Scale(cr).Sub(up.Scale(sr))
	c.up = up.Scale(cr).Add(right.Scale(sr))
	c.pupil = c.forward.Scale(v.PupilM)
	c.tanH = math.Tan(float64(v.Horizontal) / 2)
	c.tanV = math.Tan(float64(v.Vertical) / 2)
	sx, cx := math.Sincos(float64(v.Pitch))
	sy, cy := math.Sincos(float64(v.Bank))
	c.body = func(p geo.Vec3) geo.Vec3 {
		p = geo.Vec3{X: p.X*cy + p.Z*sy, Y: p.Y, Z: -p.X*sy + p.Z*cy}
		return geo.Vec3{X: p.X, Y: p.Y*cx - p.Z*sx, Z: p.Y*sx + p.Z*cx}
	}
	return c
}

const partSamples = 64

// rim are the points around a circle of radius 1 at which rims are sampled.
var rim = func() (points [partSamples + 1]geo.Vec3) {
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / partSamples)
		points[i] = geo.Vec3{X: cos, Y: sin}
	}
	return points
}()

// beside reports whether a ball lies wholly beside, above or below the picture, or behind the camera.
func (c *camera) beside(centre geo.Vec3, radiusM float64) bool {
	d := c.body(centre).Sub(c.pupil)
	depth, room := d.Dot(c.forward), radiusM+1e-6
	return depth < -room || math.Abs(d.Dot(c.right))-depth*c.tanH > room*math.Hypot(1, c.tanH) || math.Abs(d.Dot(c.up))-depth*c.tanV > room*math.Hypot(1, c.tanV)
}

func (c *camera) sees(p Part) bool {
	centre, radiusM := p.A, p.RadiusM
	if radiusM <= 0 {
		centre, radiusM = p.A.Lerp(p.B, 0.5), p.B.Sub(p.A).Norm()/2
	}
	if c.beside(centre, radiusM) {
		return false
	}
	for i := range partSamples + 1 {
		at := p.A.Lerp(p.B, float64(i)/partSamples)
		if p.RadiusM > 0 {
			at = p.A.Add(rim[i].Scale(p.RadiusM))
		}
		d := c.body(at).Sub(c.pupil)
		depth := d.Dot(c.forward)
		if depth > 0 && math.Abs(d.Dot(c.right)) < depth*c.tanH && math.Abs(d.Dot(c.up)) < depth*c.tanV {
			return true
		}
	}
	return false
}
