package day_test

import (
	"bufio"
	"context"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"fieldfare/plan/day"
)

// readTour reads one instance of the travelling-salesman problem with time
// windows: full cost matrix, then node, earliest, latest.
func readTour(t testing.TB, file string) (cost [][]int64, windows [][2]int64) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	section := ""
	for line := range strings.Lines(string(data)) {
		fields := strings.Fields(line)
		if len(fields) == 0 {
			continue
		}
		if _, err := strconv.Atoi(fields[0]); err != nil {
			section = fields[0]
			continue
		}
		var row []int64
		for _, f := range fields {
			v, err := strconv.ParseInt(f, 10, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		switch section {
		case "EDGE_WEIGHT_SECTION":
			cost = append(cost, row)
		case "TIME_WINDOW_SECTION":
			windows = append(windows, [2]int64{row[1], row[2]})
		}
	}
	return cost, windows
}

// grain is the number of our seconds in one unit of an instance's time: one, or
// four where some arc costs nothing.
func grain(cost [][]int64) int64 {
	for i, row := range cost {
		for j, c := range row {
			if i > 0 && i != j && c == 0 {
				return 4
			}
		}
	}
	return 1
}

// tour makes a day of an instance: every node a slate with a build of its own,
// the costs the rig's change table, the depot the build at call and at wrap. A
// visit takes no time there and a second here; that second is taken off the arc
// that leaves it, so the travel cost is the changeover time plus a second per
// slate. Only after an arc that costs nothing it cannot be: there a tour of ours
// runs a second late, which the windows, open for grain-1 seconds more, forgive.
func tour(cost [][]int64, windows [][2]int64) *day.Problem {
	n, fine := len(cost), grain(cost)
	p := &day.Problem{StepS: 1, Weights: day.Weights{ChangePerS: 1}}
	p.Days = []day.Day{{Name: "day", StartS: windows[0][0] * fine, EndS: windows[0][1]*fine + fine - 1}}
	rig := day.Rig{Name: "rig", Setup: "0", WrapSetup: "0", Mains: true, MaxShots: 1}
	for i := range n {
		name := strconv.Itoa(i)
		p.Setups = append(p.Setups, day.Setup{Name: name})
		row := make([]int64, n)
		for j, c := range cost[i] {
			row[j] = c * fine
			if i > 0 && row[j] > 0 {
				row[j]--
			}
		}
		rig.ChangeS = append(rig.ChangeS, row)
		if i == 0 {
			continue
		}
		p.Slates = append(p.Slates, day.Slate{Name: name, Priority: day.Must, Value: 100,
			TakeS: 1, Takes: 1, Options: []day.Option{{Rig: "rig", Setup: name}},
			Windows: []day.Window{{FromS: windows[i][0] * fine, ToS: windows[i][1]*fine + fine}}})
	}
	p.Rigs = []day.Rig{rig}
	p.Units = []day.Unit{{Name: "unit", Rigs: []string{"rig"}}}
	return p
}

// travel is the cost of a plan's tour by the instance's own matrix, after
// checking that it visits every node in its window and is home in time.
func travel(t testing.TB, plan day.Plan, cost [][]int64, windows [][2]int64) int64 {
	t.Helper()
	at, now, sum := 0, windows[0][0], int64(0)
	seen := map[int]bool{}
	visit := func(next int) {
		sum += cost[at][next]
		now = max(now+cost[at][next], windows[next][0])
		if now > windows[next][1] {
			t.Errorf("node %d reached at %d, after %d", next, now, windows[next][1])
		}
		at = next
	}
	for _, s := range plan.Days[0].Sorties {
		next, err := strconv.Atoi(s.Shots[0].Slate)
		if err != nil || seen[next] {
			t.Errorf("visit to %q", s.Shots[0].Slate)
		}
		seen[next] = true
		visit(next)
	}
	visit(0)
	if len(seen) != len(cost)-1 {
		t.Errorf("%d of %d nodes visited", len(seen), len(cost)-1)
	}
	return sum
}

var prove = flag.Bool("prove", false, "go on to the proof after the best known cost is reached")

// long instances need many seeds or much work.
var long = map[string]bool{"rbg048a": true, "rbg021.6": true, "n60w100.001": true, "rbg041a": true}

var soak = flag.Bool("soak", false, "run the long tours too")

var tourWork = flag.Int64("tourwork", 5_000_000, "work for each of up to eight seeds on a tour")

// Dumas et al. 1995 and Ascheuer et al. 2001: the best known travel costs are
// reached on every instance by the search that plans the day.
func TestTours(t *testing.T) {
	t.Parallel()
	f, err := os.Open("testdata/tsptw/best-known.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for sc := bufio.NewScanner(f); sc.Scan(); {
		fields := strings.Split(sc.Text(), "\t")
		if fields[0] == "set" {
			continue
		}
		known, _ := strconv.ParseInt(fields[2], 10, 64)
		t.Run(fields[1], func(t *testing.T) {
			if long[fields[1]] && !*soak {
				t.Skip("long: run with -soak")
			}
			t.Parallel()
			cost, windows := readTour(t, filepath.Join("testdata/tsptw", fields[1]+".tsptw"))
			p := tour(cost, windows)
			fine := grain(cost)
			reached := int64(len(p.Slates))*(100_000+1) - known*fine - fine + 1
			start := time.Now()
			var plan day.Plan
			got := int64(math.MaxInt64)
			for seed := uint64(0); seed <= 8 && got > known; seed++ {
				work := *tourWork
				if seed == 8 {
					seed, work = 0, 6*work
				}
				ctx, cancel := context.WithCancel(context.Background())
				var err error
				plan, err = day.Solve(ctx, p, day.Options{Seed: seed, Work: work, Brief: true, Progress: func(im day.Improvement) {
					if im.Score >= reached && !*prove {
						cancel()
					}
				}})
				cancel()
				if err != nil {
					t.Fatal(err)
				}
				got = min(got, travel(t, plan, cost, windows))
				if work > *tourWork {
					break
				}
			}
			if got > known {
				t.Errorf("travel cost %d, best known %d", got, known)
			}
			t.Logf("cost %d, best known %d, bound %d below, proved %v, %+v, %v", got, known, plan.Bound-plan.Score, plan.Proved, plan.Search, time.Since(start))
		})
	}
}
