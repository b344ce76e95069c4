package logbook

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"strings"
)

//go:embed sql
var stepFiles embed.FS

// applicationID marks a SQLite file as a logbook: "FFLB".
const applicationID = 0x46464C42

// steps returns the numbered SQL steps in order; step n is file n.
func (l *Log) steps() []string {
	dir := "sql/sqlite"
	if l.shared {
		dir = "sql/postgres"
	}
	files, err := stepFiles.ReadDir(dir)
	if err != nil {
		panic(err) // embedded: cannot fail in a built program
	}
	var steps []string
	for _, f := range files { // ReadDir sorts by name
		data, _ := stepFiles.ReadFile(dir + "/" + f.Name())
		steps = append(steps, string(data))
	}
	return steps
}

func (l *Log) migrate(ctx context.Context) error { return l.migrateTo(ctx, len(l.steps())) }

// migrateTo applies the steps up to number to that the book has not seen, in one
// transaction. A book from a newer program is refused.
func (l *Log) migrateTo(ctx context.Context, to int) error {
	tx, err := l.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if l.shared {
		if _, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock(hashtext('fieldfare logbook ' || current_schema()))"); err != nil {
			return err
		}
	} else {
		var id, tables int
		if err := tx.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_master").Scan(&tables); err != nil {
			return err
		}
		if tables > 0 && id != applicationID {
			return fmt.Errorf("the file is a database of another program; choose another name")
		}
		if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, "CREATE TABLE IF NOT EXISTS logbook_step (step INTEGER PRIMARY KEY, applied_ms BIGINT NOT NULL)"); err != nil {
		return err
	}
	var done int
	if err := tx.QueryRowContext(ctx, "SELECT coalesce(max(step), 0) FROM logbook_step").Scan(&done); err != nil {
		return err
	}
	steps := l.steps()
	if done > len(steps) {
		return fmt.Errorf("the book was written by a newer program (step %d, this one knows %d): use that program", done, len(steps))
	}
	for n := done; n < to; n++ {
		if _, err := tx.ExecContext(ctx, steps[n]); err != nil {
			return fmt.Errorf("step %d: %w", n+1, err)
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO logbook_step (step, applied_ms) VALUES ($1, $2)", n+1, l.now().UnixMilli()); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// sound is the check at opening: the database's own, and the last link of the chain.
func (l *Log) sound(ctx context.Context) error {
	if !l.shared {
		if err := l.pragmaChecks(ctx, "entry"); err != nil {
			return err
		}
	}
	var tail []Entry
	if err := each(ctx, l.read, func(e Entry) error { tail = append(tail, e); return nil }, " ORDER BY seq DESC LIMIT 2"); err != nil {
		return err
	}
	if len(tail) == 0 {
		return nil
	}
	before := ""
	if len(tail) == 2 {
		before = tail[1].Digest
	}
	if tail[0].chain(before) != tail[0].Digest {
		return fmt.Errorf("%w: entry %s (number %d) is not as it was written", ErrDamaged, tail[0].ID, tail[0].Seq)
	}
	return nil
}

// wholeCheckBytes is the size up to which opening checks the whole file; above it, the
// entries and their indexes only, as each original is checked by its hash when read.
const wholeCheckBytes = 32 << 20

// pragmaChecks runs SQLite's own checks over the whole file or, for a large one, over
// the table named.
func (l *Log) pragmaChecks(ctx context.Context, table string) error {
	var pages, size int64
	if err := errors.Join(l.read.QueryRowContext(ctx, "PRAGMA page_count").Scan(&pages), l.read.QueryRowContext(ctx, "PRAGMA page_size").Scan(&size)); err != nil {
		return err
	}
	integrity := "PRAGMA integrity_check(5)"
	if table != "" && pages*size > wholeCheckBytes {
		integrity = "PRAGMA integrity_check(" + table + ")"
	}
	for _, check := range []string{integrity, "PRAGMA foreign_key_check"} {
		rows, err := l.read.QueryContext(ctx, check)
		if err != nil {
			return err
		}
		var bad []string
		cols, _ := rows.Columns()
		for rows.Next() {
			cells := make([]any, len(cols))
			for i := range cells {
				cells[i] = new(any)
			}
			if err := rows.Scan(cells...); err != nil {
				rows.Close()
				return err
			}
			if text := fmt.Sprint(*cells[0].(*any)); text != "ok" {
				bad = append(bad, text)
			}
		}
		rows.Close()
		if err := rows.Err(); err != nil {
			return err
		}
		if len(bad) > 0 {
			return fmt.Errorf("%w: %s: restore the last backup", ErrDamaged, strings.Join(bad, "; "))
		}
	}
	return nil
}
