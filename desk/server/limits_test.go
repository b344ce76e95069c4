package server

import (
	"math"
	"testing"
)

// TestPathLimits: the limits beside the numbers along a path are those of the demo's files, and no number breaks one that the
// solver keeps.
func TestPathLimits(t *testing.T) {
	_, web := started(t)
	type part struct {
		TS       []float64   `json:"t_s"`
		SpeedMS  []float64   `json:"speed_m_s"`
		AccelMS2 []float64   `json:"acceleration_m_s2"`
		Limits   []PathLimit `json:"limits"`
	}
	path, _ := ask[part](t, "GET", web.URL+"/api/slates/4A/path", nil)
	want := map[string][2]float64{ofHeight + "/house rule": {5, math.NaN()}, ofHeight + "/valley permit": {math.NaN(), 120}, ofNearest + "/house rule": {5, math.NaN()}, ofMoving + "/house rule": {10, math.NaN()}}
	for _, l := range path.Limits {
		w, known := want[l.Of+"/"+l.Basis]
		if !known {
			continue
		}
		delete(want, l.Of+"/"+l.Basis)
		if l.AtLeast != nil && *l.AtLeast != w[0] || l.AtMost != nil && *l.AtMost != w[1] || (l.AtLeast == nil) != math.IsNaN(w[0]) || (l.AtMost == nil) != math.IsNaN(w[1]) {
			t.Errorf("%+v, want %v", l, w)
		}
	}
	if len(want) > 0 {
		t.Errorf("no limit for %v among %+v", want, path.Limits)
	}
	if len(path.AccelMS2) != len(path.TS) || len(path.SpeedMS) != len(path.TS) {
		t.Fatalf("%d times, %d accelerations", len(path.TS), len(path.AccelMS2))
	}
	for _, l := range path.Limits {
		var values []float64
		switch l.Of {
		case ofSpeed:
			values = path.SpeedMS
		case ofAcceleration:
			values = path.AccelMS2
		}
		for i, v := range values {
			if l.AtMost == nil || v > *l.AtMost*1.001 {
				t.Errorf("%s at %.2f s: %.3f against %+v", l.Of, path.TS[i], v, l)
			}
		}
	}
}
