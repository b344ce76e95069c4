package day

import (
	"context"
	"fmt"
	"testing"
)

var Dbg func() []*Problem

func DebugRun(p *Problem, work int64) {
	m, err := compile(p)
	if err != nil {
		panic(err)
	}
	s := m.search(context.Background(), Options{Work: work}, nil)
	s.run()
	fmt.Println("flights", len(m.flights), "configs", len(m.configs), "score", s.best, "bound", s.bound, "root", s.b.root)
	var done set
	for _, st := range s.plan {
		done = done.union(m.flights[st.flight].mask)
	}
	s.b.trace()
	for i := range m.slates {
		if !done.has(i) || s.b.visit[i] != 1 {
			fmt.Println(p.Slates[i].Name, p.Slates[i].Priority, "after", p.Slates[i].After, "best", m.slates[i].best, "price", s.b.price[i], "visits", s.b.visit[i], done.has(i), m.whyNot[i], len(p.Slates[i].Windows))
		}
	}
}

func TestNothing(t *testing.T) {}
