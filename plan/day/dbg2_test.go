package day_test

import (
	"context"
	"fieldfare/plan/day"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"
)

func TestDbg(t *testing.T) {
	for _, z := range []size{{14, 2, 4, 1, 1, 60}, {40, 3, 8, 2, 2, 300}, {40, 3, 8, 2, 2, 60}} {
		var sum, sum2, bd int64
		start := time.Now()
		for seed := range uint64(6) {
			p := randomDay(rand.New(rand.NewPCG(seed, 1)), z)
			pl, _ := day.Solve(context.Background(), p, day.Options{Work: 5e6})
			pl2, _ := day.Solve(context.Background(), p, day.Options{Work: 1e6})
			fmt.Print(pl.Score/1000, " ", pl.Search.Rounds, "   ")
			sum += pl.Score
			sum2 += pl2.Score
			bd += pl.Bound
		}
		fmt.Println(z, "1M", sum2/1000, "5M", sum/1000, "bound", bd/1000, time.Since(start))
	}
}
func TestLong(t *testing.T) {
	for seed := range uint64(6) {
		p := randomDay(rand.New(rand.NewPCG(seed, 1)), size{40, 3, 8, 2, 2, 300})
		pl, _ := day.Solve(context.Background(), p, day.Options{Work: 1e8})
		fmt.Println(pl.Score/1000, " ", pl.Search.Rounds, pl.Bound/1000)
		for _, l := range pl.LeftOut {
			for _, s := range p.Slates {
				if s.Name == l.Slate {
					fmt.Print(l, " ", s.After, " ", s.Windows, "\n")
				}
			}
		}
	}
}
