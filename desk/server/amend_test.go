package server

import (
	"os"
	"reflect"
	"sort"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"pgregory.net/rapid"
)

const demo = "../../examples/last-milk-run"

func demoFile(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(demo + "/shoot.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// leaves lists the places of all single values.
func leaves(v any, at place, out *[]place) {
	switch x := v.(type) {
	case map[string]any:
		for k, v := range x {
			leaves(v, append(append(place(nil), at...), k), out)
		}
	case []any:
		for i, v := range x {
			leaves(v, append(append(place(nil), at...), string(rune('0'+i%10))), out)
			_ = i
			if i >= 9 {
				break // one digit is enough here
			}
		}
	default:
		*out = append(*out, at)
	}
}

// TestAmendEveryValue: every single value of the demo can be changed, and only its line changes. One in three is
// tried, all of them in the soak.
func TestAmendEveryValue(t *testing.T) {
	source := demoFile(t)
	v, err := tree(source)
	if err != nil {
		t.Fatal(err)
	}
	var all []place
	leaves(v, nil, &all)
	if len(all) < 300 {
		t.Fatalf("only %d values found", len(all))
	}
	sort.Slice(all, func(i, j int) bool { return all[i].String() < all[j].String() })
	step := 3
	if os.Getenv("FIELDFARE_SOAK") != "" {
		step = 1
	}
	for i := 0; i < len(all); i += step {
		at := all[i]
		out, err := amend(source, at, "something else")
		if err != nil {
			t.Errorf("%s: %v", at, err)
			continue
		}
		a, b := strings.Split(string(source), "\n"), strings.Split(string(out), "\n")
		differ := 0
		for i := range min(len(a), len(b)) {
			if a[i] != b[i] {
				differ++
			}
		}
		if len(a) != len(b) || differ != 1 {
			t.Errorf("%s: %d lines differ of %d and %d", at, differ, len(a), len(b))
		}
	}
}

func TestAmend(t *testing.T) {
	const source = `# head
title: The run # said so
house: {wind: 8 m/s, gust: "11 m/s"} # ours
slates:
  - slate: 1A # first
    lens: Tern 25
    light: [daylight, "no sun, ever"]
    moves:
      - {move: pan, height: 16 m, start: {size: 22 %, place: "left third, lower third"}}
  # between
  - slate: 1B
    takes: 2
rules: [house]
`
	for _, x := range []struct {
		at    string
		value any
		want  string // the line as it must then stand
	}{
		{"title", "An end: soon", `title: "An end: soon" # said so`},
		{"house/wind", "25 kt", `house: {wind: 25 kt, gust: "11 m/s"} # ours`},
		{"house/gust", "12 m/s", `house: {wind: 8 m/s, gust: 12 m/s} # ours`},
		{"house/reserve", "25 %", `house: {wind: 8 m/s, gust: "11 m/s", reserve: 25 %} # ours`},
		{"house/wind", nil, `house: {gust: "11 m/s"} # ours`},
		{"house/gust", nil, `house: {wind: 8 m/s} # ours`},
		{"slates/1A/light", []any{"side light"}, `    light: [side light]`},
		{"slates/1A/moves/0/start/size", "30 %", `      - {move: pan, height: 16 m, start: {size: 30 %, place: "left third, lower third"}}`},
		{"slates/1A/moves/0/height", "400 ft", `      - {move: pan, height: 400 ft, start: {size: 22 %, place: "left third, lower third"}}`},
		{"slates/1B/takes", "3", `    takes: 3`},
		{"slates/1B/lens", "Tern 12", `    lens: Tern 12`},
		{"slates/1A/slate", "7C", `  - slate: 7C # first`},
	} {
		at, _ := parsePlace(x.at)
		out, err := amend([]byte(source), at, x.value)
		if err != nil {
			t.Errorf("%s: %v", x.at, err)
			continue
		}
		if !strings.Contains(string(out), x.want+"\n") {
			t.Errorf("%s: want line %q in\n%s", x.at, x.want, out)
		}
		if strings.Count(string(out), "#") != strings.Count(source, "#") {
			t.Errorf("%s: a comment was lost", x.at)
		}
	}
	if _, err := amend([]byte("a:\n  - x\n  - y\n"), place{"a"}, "z"); err == nil {
		t.Error("a list on several lines was replaced by a word")
	}
}

func TestAdd(t *testing.T) {
	source := demoFile(t)
	out, err := add(source, "slates", "slate: 9A\ntitle: New\nmoves:\n  - {move: static, height: 10 m}")
	if err != nil {
		t.Fatal(err)
	}
	var got struct{ Slates []struct{ Slate string } }
	if err := yaml.Unmarshal(out, &got); err != nil || got.Slates[len(got.Slates)-1].Slate != "9A" {
		t.Fatalf("%v %v", err, got)
	}
	if out, err = add(source, "packs", "{name: P9, model: P22-16}"); err != nil || !strings.Contains(string(out), "P6, model: P22-8, cycles: 21}\n  - {name: P9, model: P22-16}\n") {
		t.Errorf("%v", err)
	}
}

// TestAmendAnything: whatever text is put at a place is read back from it, and nothing else changes.
func TestAmendAnything(t *testing.T) {
	source := demoFile(t)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		at := rapid.SampledFrom([]place{{"title"}, {"house", "wind"}, {"slates", "1A", "moves", "0", "height"}, {"crew", "Ines Aldrow", "rung"}, {"charging", "source"}}).Draw(t, "place")
		out, err := amend(source, at, text)
		if err != nil {
			return // refused is right; changed wrongly is not
		}
		v, err := tree(out)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := reread(text)
		if got, _ := at.value(v); !reflect.DeepEqual(got, want) {
			t.Fatalf("%q came back as %q", text, got)
		}
	})
}

func FuzzAmend(f *testing.F) {
	f.Add(demoFile(f), "slates/1A/lens", "Tern 12")
	f.Add([]byte("a: {b: 'c''d', e: [f, \"g\"]}\n"), "a/b", "x, y")
	f.Add([]byte("a:\n- b: c\n"), "a/0/b", "#")
	f.Fuzz(func(t *testing.T, source []byte, where, value string) {
		at, err := parsePlace(where)
		if err != nil {
			return
		}
		amend(source, at, value) // must not panic; what it returns it has checked itself
	})
}
