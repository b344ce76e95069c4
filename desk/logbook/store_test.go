package logbook_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fieldfare/desk/logbook"
)

var ctx = context.Background()

func entry(t testing.TB, id string, at time.Time, body logbook.Body) logbook.Entry {
	t.Helper()
	e, err := logbook.New(id, "A. Pilot", at, body)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func remark(t testing.TB, id, text string) logbook.Entry {
	return entry(t, id, noon, &logbook.Remark{Text: text})
}

func add(t testing.TB, l *logbook.Log, entries ...logbook.Entry) []logbook.Receipt {
	t.Helper()
	r, err := l.Append(ctx, entries...)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func verify(t testing.TB, l *logbook.Log) logbook.Verification {
	t.Helper()
	v, err := l.Verify(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestAppendIsIdempotentAndOrdered(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		l := open(t, where)
		batch := []logbook.Entry{remark(t, "entry-0001", "first\té 🎥 \\ \" <&>"), remark(t, "entry-0002", "second")}
		for i := range batch {
			batch[i].Device, batch[i].Ordinal = "tablet 1", int64(i+1)
		}
		for round := range 3 {
			for i, r := range add(t, l, batch...) {
				if r.Seq != int64(i+1) || r.Repeat != (round > 0) {
					t.Errorf("round %d: %+v", round, r)
				}
			}
		}
		// The same said with other spacing in the JSON is the same.
		spaced := batch[1]
		spaced.Body = json.RawMessage("{ \"text\":\n\"second\" }")
		if r := add(t, l, spaced); !r[0].Repeat {
			t.Error("a repeated entry was written again")
		}
		changed := remark(t, "entry-0002", "other words")
		if _, err := l.Append(ctx, remark(t, "entry-0003", "third"), changed); !errors.Is(err, logbook.ErrConflict) {
			t.Errorf("got %v", err)
		}
		got, err := l.Since(ctx, 0, 10)
		if err != nil || len(got) != 2 {
			t.Fatalf("a refused batch left something: %d entries, %v", len(got), err)
		}
		if string(got[0].Body) != string(batch[0].Body) || got[0].Device != "tablet 1" || !got[0].At.Equal(noon) || got[0].Written.IsZero() {
			t.Errorf("%+v", got[0])
		}
		if rest, _ := l.Since(ctx, 1, 10); len(rest) != 1 || rest[0].ID != "entry-0002" {
			t.Error("since 1:", rest)
		}
		add(t, l, func() logbook.Entry {
			e := remark(t, "entry-0005", "fifth came, third and fourth did not")
			e.Device, e.Ordinal = "tablet 1", 5
			return e
		}())
		if v := verify(t, l); v.Entries != 3 || fmt.Sprint(v.Missing["tablet 1"]) != "[3 4]" {
			t.Errorf("%+v", v)
		}
		l.Close()
		if again := open(t, where); verify(t, again).Entries != 3 {
			t.Error("lost on reopening")
		}
	})
}

func TestCorrectionsStandAndNothingIsLost(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		l := open(t, fresh())
		add(t, l, entry(t, "take-0001", noon, &logbook.Take{Slate: "4B", Take: 1}), remark(t, "remark-01", "r"))
		fix := func(id, corrects string, circled bool) logbook.Entry {
			e := entry(t, id, noon, &logbook.Take{Slate: "4B", Take: 1, Circled: circled})
			e.Corrects, e.Why = corrects, "script supervisor's notes"
			return e
		}
		absent := fix("take-0009", "take-0008", true)
		if _, err := l.Append(ctx, absent); !errors.Is(err, logbook.ErrAbsent) {
			t.Errorf("got %v", err)
		}
		add(t, l, fix("take-0002", "take-0001", true))
		standing, err := l.Standing(ctx, logbook.Filter{Kinds: []logbook.Kind{logbook.KindTake}})
		if err != nil || len(standing) != 1 {
			t.Fatal(standing, err)
		}
		if s := standing[0]; !s.Fact.(*logbook.Take).Circled || s.First != "take-0001" || s.Versions != 2 || s.Contested {
			t.Errorf("%+v", s)
		}
		add(t, l, fix("take-0003", "take-0001", false)) // a second person mends the same version
		standing, _ = l.Standing(ctx, logbook.Filter{Kinds: []logbook.Kind{logbook.KindTake}})
		if s := standing[0]; s.Fact.(*logbook.Take).Circled || !s.Contested {
			t.Errorf("%+v", s)
		}
		strike := entry(t, "strike-01", noon, &logbook.Strike{})
		strike.Corrects, strike.Why = "take-0003", "never flown"
		add(t, l, strike)
		if standing, _ = l.Standing(ctx, logbook.Filter{}); len(standing) != 1 || standing[0].Kind != logbook.KindRemark {
			t.Errorf("%+v", standing)
		}
		h, err := l.History(ctx, "take-0002")
		if err != nil || len(h) != 4 || h[0].ID != "take-0001" || h[3].ID != "strike-01" {
			t.Errorf("%v %v", h, err)
		}
		wrong := entry(t, "remark-02", noon, &logbook.Remark{Text: "x"})
		wrong.Corrects, wrong.Why = "take-0001", "w"
		if _, err := l.Append(ctx, wrong); err == nil || !strings.Contains(err.Error(), "a remark cannot correct a take") {
			t.Error(err)
		}
	})
}

