package assess

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// obstacles makes solids of the site's features. Polygons stand from their lowest corner,
// and reach the stated height above their highest, so a slope never makes one too small.
func obstacles(s *shoot.Shoot) (all []move.Obstacle) {
	for _, f := range s.Features() {
		add := func(shape move.Shape) { all = append(all, move.Obstacle{Name: f.Name, Kind: f.Kind, Shape: shape}) }
		switch f.Kind {
		case shoot.Building, shoot.Bridge, shoot.Tree, shoot.Mast:
			switch f.Shape {
			case shoot.Point:
				add(move.Cylinder{Base: f.Places[0], RadiusM: math.Max(0.3, f.SpreadM), HeightM: f.HeightM})
			case shoot.Polygon:
				low, high := math.Inf(1), math.Inf(-1)
				for _, p := range f.Places {
					low, high = math.Min(low, p.Z), math.Max(high, p.Z)
				}
				add(move.Prism{Ring: f.Outline.Outer, BottomM: low, TopM: high + f.HeightM})
			}
		case shoot.Wire:
			for i := 1; i < len(f.Places); i++ {
				up := geo.Vec3{Z: f.HeightM}
				add(move.Wire{A: f.Places[i-1].Add(up), B: f.Places[i].Add(up), SagM: f.SagM})
			}
		}
	}
	return all
}

// box is a still subject as the solver wants it.
func box(s *shoot.Shoot, x *shoot.Subject) (frame.Box, bool) {
	foot, ok := s.Foot(x)
	b := size(x)
	b.Foot = foot
	return b, ok
}

func size(x *shoot.Subject) frame.Box {
	b := frame.Box{WidthM: float64(x.Width), DepthM: float64(x.Depth), HeightM: float64(x.Height)}
	if x.Facing != nil {
		b.Facing = *x.Facing
	}
	return b
}

// subjects makes the solver's subjects: boxes that stand, tracks that run.
func subjects(s *shoot.Shoot) map[string]move.Subject {
	all := map[string]move.Subject{}
	for i := range s.Subjects {
		x := &s.Subjects[i]
		if way := s.Way(x.Name); way != nil {
			times, places := make([]float64, len(way)), make([]geo.Vec3, len(way))
			for j, w := range way {
				times[j], places[j] = w.TimeS, w.Pos
			}
			if track, err := move.NewTrack(times, places, size(x), 0, float64(x.Drift)); err == nil {
				all[x.Name] = track
			}
			continue
		}
		if b, ok := box(s, x); ok {
			all[x.Name] = move.Still(b)
		}
	}
	return all
}

// points are the site's named places, for positions in moves.
func points(s *shoot.Shoot) map[string]geo.Vec3 {
	all := map[string]geo.Vec3{}
	for _, f := range s.Features() {
		if f.Name != "" && f.Shape == shoot.Point {
			all[f.Name] = f.Places[0]
		}
	}
	for i := range s.Subjects {
		x := &s.Subjects[i]
		if x.At != nil {
			p := s.Frame().ToSite(geo.LatLon(*x.At), 0)
			p.Z, _ = s.Ground().HeightAt(p.X, p.Y)
			all[x.Name] = p
		}
	}
	return all
}

// describe names a feature for a finding.
func describe(f *shoot.Feature) string {
	if f.Name != "" {
		return f.Name
	}
	return fmt.Sprintf("unnamed %s", f.Kind)
}
