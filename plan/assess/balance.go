package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/gimbal"
	"fieldfare/model/unit"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

const (
	balanceArmM  = 0.06   // where a counterweight sits, from the axis (common practice, no source)
	filterFrameM = 0.004  // depth of a filter's frame (common practice, no source)
	bodyDensity  = 1000.0 // kg/m³, of a body whose size is not on the shelf (common practice, no source)
	lensDrag     = 1.1    // of a cylinder across the wind (Hoerner, Fluid-Dynamic Drag, from memory)
	bodyDrag     = 1.2    // of a box (likewise)
	balancedNmm  = 0.5    // a moment that nobody can feel
)

// dressed lists what a rig's gimbal carries with a lens and filters, in the mount's frame: x right, y
// forward, z up from where the axes meet, the plates in the middle of their travel. Where the shelf does not
// say how high the plate stands, the camera counts as at the axes' height.
func dressed(s *shoot.Shoot, r *shoot.Rig, lensName string, filters []string) []gimbal.Item {
	k := s.Kit()
	g, body, l := k.Gimbal(r.Gimbal), k.Camera(r.Camera), k.Lens(lensName)
	screw, plate := 0.0, -float64(body.CentreUp)
	if g.ScrewForward != nil {
		screw = float64(*g.ScrewForward)
	}
	if g.PlateUp != nil {
		plate = float64(*g.PlateUp)
	}
	axis := plate + float64(body.CentreUp)
	if body.MountUp != nil {
		axis = plate + float64(*body.MountUp)
	}
	front, long, wide := screw+float64(body.MountForward), lensLength(l), lensDiameter(l)
	items := []gimbal.Item{
		{Name: body.Name, MassKg: float64(body.Mass), On: gimbal.Tilt, Size: bodySize(body),
			At: geo.Vec3{X: float64(body.CentreRight), Y: screw + float64(body.CentreForward), Z: plate + float64(body.CentreUp)}},
		{Name: l.Name, MassKg: float64(l.Mass), On: gimbal.Tilt, Size: geo.Vec3{X: wide, Y: long, Z: wide},
			At: geo.Vec3{Y: front + float64(l.CentreForward), Z: axis}},
	}
	deep := front + long
	for _, name := range filters {
		f := k.Filter(name)
		depth := filterFrameM
		if f.Depth > 0 {
			depth = float64(f.Depth)
		}
		items = append(items, gimbal.Item{Name: f.Name, MassKg: float64(f.Mass), On: gimbal.Tilt,
			At: geo.Vec3{Y: deep + depth/2, Z: axis}, Size: geo.Vec3{X: float64(f.Thread), Y: depth, Z: float64(f.Thread)}})
		deep += depth
	}
	on := map[string]gimbal.Axis{"camera": gimbal.Tilt, "roll arm": gimbal.Roll, "pan arm": gimbal.Pan}
	for _, x := range r.Extras {
		if a, ok := on[x.On]; ok {
			items = append(items, gimbal.Item{Name: x.Name, MassKg: float64(x.Mass), On: a, At: geo.Vec3{X: float64(x.Y), Y: float64(x.X), Z: float64(x.Z)}})
		}
	}
	if g.ArmMass > 0 {
		items = append(items, gimbal.Item{Name: "arm of " + g.Name, MassKg: float64(g.ArmMass), On: gimbal.Pan, At: geo.Vec3{Y: float64(g.ArmForward)}})
	}
	return items
}

func lensLength(l *shoot.Lens) float64 {
	if l.Length > 0 {
		return float64(l.Length)
	}
	return 2 * float64(l.CentreForward)
}

func lensDiameter(l *shoot.Lens) float64 {
	if l.Diameter > 0 {
		return float64(l.Diameter)
	}
	return float64(l.Thread)
}

// bodySize is the shelf's, or that of a cube of the body's mass.
func bodySize(c *shoot.Camera) geo.Vec3 {
	if c.Width > 0 && c.Height > 0 && c.Depth > 0 {
		return geo.Vec3{X: float64(c.Width), Y: float64(c.Depth), Z: float64(c.Height)}
	}
	side := math.Cbrt(float64(c.Mass) / bodyDensity)
	return geo.Vec3{X: side, Y: side, Z: side}
}