func TestDevicesAreMergedInOrderOfHappening(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		l := open(t, fresh())
		on := func(device string, n int64, at time.Time) logbook.Entry {
			e := entry(t, fmt.Sprintf("%s-entry-%d", device, n), at, &logbook.Remark{Text: fmt.Sprint(device, n)})
			e.Device, e.Ordinal = device, n
			return e
		}
		add(t, l, on("b", 1, noon), on("b", 2, noon.Add(2*time.Minute)))
		add(t, l, on("a", 2, noon.Add(time.Minute)), on("a", 1, noon.Add(time.Minute)))
		standing, _ := l.Standing(ctx, logbook.Filter{})
		var order []string
		for _, s := range standing {
			order = append(order, s.Fact.(*logbook.Remark).Text)
		}
		if got := strings.Join(order, " "); got != "b1 a1 a2 b2" {
			t.Error(got)
		}
	})
}

// The stores themselves refuse to change or drop an entry.
func TestStoreIsAppendOnly(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		l := open(t, where)
		add(t, l, remark(t, "entry-0001", "x"))
		driver := "sqlite"
		if strings.HasPrefix(where, "postgres") {
			driver = "pgx"
		}
		db, err := sql.Open(driver, where)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		for _, q := range []string{"UPDATE entry SET body = '{}'", "DELETE FROM entry"} {
			if _, err := db.Exec(q); err == nil || !strings.Contains(err.Error(), "append-only") {
				t.Errorf("%s: %v", q, err)
			}
		}
	})
}

// Tampering behind the triggers' back is found by the chain of digests.
func TestTamperingIsFound(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		l := open(t, where)
		for i := range 5 {
			add(t, l, remark(t, fmt.Sprintf("entry-%04d", i), "x"))
		}
		l.Close()
		driver, drop := "sqlite", "DROP TRIGGER entry_stays"
		if strings.HasPrefix(where, "postgres") {
			driver, drop = "pgx", "DROP TRIGGER entry_stays ON entry"
		}
		db, err := sql.Open(driver, where)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []string{drop, `UPDATE entry SET body = '{"text":"y"}' WHERE seq = 2`} {
			if _, err := db.Exec(q); err != nil {
				t.Fatal(err)
			}
		}
		again := open(t, where)
		if _, err := again.Verify(ctx); !errors.Is(err, logbook.ErrDamaged) || !strings.Contains(err.Error(), "number 2") {
			t.Errorf("got %v", err)
		}
		again.Close()
		if _, err := db.Exec(`UPDATE entry SET author = 'B' WHERE seq = 5`); err != nil {
			t.Fatal(err)
		}
		db.Close()
		if _, err := logbook.Open(ctx, where, clock()); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("opening should find the last entry changed: %v", err)
		}
	})
}

func flown(t testing.TB, id string, data []byte) (logbook.Original, logbook.Entry) {
	sum := sha256.Sum256(data)
	name := hex.EncodeToString(sum[:])
	return logbook.Original{SHA256: name, Name: "flight.gpx", Content: data},
		entry(t, id, noon, &logbook.Flown{Sortie: "2026-06-21/1", SHA256: name, Name: "flight.gpx", Format: "gpx"})
}

