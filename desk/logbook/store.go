package logbook

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	_ "github.com/jackc/pgx/v5/stdlib" // driver "pgx"
	"modernc.org/sqlite"
)

// Log is an open logbook. Its methods may be called from several goroutines, and
// several processes may have the same logbook open.
type Log struct {
	write, read *sql.DB
	shared      bool // PostgreSQL
	where       string
	now         func() time.Time
}

// busyMS is how long a locked SQLite book is waited for.
const busyMS = 20_000

// The errors that a caller may want to tell apart, with errors.Is.
var (
	ErrConflict = errors.New("another entry already has this id")
	ErrAbsent   = errors.New("no such entry")
	ErrFull     = errors.New("no room left to write")
	ErrDamaged  = errors.New("the logbook is damaged")
)

// Open opens the logbook in the file where, made if absent, or in the PostgreSQL
// database whose URL (postgres://...) where is. It brings the schema up to date and
// checks the book's integrity; a damaged book is not opened. now stamps new entries.
func Open(ctx context.Context, where string, now func() time.Time) (*Log, error) {
	l := &Log{where: where, now: now}
	if strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://") {
		db, err := sql.Open("pgx", where)
		if err != nil {
			return nil, fmt.Errorf("logbook URL: %w", err)
		}
		db.SetMaxOpenConns(8)
		l.write, l.read, l.shared = db, db, true
		l.where = "at " + hideSecret(where)
	} else {
		if err := notForeign(where); err != nil {
			return nil, err
		}
		dsn := "file:" + (&url.URL{Path: filepath.ToSlash(where)}).EscapedPath() +
			fmt.Sprintf("?_pragma=busy_timeout(%d)", busyMS) + "&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_pragma=temp_store(memory)"
		l.write = sql.OpenDB(patient{dsn + "&_txlock=immediate"})
		l.read = sql.OpenDB(patient{dsn})
		l.write.SetMaxOpenConns(1)
		l.read.SetMaxOpenConns(4)
	}
	err := l.migrate(ctx)
	if err == nil {
		err = l.sound(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("logbook %s: %w", l.where, errors.Join(explain(err), l.Close()))
	}
	return l, nil
}

// patient opens connections. Where another process turns the journal to WAL or closes it, SQLite
// answers busy at once; it is asked again for as long as busy_timeout waits everywhere else.
type patient struct{ dsn string }

// Driver implements driver.Connector.
func (patient) Driver() driver.Driver { return &sqlite.Driver{} }

