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
func TestVar(t *testing.T) {
	for seed := range uint64(4) {
		for v := range 6 {
			p := randomDay(rand.New(rand.NewPCG(seed, 1)), size{40, 3, 8, 2, 2, 300})
			for i := range p.Slates {
				p.Slates[i].After = nil
			}
			if v >= 1 {
				p.Chargers[0].Slots = 8
				p.Chargers[0].SupplyW = 0
			}
			if v >= 2 {
				for i := range p.Packs {
					p.Packs[i].CoolS = 0
					p.Packs[i].RestS = 0
					p.Packs[i].ChargeW = 0
				}
				p.Chargers[0].SlotW = 100000
			}
			if v >= 3 {
				for i := range p.Packs {
					p.Packs[i].ChargeWh = p.Packs[i].CapacityWh
				}
			}
			if v >= 4 {
				for i := range p.Packs {
					p.Packs[i].Rigs = []string{"rig 1", "rig 2", "rig 3"}
				}
			}
			if v >= 5 {
				for i := range p.Rigs {
					p.Rigs[i].Mains = true
				}
			}
			pl, _ := day.Solve(context.Background(), p, day.Options{Work: 4e6})
			fmt.Print(pl.Score/1000, " ", pl.Bound/1000, "  |  ")
		}
		fmt.Println()
	}
}