// mount is the gimbal in the terms of package gimbal.
func mount(g *shoot.Gimbal) gimbal.Mount {
	limits := gimbal.Limits{Present: true, TorqueNM: float64(g.Torque), ImbalanceShare: float64(g.ImbalanceShare)}
	m := gimbal.Mount{}
	m.Axes[gimbal.Tilt], m.Axes[gimbal.Roll] = limits, limits
	m.Axes[gimbal.Tilt].From, m.Axes[gimbal.Tilt].To, m.Axes[gimbal.Tilt].RateS = g.TiltFrom, g.TiltTo, float64(g.TiltRate)
	m.Axes[gimbal.Roll].From, m.Axes[gimbal.Roll].To = -g.RollLimit, g.RollLimit
	if g.Axes == 3 {
		m.Axes[gimbal.Pan] = limits
		m.Axes[gimbal.Pan].From, m.Axes[gimbal.Pan].To, m.Axes[gimbal.Pan].RateS = g.PanFrom, g.PanTo, float64(g.PanRate)
	}
	return m
}

// fine drops what is only the rounding of a sum.
func fine(v float64) float64 { return math.Round(v*1e6)/1e6 + 0 }

func travel(g *shoot.Gimbal, p gimbal.Plate) float64 {
	of := map[gimbal.Plate]unit.Length{gimbal.CameraForward: g.MoveTravel, gimbal.CameraHeight: g.HeightTravel, gimbal.RollSide: g.SideTravel, gimbal.PanForward: g.PanTravel}[p]
	if of == 0 {
		of = g.MoveTravel
	}
	return float64(of)
}

func counterArm(g *shoot.Gimbal) float64 {
	if g.CounterArm > 0 {
		return float64(g.CounterArm)
	}
	return balanceArmM
}

var plates = []gimbal.Plate{gimbal.CameraForward, gimbal.CameraHeight, gimbal.RollSide, gimbal.PanForward}

// settings are the plates of a gimbal for a dressed camera, in the order in which they are set. A plate of
// an axis that the mount lacks is left out.
func settings(g *shoot.Gimbal, items []gimbal.Item) (all []PlateNumbers) {
	m := mount(g)
	for i, x := range gimbal.Settings(items, counterArm(g)) {
		p := plates[i]
		if !m.Axes[p.Axis()].Present {
			continue
		}
		n := PlateNumbers{Plate: p.String(), Axis: p.Axis().String(), MomentNmm: fine(1000 * x.MomentNM), ShiftMM: fine(1000 * x.ShiftM), CounterweightG: fine(1000 * x.CounterweightKg), ArmMM: 1000 * counterArm(g), Known: true}
		switch {
		case p == gimbal.CameraHeight && g.PlateUp == nil:
			n.Known, n.Says = false, "unknown: enter plate_up: for "+g.Name
		case math.Abs(n.MomentNmm) < balancedNmm:
			n.Says = "leave it"
		default:
			n.Says = p.Move(x.ShiftM)
		}
		if t := travel(g, p); t > 0 {
			n.TravelMM = known(1000 * t)
			if math.Abs(x.ShiftM) > t {
				n.Says = fmt.Sprintf("%s to its stop, and %.0f g at %.0f mm %s", p.Move(math.Copysign(t, x.ShiftM)), 1000*math.Abs(x.MomentNM)*(1-t/math.Abs(x.ShiftM))/9.80665/counterArm(g), n.ArmMM, lightSide(p, x.MomentNM))
			}
		}
		all = append(all, n)
	}
	return all
}

// lightSide is where a counterweight goes against a moment.
func lightSide(p gimbal.Plate, moment float64) string {
	sides := map[gimbal.Plate][2]string{gimbal.CameraForward: {"behind", "ahead"}, gimbal.CameraHeight: {"below", "above"}, gimbal.RollSide: {"to the left", "to the right"}, gimbal.PanForward: {"behind", "ahead"}}[p]
	if moment > 0 {
		return sides[0]
	}
	return sides[1]
}