// Connect implements driver.Connector.
func (p patient) Connect(ctx context.Context) (driver.Conn, error) {
	for end := time.Now().Add(busyMS * time.Millisecond); ; {
		conn, err := p.Driver().Open(p.dsn)
		var lite *sqlite.Error
		if !errors.As(err, &lite) || lite.Code()&0xff != 5 || time.Now().After(end) { // SQLITE_BUSY
			return conn, err
		}
		select {
		case <-ctx.Done():
			return nil, err
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// notForeign refuses a file that is something else before SQLite touches it.
func notForeign(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		if dir := filepath.Dir(path); dir != "." {
			if _, err := os.Stat(dir); err != nil {
				return fmt.Errorf("logbook %s: the folder %s is not there", path, dir)
			}
		}
		return nil
	}
	if err != nil {
		return fmt.Errorf("logbook: %w", err)
	}
	defer f.Close()
	head := make([]byte, 16)
	n, _ := f.Read(head)
	if n > 0 && string(head[:n]) != "SQLite format 3\x00"[:n] {
		return fmt.Errorf("logbook %s: the file is not a logbook; choose another name or restore a backup", path)
	}
	return nil
}

func hideSecret(where string) string {
	if u, err := url.Parse(where); err == nil {
		return u.Redacted()
	}
	return "postgres://..."
}

// Close ends the use of the logbook.
func (l *Log) Close() error {
	err := l.read.Close()
	if l.write != l.read {
		err = errors.Join(err, l.write.Close())
	}
	return err
}

// Where names the logbook for people, without passwords.
func (l *Log) Where() string { return l.where }

// begin starts the one writing transaction that may run at a time.
func (l *Log) begin(ctx context.Context) (*sql.Tx, error) {
	tx, err := l.write.BeginTx(ctx, nil)
	if err == nil && l.shared {
		// One writer at a time makes the order of seq the order of commit, so that a
		// reader who asks for what came after seq n never misses a late one.
		if _, err = tx.ExecContext(ctx, "LOCK TABLE entry IN EXCLUSIVE MODE"); err != nil {
			tx.Rollback()
		}
	}
	return tx, err
}

// Receipt acknowledges one entry: once it is returned the entry is on the disk.
type Receipt struct {
	ID     string `json:"id"`
	Seq    int64  `json:"seq"`
	Repeat bool   `json:"repeat,omitempty"` // it was in the book already, word for word
}

// Append writes entries in the order given, all or none. An entry that the book has
// already, word for word, is acknowledged again and not doubled; the same id with other
// content is ErrConflict; a correction of an entry not in the book is ErrAbsent.
func (l *Log) Append(ctx context.Context, entries ...Entry) ([]Receipt, error) {
	return l.append(ctx, nil, entries)
}

// Original is an imported file as it came.
type Original struct {
	SHA256  string
	Name    string
	Content []byte
}

// Import writes an original and the entry that tells of it, both or neither.
func (l *Log) Import(ctx context.Context, o Original, e Entry) (Receipt, error) {
	body, err := e.Decode()
	if err != nil {
		return Receipt{}, err
	}
	f, ok := body.(*Flown)
	switch {
	case !ok:
		return Receipt{}, fmt.Errorf("an import is told by an entry of kind %s, not %s", KindFlown, e.Kind)
	case f.SHA256 != hash(o.Content) || o.SHA256 != f.SHA256:
		return Receipt{}, fmt.Errorf("the file's hash is %s, the entry says %s", hash(o.Content), f.SHA256)
	}
	o.Name = strings.ReplaceAll(strings.ToValidUTF8(o.Name, "?"), "\x00", "?") // a file system may name it in other bytes
	r, err := l.append(ctx, &o, []Entry{e})
	if err != nil {
		return Receipt{}, err
	}
	return r[0], nil
}

func (l *Log) append(ctx context.Context, o *Original, entries []Entry) ([]Receipt, error) {
	for i := range entries {
		if err := entries[i].Check(); err != nil {
			return nil, err
		}
		if err := entries[i].settle(); err != nil {
			return nil, err
		}
	}
	receipts, err := l.appendSettled(ctx, o, entries)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: nothing was written: %w", l.where, explain(err))
	}
	return receipts, nil
}

func (l *Log) appendSettled(ctx context.Context, o *Original, entries []Entry) ([]Receipt, error) {
	tx, err := l.begin(ctx)
	if err != nil {
		return nil, err
	}
	defer tx.Rollback()
	if o != nil {
		if _, err := tx.ExecContext(ctx, "INSERT INTO original (sha256, name, kept_ms, content) VALUES ($1, $2, $3, $4) ON CONFLICT (sha256) DO NOTHING",
			o.SHA256, o.Name, l.now().UnixMilli(), o.Content); err != nil {
			return nil, err
		}
	}
	last, err := lastOf(ctx, tx)
	if err != nil {
		return nil, err
	}
	receipts := make([]Receipt, len(entries))
	for i := range entries {
		e := entries[i]
		old, err := scanOne(tx.QueryRowContext(ctx, selectEntry+" WHERE id = $1", e.ID))
		switch {
		case err == nil && old.same(&e):
			receipts[i] = Receipt{e.ID, old.Seq, true}
			continue
		case err == nil:
			return nil, fmt.Errorf("entry %s: %w with other content; make a new id, or correct the entry", e.ID, ErrConflict)
		case !errors.Is(err, sql.ErrNoRows):
			return nil, err
		}
		if e.Corrects != "" {
			var kind Kind
			err := tx.QueryRowContext(ctx, "SELECT kind FROM entry WHERE id = $1", e.Corrects).Scan(&kind)
			if errors.Is(err, sql.ErrNoRows) {
				return nil, fmt.Errorf("entry %s corrects %s: %w; send that one first", e.ID, e.Corrects, ErrAbsent)
			}
			if err != nil {
				return nil, err
			}
			if kind != e.Kind && kind != KindStrike && e.Kind != KindStrike {
				return nil, fmt.Errorf("entry %s: a %s cannot correct a %s", e.ID, e.Kind, kind)
			}
		}
		e.Seq, e.Written = last.Seq+1, l.now().UTC().Truncate(time.Millisecond)
		e.Digest = e.chain(last.Digest)
		if err := insert(ctx, tx, &e); err != nil {
			return nil, err
		}
		last, receipts[i] = e, Receipt{e.ID, e.Seq, false}
	}
	return receipts, tx.Commit()
}

type querier interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
}

const selectEntry = "SELECT seq, id, kind, at_ms, author, device, ordinal, written_ms, coalesce(corrects, ''), why, body, digest FROM entry"

