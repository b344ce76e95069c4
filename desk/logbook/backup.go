package logbook

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

func hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Verification is what Verify found in a sound book.
type Verification struct {
	Entries   int64              `json:"entries"`
	Originals int64              `json:"originals"`
	Digest    string             `json:"digest"`            // of the last entry: written down elsewhere, it proves the whole book
	Missing   map[string][]int64 `json:"missing,omitempty"` // by device: ordinals that never arrived, at most 100 each
}

// Verify reads the whole book and proves that every entry is as it was written, that
// the order has no hole, and that each original still has its hash. It also names the
// entries that a device counted but never delivered.
func (l *Log) Verify(ctx context.Context) (Verification, error) {
	v := Verification{}
	if !l.shared {
		if err := l.pragmaChecks(ctx, ""); err != nil {
			return v, explain(err)
		}
	}
	tx, err := l.snapshot(ctx)
	if err != nil {
		return v, explain(err)
	}
	defer tx.Rollback()
	seen := map[string]map[int64]bool{}
	err = each(ctx, tx, func(e Entry) error {
		if e.Seq != v.Entries+1 {
			return fmt.Errorf("%w: entry number %d is missing", ErrDamaged, v.Entries+1)
		}
		if e.chain(v.Digest) != e.Digest {
			return fmt.Errorf("%w: entry %s (number %d) is not as it was written", ErrDamaged, e.ID, e.Seq)
		}
		v.Entries, v.Digest = e.Seq, e.Digest
		if e.Ordinal > 0 {
			if seen[e.Device] == nil {
				seen[e.Device] = map[int64]bool{}
			}
			seen[e.Device][e.Ordinal] = true
		}
		return nil
	}, " ORDER BY seq")
	if err != nil {
		return v, explain(err)
	}
	for device, have := range seen {
		var top int64
		for n := range have {
			top = max(top, n)
		}
		var missing []int64
		for n := int64(1); n < top && len(missing) < 100; n++ {
			if !have[n] {
				missing = append(missing, n)
			}
		}
		if len(missing) > 0 {
			if v.Missing == nil {
				v.Missing = map[string][]int64{}
			}
			v.Missing[device] = missing
		}
	}
	err = eachOriginal(ctx, tx, func(o Original, _ int64) error {
		v.Originals++
		if hash(o.Content) != o.SHA256 {
			return fmt.Errorf("%w: original %s (%s) has another hash", ErrDamaged, o.SHA256, o.Name)
		}
		return nil
	})
	return v, explain(err)
}

// snapshot begins a transaction that sees the book as it stands now, while others write.
func (l *Log) snapshot(ctx context.Context) (*sql.Tx, error) {
	if l.shared {
		return l.read.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	}
	return l.read.BeginTx(ctx, nil)
}

// eachOriginal yields the originals one at a time: they may be large.
func eachOriginal(ctx context.Context, tx *sql.Tx, yield func(o Original, keptMS int64) error) error {
	rows, err := tx.QueryContext(ctx, "SELECT sha256 FROM original ORDER BY sha256")
	if err != nil {
		return err
	}
	var all []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			rows.Close()
			return err
		}
		all = append(all, s)
	}
	rows.Close()
	if err := rows.Err(); err != nil {
		return err
	}
	for _, s := range all {
		o, kept := Original{SHA256: s}, int64(0)
		if err := tx.QueryRowContext(ctx, "SELECT name, kept_ms, content FROM original WHERE sha256 = $1", s).Scan(&o.Name, &kept, &o.Content); err != nil {
			return err
		}
		if err := yield(o, kept); err != nil {
			return err
		}
	}
	return nil
}

// Backup writes the whole book, as it stands at this moment, to a new SQLite logbook at
// path, whatever the store, while others go on writing. The copy is verified before it
// takes its name; an existing file is not overwritten.
func (l *Log) Backup(ctx context.Context, path string) (Verification, error) {
	if _, err := os.Lstat(path); err == nil {
		return Verification{}, fmt.Errorf("backup %s: the file is there already; choose another name", path)
	}
	partial := path + ".partial"
	sweep(partial)
	v, err := l.copyTo(ctx, partial)
	if err == nil {
		err = settleFile(partial)
	}
	if err == nil {
		err = os.Link(partial, path) // fails, where rename would overwrite
	}
	sweep(partial)
	if err == nil {
		err = syncFolder(filepath.Dir(path))
	}
	if err != nil {
		return v, fmt.Errorf("backup %s: %w", path, explain(err))
	}
	return v, nil
}

// sweep removes a SQLite file and what may lie beside it; what stays stops the next copy.
func sweep(path string) {
	for _, rest := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(path + rest)
	}
}

func (l *Log) copyTo(ctx context.Context, where string) (Verification, error) {
	to, err := Open(ctx, where, l.now)
	if err != nil {
		return Verification{}, err
	}
	v, err := l.copyInto(ctx, to)
	return v, errors.Join(err, to.Close())
}

// copyInto fills an empty book with all of this one, places and digests kept.
func (l *Log) copyInto(ctx context.Context, to *Log) (Verification, error) {
	from, err := l.snapshot(ctx)
	if err != nil {
		return Verification{}, err
	}
	defer from.Rollback()
	tx, err := to.begin(ctx)
	if err != nil {
		return Verification{}, err
	}
	defer tx.Rollback()
	if last, err := lastOf(ctx, tx); err != nil || last.Seq > 0 {
		return Verification{}, errors.Join(err, fmt.Errorf("%s holds %d entries already: restore into an empty place", to.where, last.Seq))
	}
	if err := each(ctx, from, func(e Entry) error { return insert(ctx, tx, &e) }, " ORDER BY seq"); err != nil {
		return Verification{}, err
	}
	if err := eachOriginal(ctx, from, func(o Original, kept int64) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO original (sha256, name, kept_ms, content) VALUES ($1, $2, $3, $4)", o.SHA256, o.Name, kept, o.Content)
		return err
	}); err != nil {
		return Verification{}, err
	}
	if err := tx.Commit(); err != nil {
		return Verification{}, err
	}
	return to.Verify(ctx)
}

// Restore fills the empty or absent logbook at where, a file or a PostgreSQL URL, from
// a backup file, and verifies it.
func Restore(ctx context.Context, backup, where string, now func() time.Time) (Verification, error) {
	if _, err := os.Stat(backup); err != nil {
		return Verification{}, fmt.Errorf("restore: %w", err)
	}
	from, err := Open(ctx, backup, now)
	if err != nil {
		return Verification{}, fmt.Errorf("restore: %w", err)
	}
	defer from.Close()
	if _, err := from.Verify(ctx); err != nil {
		return Verification{}, fmt.Errorf("restore: %s: %w", backup, err)
	}
	if strings.Contains(where, "://") {
		to, err := Open(ctx, where, now)
		if err != nil {
			return Verification{}, fmt.Errorf("restore: %w", err)
		}
		v, err := from.copyInto(ctx, to)
		if err = errors.Join(explain(err), to.Close()); err != nil {
			return v, fmt.Errorf("restore: %w", err)
		}
		return v, nil
	}
	v, err := from.Backup(ctx, where)
	if err != nil {
		return v, fmt.Errorf("restore: %w", err)
	}
	return v, nil
}

func settleFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	_ = d.Sync() // some file systems cannot sync a folder; the file itself is safe
	return d.Close()
}