// balance works out the plates for this slate's lens, and what the motors hold.
func (t *Take) balance() {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	if g == nil {
		return
	}
	items := dressed(t.shoot, t.Rig, t.Slate.Lens, nil)
	payload := 0.0
	for _, i := range items {
		if i.On == gimbal.Tilt {
			payload += i.MassKg
		}
	}
	n := &t.numbers.Balance
	n.PayloadKg = known(payload)
	switch limit := float64(g.Payload); {
	case limit == 0:
		t.find(Unknown, TopicBalance, "gimbal payload", kg(payload), "unknown", "shelf", "enter payload: for the gimbal")
	case payload > limit:
		t.find(Stop, TopicBalance, "gimbal payload", kg(payload), kg(limit), "maker's limit", "choose a lighter camera package")
	}
	if err := gimbal.Check(items); err != nil {
		t.find(Unknown, TopicBalance, "balance", "unknown", "", "statics", err.Error())
		return
	}
	t.bare, n.Plates = items, settings(g, items)
	n.TiltNmm, n.ShiftMM = known(n.Plates[0].MomentNmm), known(n.Plates[0].ShiftMM)
	for _, p := range n.Plates {
		if p.TravelMM == nil {
			t.find(Unknown, TopicBalance, p.Plate+" must move", fmt.Sprintf("%.0f mm", p.ShiftMM), "unknown", "shelf", "enter plate_travel: for the gimbal")
		} else if p.Known && math.Abs(p.ShiftMM) > *p.TravelMM {
			t.find(Stop, TopicBalance, p.Plate+" must move", fmt.Sprintf("%.0f mm", p.ShiftMM), fmt.Sprintf("%.0f mm", *p.TravelMM), "maker's travel; static moments", p.Says)
		}
	}
	if torque := float64(g.Torque); torque > 0 {
		n.TorqueShare = known(math.Abs(n.Plates[0].MomentNmm) / 1000 / torque)
	} else {
		t.find(Unknown, TopicBalance, "motor torque", "unknown", "", "shelf", "enter torque: for the gimbal")
	}
	n.Swaps = append(n.Swaps, t.around.swapsFrom(t.Rig, t.Slate.Lens)...)
	t.turns, t.swing = t.angular()
	if g.Axes == 3 && g.PanRate == 0 {
		t.find(Unknown, TopicBalance, "pan rate of the gimbal", fmt.Sprintf("%.0f deg/s asked", t.turns[gimbal.Pan]*180/math.Pi), "unknown", "shelf", "enter pan_rate: for the gimbal")
	}
	if len(t.parts()) == 0 && !t.airframe.GearFolds {
		t.find(Unknown, TopicPicture, "landing gear and rotors in the picture", "unknown", "", "shelf", "enter gear_half_width:, gear_drop: and rotor_above: for the airframe")
	}
}

// Dress is a lens with filters on a rig.
type Dress struct {
	Lens    string
	Filters []string
}

func (d Dress) String() string { return d.Lens + ", " + stackName(d.Filters) }

func stackName(filters []string) string {
	if len(filters) == 0 {
		return "no filter"
	}
	return strings.Join(filters, " + ")
}

// Swaps works out what the gimbal of a rig needs from each of the given dresses to each other one.
func (a *surroundings) Swaps(r *shoot.Rig, dresses []Dress) []gimbal.Swap {
	g := a.Shoot.Kit().Gimbal(r.Gimbal)
	if g == nil {
		return nil
	}
	var setups []gimbal.Setup
	for _, d := range dresses {
		setups = append(setups, gimbal.Setup{Name: d.String(), Items: dressed(a.Shoot, r, d.Lens, d.Filters)})
	}
	return mount(g).Swaps(setups)
}

// BalanceGroups puts dresses of a rig into groups within which any may follow any without moving a plate; a
// group is named for its first. A gimbal whose torque is unknown holds nothing unaided.
func (a *Assessor) BalanceGroups(r *shoot.Rig, dresses []Dress) map[string]string {
	free := map[[2]string]bool{}
	for _, s := range a.Swaps(r, dresses) {
		free[[2]string{s.From, s.To}] = s.Unaided
	}
	var groups [][]string
	named := map[string]string{}
	for _, d := range dresses {
		name := d.String()
		if named[name] != "" {
			continue
		}
		at := slices.IndexFunc(groups, func(g []string) bool {
			return !slices.ContainsFunc(g, func(o string) bool { return !free[[2]string{o, name}] || !free[[2]string{name, o}] })
		})
		if at < 0 {
			groups = append(groups, nil)
			at = len(groups) - 1
		}
		groups[at] = append(groups[at], name)
		named[name] = groups[at][0]
	}
	return named
}