func insert(ctx context.Context, tx *sql.Tx, e *Entry) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO entry (seq, id, kind, at_ms, author, device, ordinal, written_ms, corrects, why, body, digest) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
		e.Seq, e.ID, string(e.Kind), e.At.UnixMilli(), e.By, e.Device, e.Ordinal, e.Written.UnixMilli(), sql.NullString{String: e.Corrects, Valid: e.Corrects != ""}, e.Why, string(e.Body), e.Digest)
	return err
}

func scan(row interface{ Scan(...any) error }) (e Entry, err error) {
	var at, written int64
	var body string
	err = row.Scan(&e.Seq, &e.ID, &e.Kind, &at, &e.By, &e.Device, &e.Ordinal, &written, &e.Corrects, &e.Why, &body, &e.Digest)
	e.At, e.Written, e.Body = time.UnixMilli(at).UTC(), time.UnixMilli(written).UTC(), json.RawMessage(body)
	return e, err
}

func scanOne(row *sql.Row) (Entry, error) { return scan(row) }

func lastOf(ctx context.Context, q querier) (Entry, error) {
	e, err := scanOne(q.QueryRowContext(ctx, selectEntry+" ORDER BY seq DESC LIMIT 1"))
	if errors.Is(err, sql.ErrNoRows) {
		return Entry{}, nil
	}
	return e, err
}

func each(ctx context.Context, q querier, yield func(Entry) error, where string, args ...any) error {
	rows, err := q.QueryContext(ctx, selectEntry+where, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		e, err := scan(rows)
		if err == nil {
			err = yield(e)
		}
		if err != nil {
			return err
		}
	}
	return rows.Err()
}

// Since returns up to limit entries written after place seq, in order of writing.
// Asking again from the last one's Seq misses none.
func (l *Log) Since(ctx context.Context, seq int64, limit int) ([]Entry, error) {
	var out []Entry
	err := each(ctx, l.read, func(e Entry) error { out = append(out, e); return nil }, " WHERE seq > $1 ORDER BY seq LIMIT $2", seq, limit)
	return out, explain(err)
}

// Get returns one entry as written.
func (l *Log) Get(ctx context.Context, id string) (Entry, error) {
	e, err := scanOne(l.read.QueryRowContext(ctx, selectEntry+" WHERE id = $1", id))
	if errors.Is(err, sql.ErrNoRows) {
		return e, fmt.Errorf("entry %s: %w", id, ErrAbsent)
	}
	return e, explain(err)
}

// Original returns an imported file, its content checked against its hash.
func (l *Log) Original(ctx context.Context, sha256 string) (Original, error) {
	o := Original{SHA256: sha256}
	err := l.read.QueryRowContext(ctx, "SELECT name, content FROM original WHERE sha256 = $1", sha256).Scan(&o.Name, &o.Content)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return o, fmt.Errorf("original %s: %w", sha256, ErrAbsent)
	case err != nil:
		return o, explain(err)
	case hash(o.Content) != sha256:
		return o, fmt.Errorf("original %s: %w: its content has another hash", sha256, ErrDamaged)
	}
	return o, nil
}

// explain adds the meaning of a store's error for people, keeping it for errors.Is.
func explain(err error) error {
	if err == nil {
		return nil
	}
	var pg *pgconn.PgError
	if errors.As(err, &pg) && (pg.Code == "53100" || pg.Code == "53200") {
		return fmt.Errorf("%w: free space on the server and repeat (%s)", ErrFull, pg.Message)
	}
	var lite *sqlite.Error
	if errors.As(err, &lite) {
		switch code := lite.Code(); {
		case code == 13, code == 778, code == 1034, code == 1546: // SQLITE_FULL, IOERR_WRITE, IOERR_FSYNC, IOERR_TRUNCATE
			return fmt.Errorf("%w: what was written before is safe; free space and repeat (%w)", ErrFull, err)
		case code&0xff == 11, code == 26: // SQLITE_CORRUPT, SQLITE_NOTADB
			return fmt.Errorf("%w: keep the file as it is and restore the last backup beside it (%w)", ErrDamaged, err)
		case code&0xff == 5: // SQLITE_BUSY
			return fmt.Errorf("another program kept the logbook locked for %d s; close it and repeat (%w)", busyMS/1000, err)
		case code&0xff == 8: // SQLITE_READONLY
			return fmt.Errorf("the file cannot be written to: check its permissions (%w)", err)
		}
	}
	return err
}
