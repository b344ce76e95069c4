package logbook

import (
	"context"
	"time"
)

// OpenAtStep opens a book as a program of the past did, with the first steps only.
func OpenAtStep(ctx context.Context, where string, now func() time.Time, steps int) error {
	l, err := Open(ctx, where, now)
	if err != nil {
		return err
	}
	defer l.Close()
	for _, undo := range []string{"DROP TABLE IF EXISTS original", "DROP TABLE IF EXISTS entry", "DROP TABLE logbook_step"} {
		if _, err := l.write.ExecContext(ctx, undo); err != nil {
			return err
		}
	}
	if l.shared {
		if _, err := l.write.ExecContext(ctx, "DROP FUNCTION append_only CASCADE"); err != nil {
			return err
		}
	}
	return l.migrateTo(ctx, steps)
}

// Steps is how many steps this program knows.
func Steps(where string) int {
	return len((&Log{shared: len(where) > 8 && where[:8] == "postgres"}).steps())
}