// swapsFrom are the changes from a lens without filter: to each other lens of the rig, and to each filter that
// the rig carries.
func (a *surroundings) swapsFrom(r *shoot.Rig, lensName string) (all []SwapNumbers) {
	first := Dress{Lens: lensName}
	dresses := []Dress{first}
	for _, l := range r.Lenses {
		if l != lensName {
			dresses = append(dresses, Dress{Lens: l})
		}
	}
	for _, f := range r.Filters {
		dresses = append(dresses, Dress{Lens: lensName, Filters: []string{f}})
	}
	for _, s := range a.Swaps(r, dresses) {
		if s.From == first.String() {
			all = append(all, swapNumbers(s))
		}
	}
	return all
}

func swapNumbers(s gimbal.Swap) SwapNumbers {
	n := SwapNumbers{From: s.From, To: s.To, Says: s.String(), ForwardMM: fine(1000 * s.Shift[gimbal.CameraForward]), UpMM: fine(1000 * s.Shift[gimbal.CameraHeight]),
		SideMM: fine(1000 * s.Shift[gimbal.RollSide]), PanMM: fine(1000 * s.Shift[gimbal.PanForward]),
		TiltNmm: 1000 * s.ImbalanceNM[gimbal.Tilt], RollNmm: 1000 * s.ImbalanceNM[gimbal.Roll], PanNmm: 1000 * s.ImbalanceNM[gimbal.Pan]}
	if s.AllowanceKnown {
		unaided := s.Unaided
		n.Unaided = &unaided
	}
	return n
}

// BalanceSheet is a rig's gimbal for the day: how each lens is set, and what every swap needs.
type BalanceSheet struct {
	Rig    string        `json:"rig"`
	Gimbal string        `json:"gimbal"`
	Lenses []LensPlates  `json:"lenses"`
	Swaps  []SwapNumbers `json:"swaps"`
}

// LensPlates are the plates for one lens without filters.
type LensPlates struct {
	Lens      string         `json:"lens"`
	PayloadKg float64        `json:"payload_kg"`
	Plates    []PlateNumbers `json:"plates"`
}

// BalanceSheet works out a rig. Swaps run between all lenses without filter, and on each lens between no filter
// and each one that the rig carries.
func (a *Assessor) BalanceSheet(name string) (BalanceSheet, error) {
	r := a.Shoot.Rig(name)
	if r == nil {
		return BalanceSheet{}, fmt.Errorf("no rig %q in this shoot", name)
	}
	k := a.Shoot.Kit()
	g := k.Gimbal(r.Gimbal)
	out := BalanceSheet{Rig: name, Lenses: []LensPlates{}, Swaps: []SwapNumbers{}}
	if g == nil || k.Camera(r.Camera) == nil {
		return out, fmt.Errorf("rig %s has no gimbal with a camera to balance", name)
	}
	out.Gimbal = g.Name
	var bare []Dress
	for _, l := range r.Lenses {
		items := dressed(a.Shoot, r, l, nil)
		if err := gimbal.Check(items); err != nil {
			return out, err
		}
		x := LensPlates{Lens: l, Plates: settings(g, items)}
		for _, i := range items {
			if i.On == gimbal.Tilt {
				x.PayloadKg += i.MassKg
			}
		}
		out.Lenses = append(out.Lenses, x)
		bare = append(bare, Dress{Lens: l})
	}
	for _, s := range a.Swaps(r, bare) {
		out.Swaps = append(out.Swaps, swapNumbers(s))
	}
	for _, l := range r.Lenses {
		for _, s := range a.swapsFrom(r, l) {
			if strings.HasPrefix(s.To, l+", ") {
				out.Swaps = append(out.Swaps, s)
			}
		}
	}
	return out, nil
}

