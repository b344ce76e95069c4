package logbook_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"fieldfare/desk/logbook"
	"pgregory.net/rapid"
)

// Any mixture of new entries, corrections and strikes, in any batches and with repeats,
// stands as a plain list kept beside it says.
func TestStandingAgainstModel(t *testing.T) {
	dir, books := t.TempDir(), 0
	rapid.Check(t, func(r *rapid.T) {
		books++
		l := open(t, filepath.Join(dir, fmt.Sprintf("%d.db", books)))
		defer l.Close()
		type matter struct {
			latest string // id
			text   string
			struck bool
		}
		var model []*matter
		var all []logbook.Entry
		for n := range rapid.IntRange(1, 25).Draw(r, "n") {
			id := fmt.Sprintf("entry-%04d", n)
			text := rapid.StringMatching(`[a-z]{1,8}`).Draw(r, "text")
			e := remark(t, id, text)
			what := rapid.IntRange(0, 3).Draw(r, "what")
			if what < 2 || len(model) == 0 {
				model = append(model, &matter{latest: id, text: text})
			} else {
				m := model[rapid.IntRange(0, len(model)-1).Draw(r, "of")]
				if what == 3 && !m.struck {
					e = entry(t, id, noon, &logbook.Strike{})
					m.struck = true
				} else {
					m.text, m.struck = text, false
				}
				e.Corrects, e.Why = m.latest, "as seen"
				m.latest = id
			}
			all = append(all, e)
		}
		cut := rapid.IntRange(0, len(all)).Draw(r, "cut")
		again := rapid.IntRange(0, cut).Draw(r, "again")
		add(t, l, all[:cut]...)
		add(t, l, all[again:]...) // the tail of the first batch comes twice
		standing, err := l.Standing(ctx, logbook.Filter{})
		if err != nil {
			r.Fatal(err)
		}
		want := map[string]string{}
		for _, m := range model {
			if !m.struck {
				want[m.latest] = m.text
			}
		}
		if len(standing) != len(want) {
			r.Fatalf("%d stand, want %d", len(standing), len(want))
		}
		for _, s := range standing {
			if s.Fact.(*logbook.Remark).Text != want[s.ID] || s.Contested {
				r.Fatalf("%+v, want %q", s, want[s.ID])
			}
		}
		if v := verify(t, l); int(v.Entries) != len(all) {
			r.Fatalf("%d entries, %d were written", v.Entries, len(all))
		}
	})
}