func noise(n int, seed uint64) []byte {
	b := make([]byte, n)
	r := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16)})
	r.Read(b)
	return b
}

func TestBackupAndRestore(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		l := open(t, fresh())
		for i := range 50 {
			add(t, l, remark(t, fmt.Sprintf("entry-%04d", i), "x"))
		}
		o, e := flown(t, "flown-001", noise(300_000, 1))
		o.Name = "fl\xefght.gpx" // a name that is not UTF-8 must fail in neither store
		for range 2 {
			if _, err := l.Import(ctx, o, e); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := l.Import(ctx, logbook.Original{SHA256: o.SHA256, Content: o.Content[1:]}, e); err == nil {
			t.Error("a file with another hash was taken")
		}
		// Others go on writing while the backup runs.
		var wg sync.WaitGroup
		wg.Go(func() {
			for i := range 30 {
				if _, err := l.Append(ctx, remark(t, fmt.Sprintf("during-%04d", i), "x")); err != nil {
					t.Error(err)
				}
			}
		})
		file := filepath.Join(t.TempDir(), "backup.db")
		v, err := l.Backup(ctx, file)
		wg.Wait()
		if err != nil || v.Entries < 51 || v.Originals != 1 {
			t.Fatalf("%+v %v", v, err)
		}
		if _, err := l.Backup(ctx, file); err == nil || !strings.Contains(err.Error(), "there already") {
			t.Error("an older backup was overwritten:", err)
		}
		for _, target := range []string{fresh(), filepath.Join(t.TempDir(), "restored.db")} {
			w, err := logbook.Restore(ctx, file, target, clock())
			if err != nil || w.Digest != v.Digest || w.Entries != v.Entries {
				t.Fatalf("%+v %v", w, err)
			}
			r := open(t, target)
			back, err := r.Original(ctx, o.SHA256)
			if err != nil || !bytes.Equal(back.Content, o.Content) || back.Name != "fl?ght.gpx" {
				t.Error("the original came back otherwise:", err)
			}
			got, _ := r.Since(ctx, 0, 1000)
			want, _ := l.Since(ctx, 0, int(v.Entries))
			if a, b := mustJSON(got), mustJSON(want); a != b {
				t.Error("entries differ after restoring")
			}
			add(t, r, remark(t, "after-0001", "the book goes on"))
			verify(t, r)
			if _, err := logbook.Restore(ctx, file, target, clock()); err == nil {
				t.Error("a book in use was overwritten")
			}
		}
		if left, _ := filepath.Glob(filepath.Join(filepath.Dir(file), "*")); len(left) != 1 {
			t.Error("left behind:", left)
		}
	})
}

func mustJSON(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}

func TestDamagedAndForeignFilesAreRefused(t *testing.T) {
	dir := t.TempDir()
	foreign := filepath.Join(dir, "notes.txt")
	os.WriteFile(foreign, []byte("these are my notes\n"), 0o600)
	other := filepath.Join(dir, "other.db")
	db, _ := sql.Open("sqlite", other)
	db.Exec("CREATE TABLE t (x)")
	db.Close()
	broken := filepath.Join(dir, "broken.db")
	l := open(t, broken)
	for i := range 200 {
		add(t, l, remark(t, fmt.Sprintf("entry-%04d", i), strings.Repeat("x", 200)))
	}
	l.Close()
	data, _ := os.ReadFile(broken)
	for i := len(data) / 2; i < len(data)/2+3000; i++ {
		data[i] ^= 0x5a
	}
	os.WriteFile(broken, data, 0o600)
	cut := filepath.Join(dir, "cut.db")
	os.WriteFile(cut, data[:len(data)/2], 0o600)
	for where, want := range map[string]string{foreign: "is not a logbook", other: "another program", broken: "damaged", cut: "damaged", filepath.Join(dir, "no/such.db"): "is not there"} {
		l, err := logbook.Open(ctx, where, clock())
		if err == nil {
			l.Close()
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", filepath.Base(where), err, want)
		}
	}
	if got, _ := os.ReadFile(foreign); string(got) != "these are my notes\n" {
		t.Error("a foreign file was changed")
	}
}