// angular are the greatest rates and accelerations of tilt, roll and pan along the path, in rad/s and rad/s².
func (t *Take) angular() (rate, top [3]float64) {
	dt := 1 / t.Path.RateHz
	step := func(a, b *move.Sample) [3]float64 {
		return [3]float64{float64(b.Tilt - a.Tilt), float64(b.Roll - a.Roll), float64((b.Pan - a.Pan).Signed())}
	}
	for i := 1; i < len(t.Path.Samples); i++ {
		now := step(&t.Path.Samples[i-1], &t.Path.Samples[i])
		for axis, v := range now {
			rate[axis] = math.Max(rate[axis], math.Abs(v)/dt)
		}
		if i > 1 {
			for axis, v := range step(&t.Path.Samples[i-2], &t.Path.Samples[i-1]) {
				top[axis] = math.Max(top[axis], math.Abs(now[axis]-v)/(dt*dt))
			}
		}
	}
	return rate, top
}

// effort is what one motor must do, N m.
type effort struct {
	axis                                gimbal.Axis
	inertia                             float64 // kg m²
	imbalance, accelerate, wind, torque float64
	worst, allowance                    float64 // imbalance at rest, and what it may be
	mostS2                              float64 // rad/s² that the torque left over gives, 0 where not known
	known, enough, windKnown            bool
}

func (e *effort) total() float64 { return e.imbalance + e.accelerate + e.wind }

// efforts are what each motor must do in a wind with filters on, the plates left as they were set for the bare
// lens. A mount or camera that is not there has none.
func (t *Take) efforts(f *flown, filters []string) (all []effort) {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	if g == nil || t.bare == nil {
		return nil
	}
	gear, items := mount(g), dressed(t.shoot, t.Rig, t.Slate.Lens, filters)
	shifts := gimbal.Balance(t.bare)
	windKnown := f.windKnown && f.err == nil
	for axis := gimbal.Tilt; axis <= gimbal.Pan; axis++ {
		if !gear.Axes[axis].Present {
			continue
		}
		load := gimbal.Carried(items, axis, shifts)
		wind := 0.0
		if windKnown {
			wind = t.windOn(axis, f.density, f.breeze.gustMS, shifts)
		}
		e := gear.Effort(load, axis, t.numbers.Move.TopAccelerationMS2, t.swing[axis], wind)
		allowance, _ := gear.Axes[axis].AllowanceNM()
		most, _ := gear.MaxAngularS2(load, axis, wind)
		all = append(all, effort{mostS2: most, axis: axis, inertia: load.InertiaKgM2, imbalance: e.ImbalanceNM, accelerate: e.AccelerateNM, wind: e.WindNM, torque: e.TorqueNM,
			worst: load.WorstNM(axis), allowance: allowance, known: e.Known, enough: e.Enough, windKnown: windKnown})
	}
	return all
}

func nmm(nm float64) string { return fmt.Sprintf("%.1f N mm", 1000*nm) }

func (t *Take) strain(e effort) Finding {
	return t.timely(Stop, TopicBalance, e.axis.String()+" motor's torque", nmm(e.total()), nmm(e.torque), "maker's limit; imbalance, acceleration and wind on the lens", "balance with the filters on, turn more gently, or wait for less wind")
}

// grip works out, once for a wind, whether shake or a weak motor bars the take.
func (t *Take) grip(f *flown) {
	if t.shoot.Kit().Gimbal(t.Rig.Gimbal) == nil || t.outfit == nil {
		return
	}
	hold, err := t.steady(f, t.ShutterS())
	f.shaky = f.windKnown && err == nil && Severity(hold.Severity) == Stop
	for _, e := range t.efforts(f, nil) {
		f.strains = f.strains || e.known && !e.enough
	}
}

