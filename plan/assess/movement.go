package assess

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/plan/move"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// movement turns the solved path into numbers, and the limits it ran into, into findings.
func (t *Take) movement() {
	n := &t.numbers.Move
	for _, s := range t.Slate.Moves {
		n.Moves = append(n.Moves, string(s.Move))
	}
	if t.Unsolved != nil {
		var why *move.Unsolved
		if errors.As(t.Unsolved, &why) {
			t.findAt(why.T, Stop, TopicMove, "the move", "cannot be flown as asked: "+why.What, "", "path solver", why.Mend)
		} else {
			t.find(Stop, TopicMove, "the move", "cannot be flown as asked", "", "path solver", t.Unsolved.Error())
		}
		return
	}
	n.DurationS, n.LengthM = t.Path.DurationS(), t.Path.LengthM()
	ground := t.shoot.Ground()
	n.LowestM, n.HighestM = math.Inf(1), math.Inf(-1)
	dt := 1 / t.Path.RateHz
	for i := range t.Path.Samples {
		p := &t.Path.Samples[i]
		n.TopSpeedMS = math.Max(n.TopSpeedMS, p.Vel.Norm())
		n.TopAccelerationMS2 = math.Max(n.TopAccelerationMS2, p.Acc.Norm())
		n.FarthestM = math.Max(n.FarthestM, p.Pos.Sub(t.launch).Norm())
		if z, ok := ground.HeightAt(p.Pos.X, p.Pos.Y); ok {
			n.LowestM, n.HighestM = math.Min(n.LowestM, p.Pos.Z-z), math.Max(n.HighestM, p.Pos.Z-z)
		}
		if i > 0 {
			before := &t.Path.Samples[i-1]
			n.TopYawRateDegS = math.Max(n.TopYawRateDegS, math.Abs((p.Yaw-before.Yaw).Signed().Deg())/dt)
			n.TopGimbalRateDegS = math.Max(n.TopGimbalRateDegS, math.Max(math.Abs((p.Pan-before.Pan).Signed().Deg()), math.Abs((p.Tilt-before.Tilt).Deg()))/dt)
		}
	}
	if math.IsInf(n.LowestM, 0) {
		n.LowestM, n.HighestM = 0, 0
		t.find(Unknown, TopicMove, "height above ground", "unknown", "", "elevation grid", "extend the grid under the path")
	}
	for i := range t.Bounds {
		t.bounded(&t.Bounds[i])
	}
	t.inspect()
	t.clearances()
	t.passes()
}

// bounded tells of a limit that the path ran into.
func (t *Take) bounded(b *move.Bound) {
	severity := Caution
	if !b.Kept {
		severity = Stop
	}
	what := string(b.Limit)
	if b.About != "" && !strings.HasSuffix(what, b.About) {
		what += " (" + b.About + ")"
	}
	mend := b.Nearest.String()
	value, limit := "", ""
	switch number, of, worded := strings.Cut(b.Unit, " "); {
	case b.Limit == move.LimitTerrain:
		severity, value, mend = Unknown, "unknown", "extend the grid under the path"
	case b.Unit == "":
		value, mend, _ = strings.Cut(mend, ": ")
	case !worded:
		value, limit = fmt.Sprintf("%.3g %s asked", b.Asked, b.Unit), fmt.Sprintf("%.3g %s", b.Allowed, b.Unit)
	case number == "%" || number == "s":
		value, limit = fmt.Sprintf("%.3g %s", b.Asked, b.Unit), fmt.Sprintf("%.3g %s", b.Allowed, number)
	default: // "controls at once"
		value, limit = fmt.Sprintf("%.3g %s %s", b.Asked, number, of), fmt.Sprintf("%.3g", b.Allowed)
	}
	if b.Kept {
		mend = "the path keeps the limit and the wish gave way; " + mend
	}
	t.findAt(b.T, severity, TopicMove, what, value, limit, t.basisOf(b.Limit), mend)
}

