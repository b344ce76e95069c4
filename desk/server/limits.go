package server

import (
	"math"

	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// Numbers along a path that a limit can stand beside.
const (
	ofHeight       = "above_ground"
	ofNearest      = "nearest"
	ofSpeed        = "speed"
	ofAcceleration = "acceleration"
	ofPilot        = "from_pilot"
	ofMoving       = "moving_subject"
)

// PathLimit is a limit that holds all along a path, for drawing beside the number. What it means is said by the findings.
type PathLimit struct {
	Of      string   `json:"of" enum:"above_ground,nearest,speed,acceleration,from_pilot,moving_subject"`
	AtLeast *float64 `json:"at_least" doc:"in the number's SI unit"`
	AtMost  *float64 `json:"at_most"`
	Basis   string   `json:"basis"`
}

// pathLimits lists the limits that are known; what has none is not thereby free.
func pathLimits(s *shoot.Shoot, t *assess.Take) []PathLimit {
	all := []PathLimit{}
	atLeast := func(of string, v float64, basis string) {
		if v > 0 && !math.IsInf(v, 0) {
			all = append(all, PathLimit{Of: of, AtLeast: &v, Basis: basis})
		}
	}
	atMost := func(of string, v float64, basis string) {
		if v > 0 && !math.IsInf(v, 0) {
			all = append(all, PathLimit{Of: of, AtMost: &v, Basis: basis})
		}
	}
	atLeast(ofHeight, float64(s.House.Clearance), "house rule")
	features := s.Features()
	for i := range features {
		f := &features[i]
		if f.Kind == shoot.Area && f.Status == "permitted" && f.Reference == "ground" && len(t.Path.Samples) > 0 && f.Contains(t.Path.Samples[0].Pos) {
			atMost(ofHeight, f.CeilingM, f.Name)
		}
	}
	atLeast(ofNearest, float64(s.House.Clearance), "house rule")
	for i := range features {
		if f := &features[i]; f.Kind == shoot.Wire && passes(t, f.Name) {
			atLeast(ofNearest, float64(s.House.WireClearance), "house rule for wires")
			break
		}
	}
	if a := t.Airframe(); a != nil {
		atMost(ofSpeed, float64(a.LevelSpeed), a.Name)
		atMost(ofAcceleration, float64(a.Acceleration), a.Name)
	}
	atLeast(ofMoving, float64(s.House.SubjectDistance), "house rule")
	return all
}

// passes tells whether something is ever the nearest thing to the path.
func passes(t *assess.Take, name string) bool {
	for _, x := range t.Report().Seconds {
		if x.Nearest == name {
			return true
		}
	}
	return false
}
