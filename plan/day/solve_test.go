package day_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"fieldfare/plan/day"
)

func TestProbe(t *testing.T) {
	for seed := range uint64(3) {
		for _, z := range []size{{8, 2, 3, 1, 1, 300}, {12, 2, 4, 1, 2, 300}, {14, 2, 4, 1, 1, 60}, {40, 3, 8, 2, 2, 60}, {40, 3, 8, 2, 2, 300}} {
			p := randomDay(rand.New(rand.NewPCG(seed, 1)), z)
			start := time.Now()
			plan, err := day.Solve(context.Background(), p, day.Options{Progress: func(im day.Improvement) {
				if testing.Verbose() {
					fmt.Println("   ", im, time.Since(start))
				}
			}})
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			for _, d := range plan.Days {
				for _, s := range d.Sorties {
					n += len(s.Shots)
				}
			}
			fmt.Println(z, n, plan.Score, plan.Bound, plan.Gap, plan.Proved, plan.Search, time.Since(start))
		}
	}
}
