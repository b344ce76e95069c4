package exposure

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// Difference is a setting in which the cards of one scene part though they should agree.
type Difference struct {
	Severity string   // "stop", "caution" or "note"
	Scene    string   //
	What     string   // "frame rate"
	Values   []string // each as "25 fps: 4A, 4C", sorted
	Slates   []string // those that part from what most have, sorted
	Mend     string
}

func (d Difference) String() string {
	return fmt.Sprintf("scene %s: %s differs: %s; %s", d.Scene, d.What, strings.Join(d.Values, "; "), d.Mend)
}

// sameAngle is how far shutter angles in degrees may part by the rounding of cameras'
// shutter lists: 1/48 s and 1/50 s at 24 fps are 7° apart.
const sameAngle = 10.0

// Match compares the cards of each scene: frame rate and white balance must be equal and
// shutter angles alike; recording formats should be. The result is sorted by scene, and the
// order of the cards does not matter.
func Match(cards []Card) []Difference {
	scenes := map[string][]Card{}
	for _, c := range cards {
		scenes[c.Scene] = append(scenes[c.Scene], c)
	}
	names := make([]string, 0, len(scenes))
	for name := range scenes {
		names = append(names, name)
	}
	sort.Strings(names)
	var found []Difference
	for _, name := range names {
		group := scenes[name]
		differ := func(severity, what, mend string, value func(Card) string) {
			if d, ok := compare(group, value); ok {
				d.Severity, d.Scene, d.What, d.Mend = severity, name, what, mend
				found = append(found, d)
			}
		}
		differ(Caution, "frame rate", "shoot one scene at one frame rate unless slow motion is meant",
			func(c Card) string { return fmt.Sprintf("%.6g fps", c.FrameRate) })
		differ(Caution, "white balance", "keep one white balance for the scene and correct in grading", func(c Card) string {
			if c.WhiteBalanceK == 0 {
				return "not set"
			}
			return fmt.Sprintf("%.0f K", c.WhiteBalanceK)
		})
		low, high := math.Inf(1), math.Inf(-1)
		for _, c := range group {
			low, high = math.Min(low, c.ShutterAngleDeg), math.Max(high, c.ShutterAngleDeg)
		}
		if high-low > sameAngle+1e-9 {
			differ(Caution, "shutter angle", "keep one shutter angle so that movement looks alike",
				func(c Card) string { return fmt.Sprintf("%.0f°", c.ShutterAngleDeg) })
		}
		differ(Note, "recording format", "record one scene in one format", func(c Card) string { return c.Format })
	}
	return found
}

// compare groups the slates by value; ok is false when all agree.
func compare(cards []Card, value func(Card) string) (d Difference, ok bool) {
	slates := map[string][]string{}
	for _, c := range cards {
		slates[value(c)] = append(slates[value(c)], c.Slate)
	}
	if len(slates) < 2 {
		return d, false
	}
	values := make([]string, 0, len(slates))
	for v := range slates {
		sort.Strings(slates[v])
		values = append(values, v)
	}
	sort.Strings(values)
	usual := values[0]
	for _, v := range values {
		if len(slates[v]) > len(slates[usual]) {
			usual = v
		}
	}
	for _, v := range values {
		d.Values = append(d.Values, v+": "+strings.Join(slates[v], ", "))
		if v != usual {
			d.Slates = append(d.Slates, slates[v]...)
		}
	}
	sort.Strings(d.Slates)
	return d, true
}