// tellBalance adds what the motors must do with the card's filters on.
func (t *Take) tellBalance(m *moment, filters []string, a *Assessment) {
	n := &a.Numbers.Balance
	for _, e := range t.efforts(m.flown, filters) {
		x := AxisNumbers{Axis: e.axis.String(), InertiaKgM2: e.inertia, ImbalanceNmm: 1000 * e.imbalance, AccelerateNmm: 1000 * e.accelerate, TotalNmm: 1000 * e.total()}
		if e.windKnown {
			x.WindNmm = known(1000 * e.wind)
		}
		if e.known {
			x.TorqueNmm = known(1000 * e.torque)
		}
		x.RateDegS, x.AccelDegS2 = t.turns[e.axis]*180/math.Pi, t.swing[e.axis]*180/math.Pi
		if e.mostS2 > 0 {
			x.AccelMaxDegS2 = known(e.mostS2 * 180 / math.Pi)
		}
		if limit := mount(t.shoot.Kit().Gimbal(t.Rig.Gimbal)).Axes[e.axis].RateS; limit > 0 {
			x.RateLimitDegS = known(limit * 180 / math.Pi)
		}
		n.Axes = append(n.Axes, x)
		switch {
		case e.known && !e.enough:
			a.add(t.strain(e))
		case e.known && !e.windKnown:
			a.add(t.timely(Unknown, TopicBalance, e.axis.String()+" motor's torque in wind", "unknown", nmm(e.torque), "forecast", "enter wind in the forecast"))
		}
		if e.known && e.worst > e.allowance {
			a.add(t.timely(Caution, TopicBalance, e.axis.String()+" axis with "+stackName(filters), nmm(e.worst)+" out of balance", nmm(e.allowance), "share of the torque for imbalance; "+practice, "balance with the filters on"))
		}
	}
}

// windOn is the torque of the air on lens and body about an axis. The roll axis lies along the lens and feels
// a side wind on the body only through its own height, which is left out.
func (t *Take) windOn(axis gimbal.Axis, density, windMS float64, shifts gimbal.Shifts) float64 {
	if axis == gimbal.Roll {
		return 0
	}
	body, l := t.outfit.body, t.outfit.lens
	long, wide := lensLength(l), lensDiameter(l)
	front := float64(body.MountForward) + shifts[gimbal.CameraForward]
	size := bodySize(body)
	lens := gimbal.WindNM(density, windMS, lensDrag, long*wide, math.Abs(front+long/2))
	rest := gimbal.WindNM(density, windMS, bodyDrag, size.Y*size.Z, math.Abs(float64(body.CentreForward)+shifts[gimbal.CameraForward]))
	return lens + rest
}

// leanOf is the airframe's lean at a moment of the path in a wind: nose up, right side down. Thrust carries
// weight, acceleration and the drag of the airframe, and stands square to its rotors.
func (t *Take) leanOf(f *flown, i int) (pitch, bank unit.Angle) {
	p := &t.Path.Samples[i]
	v := p.Vel.Sub(f.wind)
	drag := f.density * t.rotors.FlatPlateM2 * v.Norm() / 2 / t.massKg
	up := geo.Vec3{Z: 9.80665}.Add(p.Acc).Add(v.Scale(drag))
	sin, cos := math.Sincos(float64(p.Yaw))
	forward, right := up.X*sin+up.Y*cos, up.X*cos-up.Y*sin
	return unit.Angle(math.Atan2(-forward, up.Z)), unit.Angle(math.Atan2(right, up.Z))
}

// parts are what of the aircraft may come into the picture, in the mount's frame.
func (t *Take) parts() (parts []gimbal.Part) {
	f := t.airframe
	above := float64(f.RotorAbove)
	if above == 0 {
		return nil
	}
	n := f.Rotors
	if f.Coaxial {
		n /= 2
	}
	circle := (float64(f.Size) - float64(f.RotorDiameter)) / 2
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(n))
		parts = append(parts, gimbal.Part{Name: "propeller", A: geo.Vec3{X: circle * sin, Y: float64(f.HubForward) + circle*cos, Z: above}, RadiusM: float64(f.RotorDiameter) / 2})
	}
	if f.GearFolds || f.GearHalfWidth == 0 || f.GearDrop == 0 {
		return parts
	}
	low := above - float64(f.GearDrop)
	half := float64(f.GearLength) / 2
	for _, x := range []float64{-float64(f.GearHalfWidth), float64(f.GearHalfWidth)} {
		ends := []float64{0}
		if half > 0 {
			ends = []float64{-half, half}
			parts = append(parts, gimbal.Part{Name: "landing gear", A: geo.Vec3{X: x, Y: -half, Z: low}, B: geo.Vec3{X: x, Y: half, Z: low}})
		}
		for _, y := range ends {
			parts = append(parts, gimbal.Part{Name: "landing gear", A: geo.Vec3{X: x, Y: y, Z: above}, B: geo.Vec3{X: x, Y: y, Z: low}})
		}
	}
	return parts
}

