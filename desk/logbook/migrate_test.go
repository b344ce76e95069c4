package logbook_test

import (
	"database/sql"
	"fmt"
	"strings"
	"testing"

	"fieldfare/desk/logbook"
)

// shape lists what a schema holds, for comparison.
func shape(t *testing.T, where string) string {
	t.Helper()
	driver, q := "sqlite", "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_master ORDER BY 1"
	if strings.HasPrefix(where, "postgres") {
		driver, q = "pgx", `SELECT table_name || '.' || column_name || ' ' || data_type FROM information_schema.columns WHERE table_schema = current_schema()
			UNION ALL SELECT tablename || ' ' || replace(indexdef, current_schema() || '.', '') FROM pg_indexes WHERE schemaname = current_schema()
			UNION ALL SELECT event_object_table || ' ' || trigger_name || ' ' || event_manipulation FROM information_schema.triggers WHERE trigger_schema = current_schema() ORDER BY 1`
	}
	db, err := sql.Open(driver, where)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query(q)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var b strings.Builder
	for rows.Next() {
		var s string
		rows.Scan(&s)
		b.WriteString(s + "\n")
	}
	return b.String()
}

// A book of every past step opens, and ends with the schema of a fresh one.
func TestMigratesFromEveryStep(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		first := fresh()
		open(t, first)
		want := shape(t, first)
		if len(strings.Split(want, "\n")) < 8 {
			t.Fatal("the shape says little:\n", want)
		}
		for step := range logbook.Steps(first) + 1 {
			t.Run(fmt.Sprint("from ", step), func(t *testing.T) {
				where := fresh()
				if err := logbook.OpenAtStep(ctx, where, clock(), step); err != nil {
					t.Fatal(err)
				}
				l := open(t, where)
				if got := shape(t, where); got != want {
					t.Errorf("got\n%s\nwant\n%s", got, want)
				}
				add(t, l, remark(t, "entry-0001", "x"))
				verify(t, l)
			})
		}
	})
}

func TestNewerBookIsRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		open(t, where).Close()
		driver := "sqlite"
		if strings.HasPrefix(where, "postgres") {
			driver = "pgx"
		}
		db, _ := sql.Open(driver, where)
		if _, err := db.Exec("INSERT INTO logbook_step (step, applied_ms) VALUES (99, 0)"); err != nil {
			t.Fatal(err)
		}
		db.Close()
		if _, err := logbook.Open(ctx, where, clock()); err == nil || !strings.Contains(err.Error(), "newer program") {
			t.Error(err)
		}
	})
}