func (t *Take) basisOf(l move.Limit) string {
	switch l {
	case move.LimitSpeed, move.LimitClimb, move.LimitDescent, move.LimitAccel, move.LimitYaw, move.LimitPanRate, move.LimitPanTravel, move.LimitTiltRate, move.LimitTiltTravel:
		return "maker's limit"
	case move.LimitCrossing:
		if t.shoot.House.CrossingTime == 0 {
			return practice
		}
		return "house rule"
	case move.LimitWorkload:
		return "four controls at once for one who flies and frames: " + practice
	case move.LimitTrack:
		return "the subject's track"
	case move.LimitSmear, move.LimitGround, move.LimitObstacle, move.LimitStandOff:
		return "house rule"
	}
	return "path solver"
}

// spotAt is where the path's camera is at a time.
func (t *Take) spotAt(s float64) geo.Vec3 { return t.Path.At(s).Pos }

// clearances measures the path against the ground, the obstacles and the subject.
func (t *Take) clearances() {
	n := &t.numbers.Move
	ground := t.shoot.Ground()
	house := t.shoot.House
	nearest, nearestWire, subject := math.Inf(1), math.Inf(1), math.Inf(1)
	var obstacle, wire string
	var nearestAt, wireAt float64
	terrainM, sure := math.Inf(1), true
	terrainAt := 0.0
	target := t.around.subjects[t.Slate.Subject]
	off := float64(house.PositionError) + t.driftM
	for i := range t.Path.Samples {
		p := &t.Path.Samples[i]
		if z, ok := ground.HeightAt(p.Pos.X, p.Pos.Y); !ok {
			sure = false
		} else if h := p.Pos.Z - z; h < terrainM {
			terrainM, terrainAt = h, p.T
		}
		for _, o := range t.around.obstacles {
			if centre, radius := o.Shape.Bounds(); p.Pos.Sub(centre).Norm()-radius > math.Min(nearest, 1e9) && o.Kind != shoot.Wire {
				continue
			}
			d, _ := o.Shape.Distance(p.Pos)
			if o.Kind == shoot.Wire {
				if d < nearestWire {
					nearestWire, wire, wireAt = d, o.Name, p.T
				}
			} else if d < nearest {
				nearest, nearestAt, obstacle = d, p.T, o.Name
			}
		}
		if target != nil && target.Moves() {
			if m, ok := target.At(p.T); ok {
				subject = math.Min(subject, p.Pos.Sub(m.Box.Centre()).Norm()-m.Box.RadiusM()-m.SpreadM)
			}
		}
	}
	if sure {
		n.TerrainClearanceM = known(terrainM)
		t.putFact("terrain_clearance", rule.Of(terrainM))
		t.keep(terrainM-off, float64(house.Clearance), "clearance from the ground", "clearance:", terrainAt)
	} else {
		t.find(Unknown, TopicMove, "clearance from the ground", "unknown", "", "elevation grid", "extend the grid under the path")
	}
	n.NearestObstacle = obstacle
	if nearestWire < nearest {
		n.NearestObstacle = wire
	}
	if d := math.Min(nearest, nearestWire); !math.IsInf(d, 1) {
		n.ObstacleClearanceM = known(d)
		t.putFact("obstacle_clearance", rule.Of(d))
	}
	if !math.IsInf(nearest, 1) {
		t.keep(nearest-off, float64(house.Clearance), "clearance from "+obstacle, "clearance:", nearestAt)
	}
	if !math.IsInf(nearestWire, 1) {
		t.keep(nearestWire-off, float64(house.WireClearance), "clearance from wire "+wire, "wire_clearance:", wireAt)
	}
	if !math.IsInf(subject, 1) {
		n.SubjectDistanceM = known(subject)
		t.keep(subject-off, float64(house.SubjectDistance), "distance to the moving subject", "subject_distance:", 0)
	}
}

// keep holds a distance, less position error and drift, against the house's limit.
func (t *Take) keep(d, limit float64, what, key string, at float64) {
	switch {
	case limit == 0:
		t.find(Unknown, TopicMove, what, metres(d), "unknown", "house rule", "add "+key+" to house:")
	case d < limit-0.05:
		t.findAt(at, Stop, TopicMove, what+", position error and drift taken off", metres(d), metres(limit), "house rule", "move the path away, or raise it")
	}
}

// MoveNumbers returns the numbers of the path, which no hour changes.
func (t *Take) MoveNumbers() MoveNumbers { return t.numbers.Move }