func TestEntriesAreChecked(t *testing.T) {
	ok := remark(t, "entry-0001", "x")
	with := func(f func(e *logbook.Entry)) logbook.Entry { e := ok; f(&e); return e }
	body := func(k logbook.Kind, text string) logbook.Entry {
		return with(func(e *logbook.Entry) { e.Kind, e.Body = k, json.RawMessage(text) })
	}
	for want, e := range map[string]logbook.Entry{
		"8 to 64 letters":        with(func(e *logbook.Entry) { e.ID = "a b" }),
		`"by" is missing`:        with(func(e *logbook.Entry) { e.By = " " }),
		"control characters":     with(func(e *logbook.Entry) { e.By = "a\x1b[2J" }),
		"not of this age":        with(func(e *logbook.Entry) { e.At = time.Time{} }),
		"needs its reason":       with(func(e *logbook.Entry) { e.Corrects = "entry-0000" }),
		"cannot correct itself":  with(func(e *logbook.Entry) { e.Corrects, e.Why = e.ID, "x" }),
		"needs the device":       with(func(e *logbook.Entry) { e.Ordinal = 1 }),
		`kind "poem"`:            body("poem", `{}`),
		`unknown field "txet"`:   body(logbook.KindRemark, `{"txet":"x"}`),
		"follows its end":        body(logbook.KindRemark, `{"text":"x"} {}`),
		`"text" is missing`:      body(logbook.KindRemark, `null`),
		"take 0":                 body(logbook.KindTake, `{"slate":"4B","take":0}`),
		"lies before take_off":   body(logbook.KindSortie, `{"sortie":"1","aircraft":"a","pilot":"p","take_off":"2026-06-21T10:00:00Z","landing":"2026-06-21T09:00:00Z"}`),
		"less than two days":     body(logbook.KindSortie, `{"sortie":"1","aircraft":"a","pilot":"p","take_off":"2026-06-21T10:00:00Z","landing":"2026-07-21T09:00:00Z"}`),
		"off the globe":          body(logbook.KindSortie, `{"sortie":"1","aircraft":"a","pilot":"p","take_off":"2026-06-21T10:00:00Z","landing":"2026-06-21T10:09:00Z","lat_deg":91,"lon_deg":0}`),
		`shot class "easy"`:      body(logbook.KindSortie, `{"sortie":"1","aircraft":"a","pilot":"p","take_off":"2026-06-21T10:00:00Z","landing":"2026-06-21T10:09:00Z","shot_class":"easy"}`),
		"capacity_ah 0":          body(logbook.KindPack, `{"pack":"P1","cycles":3,"capacity_ah":0}`),
		`severity "bad"`:         body(logbook.KindIncident, `{"severity":"bad","what":"x","place":"x","aircraft":"x","pilot":"x"}`),
		"64 hexadecimal digits":  body(logbook.KindFlown, `{"sortie":"1","format":"gpx","sha256":"zz"}`),
		"expected them in order": body(logbook.KindLesson, `{"quantity":"q","subject":"s","new":3,"low":4,"high":5}`),
		"not UTF-8":              body(logbook.KindRemark, "{\"text\":\"\xff\"}"),
		"strike needs the entry": body(logbook.KindStrike, `{}`),
	} {
		if err := e.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	i := logbook.Incident{Injuries: "none"}
	if m := i.Missing(); len(m) != 13 {
		t.Errorf("missing facts: %v", m)
	}
}

func FuzzEntry(f *testing.F) {
	f.Add([]byte(`{"id":"entry-0001","kind":"take","at":"2026-06-21T10:00:00Z","by":"a","body":{"slate":"4B","take":1}}`))
	f.Add([]byte(`{"id":"entry-0001","kind":"pack","at":"2026-06-21T10:00:00Z","by":"a","body":{"pack":"P1","cycles":1,"capacity_ah":1e-300}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var e logbook.Entry
		if json.Unmarshal(data, &e) != nil || e.Check() != nil {
			return
		}
		if _, err := e.Decode(); err != nil {
			t.Fatalf("an entry passed its check but cannot be read: %v", err)
		}
	})
}
