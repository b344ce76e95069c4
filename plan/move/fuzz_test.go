package move_test

import (
	"testing"

	"github.com/goccy/go-yaml"

	"fieldfare/plan/move"
)

// Whatever is written in a shoot file, reading and checking it ends without a panic, and what
// passes the check can be given to Solve.
func FuzzSteps(f *testing.F) {
	f.Add(shot)
	for _, s := range everyMove {
		f.Add(s)
	}
	f.Add(`[{move: arc, sweep: 1e300 deg, subject: bell, bearing: 0 deg, radius: 1e-300 m}]`)
	f.Fuzz(func(t *testing.T, text string) {
		out, ok := decoded(text)
		if len(text) > 2000 || !ok || len(out) > 4 {
			return
		}
		if len(move.Validate(out)) > 0 {
			return
		}
		p := valley(out)
		s, err := move.Solve(p)
		if err == nil {
			sound(t, &p, &s.Path)
		}
	})
}

// decoded is what the library makes of a text. It panics on some odd tags ("!00 00"), which the
// shoot file's loader never gives it: that walks the tree itself.
func decoded(text string) (out []move.Step, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	return out, yaml.UnmarshalWithOptions([]byte(text), &out, yaml.Strict()) == nil
}
