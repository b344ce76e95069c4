package day_test

import (
	"bufio"
	"context"
	"flag"
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

// Dumas et al. 1995 and Ascheuer et al. 2001: the best known travel cost is
// reached on every instance by the search that plans the day, with its default
// work. Run with -v it prints the table; with -prove it goes on to the proof.
func TestTSPTW(t *testing.T) {
	f, err := os.Open("testdata/tsptw/best-known.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	t.Logf("%-12s %5s %10s %6s %8s %9s %7s %6s", "instance", "nodes", "best known", "ours", "s to best", "work", "gap", "proved")
	count, slow := 0, 0
	var sum, longest time.Duration
	for sc := bufio.NewScanner(f); sc.Scan(); {
		fields := strings.Split(sc.Text(), "\t")
		if fields[0] == "set" {
			continue
		}
		known, err := strconv.ParseInt(fields[2], 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		cost, windows := readTour(t, filepath.Join("testdata/tsptw", fields[1]+".tsptw"))
		p := tour(cost, windows)
		fine := grain(cost)
		reached := int64(len(p.Slates))*(100_000+1) - known*fine - fine + 1
		start := time.Now()
		var best time.Duration
		ctx, cancel := context.WithCancel(context.Background())
		plan, err := day.Solve(ctx, p, day.Options{Brief: true, Progress: func(im day.Improvement) {
			best = time.Since(start)
			if im.Score >= reached && !*prove {
				cancel()
			}
		}})
		cancel()
		if err != nil {
			t.Fatal(err)
		}
		got := travel(t, plan, cost, windows)
		if got > known {
			t.Errorf("%s: travel cost %d, best known %d", fields[1], got, known)
		}
		if count, sum, longest = count+1, sum+best, max(longest, best); best > time.Second {
			slow++
		}
		gap := 100 * float64(plan.Bound-plan.Score) / float64(known*fine)
		t.Logf("%-12s %5d %10d %6d %8.2f %9d %6.2f%% %6v", fields[1], len(cost)-1, known, got, best.Seconds(), plan.Search.BestWork, gap, plan.Proved)
	}
	t.Logf("%d tours, %.1f s to the best of all, %.2f s the longest, %d above 1 s", count, sum.Seconds(), longest.Seconds(), slow)
}
