package move_test

import (
	"fieldfare/plan/move"
	"fmt"
	"testing"
	"time"
)

func TestDbg(t *testing.T) {
	p := longShot(7)
	t0 := time.Now()
	move.DebugTrace = true
	s, err := move.Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println(time.Since(t0), s.Path.DurationS(), s.Steps)
	for _, b := range s.Bounds {
		fmt.Println(b)
	}
	sound(t, &p, &s.Path)
	p = longShot(7.3)
	t0 = time.Now()
	s, err = s.Resolve(p)
	fmt.Println(time.Since(t0), s.Path.DurationS(), s.Steps)
}