// tellReach looks along the path, at the airframe's lean in the hour's wind, for what the mount cannot reach
// and for parts of the aircraft in the picture.
func (t *Take) tellReach(m *moment, a *Assessment) {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	if g == nil || t.Unsolved != nil || m.flown.err != nil {
		return
	}
	gear, parts := mount(g), t.parts()
	if g.RollLimit == 0 {
		a.add(t.timely(Unknown, TopicBalance, "roll travel of the gimbal", "unknown", "", "shelf", "enter roll_limit: for the gimbal"))
	}
	if len(parts) > 0 && !t.airframe.GearFolds && (t.airframe.GearHalfWidth == 0 || t.airframe.GearDrop == 0) {
		a.add(t.timely(Unknown, TopicPicture, "landing gear in the picture", "unknown", "", "shelf", "enter gear_half_width: and gear_drop:, or gear_folds: for the airframe"))
	}
	seen := map[string]bool{}
	short := [3]bool{}
	spare := [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)}
	last := len(t.Path.Samples) - 1
	for i := 0; ; i = min(last, i+max(1, last/(looksPerTake-1))) {
		p := &t.Path.Samples[i]
		pitch, bank := t.leanOf(m.flown, i)
		aim := gimbal.Aim{Pan: p.Pan, Tilt: p.Tilt, Roll: p.Roll}
		r := gear.Reach(aim, pitch, bank)
		for axis, joint := range [3]unit.Angle{r.Joint.Tilt, r.Joint.Roll, r.Joint.Pan} {
			l := gear.Axes[axis]
			spare[axis] = math.Min(spare[axis], math.Min((l.To-joint).Deg(), (joint-l.From).Deg()))
		}
		for axis := range r.Short {
			if by := math.Abs(r.Short[axis].Deg()); by > 0 && !short[axis] && !(gimbal.Axis(axis) == gimbal.Roll && g.RollLimit == 0) {
				short[axis] = true
				f := t.timely(Caution, TopicBalance, gimbal.Axis(axis).String()+" travel of the gimbal with the airframe leaning "+degrees1(math.Hypot(pitch.Deg(), bank.Deg())), degrees1(by)+" short", "0.0 deg", "maker's travel; lean from acceleration and wind", "the horizon or framing will slip: fly more gently, or aim farther from the stop")
				f.AtS = known(p.T)
				a.add(f)
			}
		}
		camera := t.outfit.camera
		camera.FocalM = p.FocalM
		view := gimbal.View{Aim: aim, Pitch: pitch, Bank: bank, Horizontal: camera.HFOV(), Vertical: camera.VFOV(), PupilM: float64(t.outfit.body.MountForward) + float64(t.outfit.lens.CentreForward)}
		for _, name := range gimbal.InFrame(parts, view) {
			if seen[name] {
				continue
			}
			seen[name] = true
			mend := "no tilt clears it at this pan: turn the airframe toward the picture, or use a longer lens"
			if clear, ok := gimbal.ClearTilt(parts, view, g.TiltFrom, g.TiltTo); ok {
				mend = fmt.Sprintf("tilt no higher than %s there, turn the airframe toward the picture, or use a longer lens", degrees1(clear.Deg()))
			}
			f := t.timely(Caution, TopicPicture, name+" in the picture", fmt.Sprintf("pan %s, tilt %s, airframe leaning %s", degrees(p.Pan.Signed().Deg()), degrees(p.Tilt.Deg()), degrees1(math.Hypot(pitch.Deg(), bank.Deg()))), "outside the picture", "geometry of rotors and gear on the shelf", mend)
			f.AtS = known(p.T)
			a.add(f)
		}
		if i == last {
			break
		}
	}
	for i := range a.Numbers.Balance.Axes {
		x := &a.Numbers.Balance.Axes[i]
		for axis, v := range spare {
			if l := gear.Axes[axis]; x.Axis == gimbal.Axis(axis).String() && l.From != l.To {
				x.SpareDeg = finiteOrNil(v)
			}
		}
	}
}
