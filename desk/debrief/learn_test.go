package debrief_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/debrief"
	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	"fieldfare/plan/shoot"
)

// book is a log in the making: entries in order of writing, a day apart.
type book struct {
	all []logbook.Standing
	day int
}

func (b *book) put(fact logbook.Body) {
	b.all = append(b.all, logbook.Standing{Entry: logbook.Entry{At: off.AddDate(0, 0, b.day), Seq: int64(len(b.all) + 1)}, Fact: fact})
	b.day++
}

// fly logs sorties that drew a share of their plan, each with the factor that its entry says; 0 says none.
func (b *book) fly(n int, planned, share, says float64) {
	for i := range n {
		p := planned + 5*float64(i)
		used := p * share * (1 + 0.001*float64(i%3-1))
		s := &logbook.Sortie{Sortie: fmt.Sprint(len(b.all)), Aircraft: "HB-1", TakeOff: off.AddDate(0, 0, b.day), EnergyPlannedWh: &p, EnergyUsedWh: &used}
		s.Landing = s.TakeOff.Add(10 * time.Minute)
		if says > 0 {
			s.PowerFactor = &says
		}
		b.put(s)
	}
}

func (b *book) accept(old, new float64) {
	b.put(&logbook.Lesson{Quantity: "power_factor", Subject: "HB-1", Old: old, New: new, Low: new, High: new})
}

// planned is a shoot whose rig has the factor; 0 has none.
func planned(factors ...float64) *shoot.Shoot {
	s := &shoot.Shoot{}
	for i, f := range factors {
		r := shoot.Rig{Name: fmt.Sprint("rig", i), Mark: "HB-1"}
		if f > 0 {
			if err := r.PowerFactor.UnmarshalText([]byte(fmt.Sprintf("%g %%", 100*f))); err != nil {
				panic(err)
			}
		}
		s.Rigs = append(s.Rigs, r)
	}
	return s
}

func factorOf(x debrief.Lessons) *lesson.Proposal {
	for i := range x.Proposals {
		if x.Proposals[i].Quantity == "power_factor" {
			return &x.Proposals[i]
		}
	}
	return nil
}

// Every flight here draws a known multiple of the model's energy, so that the new factor follows by hand:
// what was planned with a factor in force draws truth/factor of it, and new = old x found.
func TestFactorOnTheOneInForce(t *testing.T) {
	for _, c := range []struct {
		name       string
		write      func(b *book)
		shoot      *shoot.Shoot
		old, new   float64
		cases      int
		note, left string // in notes, in what is left out
	}{
		{"the first", func(b *book) { b.fly(6, 50, 1.1, 0) }, planned(0), 1, 1.1, 6, "", ""},
		{"all with the one in force", func(b *book) { b.fly(6, 50, 1.05, 0) }, planned(1.12), 1.12, 1.12 * 1.05, 6, "6 sorties do not say which factor their planned energy holds: 1.12 is taken", ""},
		{"a factor below 1, nobody knows since when", func(b *book) { b.fly(6, 50, 0.9, 0) }, planned(0.9), 0.9, 0.9, 6, "1 is taken", ""},
		{"the entries say so", func(b *book) { b.fly(6, 50, 1.05, 1.12) }, planned(1.12), 1.12, 1.12 * 1.05, 6, "", ""},
		{"too cautious", func(b *book) { b.fly(6, 50, 0.9, 1.12) }, planned(1.12), 1.12, 1.12 * 0.9, 6, "flights would be planned longer", ""},
		{"before and after it was accepted", func(b *book) { b.fly(6, 50, 1.2, 0); b.accept(1, 1.2); b.fly(6, 60, 1.2/1.12, 0) }, planned(1.12), 1.12, 1.2, 12, "6 sorties do not say which factor their planned energy holds: 1.12", ""},
		{"two changes", func(b *book) {
			b.fly(5, 50, 1.2, 0)
			b.accept(1, 1.1)
			b.fly(5, 60, 1.2/1.1, 0)
			b.accept(1.1, 1.15)
			b.fly(5, 55, 1.2/1.15, 0)
		}, planned(1.15), 1.15, 1.2, 15, "1.1 is taken", ""},
		{"accepted and never planned with", func(b *book) { b.fly(6, 50, 1.2, 0); b.accept(1, 1.2); b.fly(6, 60, 1.2, 0) }, planned(0), 1, 1.2, 12, "", ""},
		{"without the shoot, after it was accepted", func(b *book) { b.fly(6, 50, 1.2, 0); b.accept(1, 1.2); b.fly(2, 60, 1, 0) }, nil, 1.2, 1.2, 6, "1 is taken", "name the shoot that has the aircraft, or correct its entry with power_factor="},
		{"rigs that differ", func(b *book) { b.fly(6, 50, 1.2, 1); b.fly(2, 50, 1.2, 0) }, planned(0, 1.12), 1.12, 1.2, 6, "", "the rigs rig0, rig1 have different factors"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b book
			c.write(&b)
			p := factorOf(debrief.Learn(b.all, c.shoot))
			if p == nil {
				t.Fatal("no factor is offered")
			}
			if math.Abs(p.Old-c.old) > 1e-9 || math.Abs(p.New-c.new) > 0.001 || math.Abs(*p.Found-c.new/c.old) > 0.001 || p.Cases != c.cases || !(p.Low < p.New && p.New < p.High && p.High < p.PlanFor) {
				t.Errorf("%+v, found %g", p, *p.Found)
			}
			notes, left := strings.Join(p.Notes, "; "), strings.Join(p.LeftOut, "; ")
			if !strings.Contains(notes, c.note) || c.note == "" && notes != "" || !strings.Contains(left, c.left) || c.left == "" && left != "" {
				t.Errorf("notes %q, left out %q", notes, left)
			}
			if c.shoot != nil && len(p.Rigs) != len(c.shoot.Rigs) {
				t.Error(p.Rigs)
			}
		})
	}
}

// A sortie written into the book before a factor was accepted was planned before it, whatever a clock says.
func TestOrderInTheBookComesBeforeClocks(t *testing.T) {
	var b book
	b.day = 400 // the aircraft's clock is ahead
	b.fly(6, 50, 1.2, 0)
	b.day = 0
	b.accept(1, 1.2)
	p := factorOf(debrief.Learn(b.all, planned(1.2)))
	if p == nil || math.Abs(p.New-1.2) > 0.001 || math.Abs(*p.Found-1) > 0.001 {
		t.Errorf("%+v", p)
	}
}
