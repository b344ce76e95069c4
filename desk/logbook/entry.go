// Package logbook keeps what was really done: sorties, takes, packs, upkeep, incidents,
// permits, hours and imported tracks, in an append-only store with corrections.
//
// What it computes: nothing but sums of time; it writes entries so that an acknowledged
// one is never lost, a repeated one never doubled and none is ever changed or deleted.
// Each entry carries a digest chained to the one before, so that Verify notices any
// change made behind the logbook's back.
//
// Units and times: bodies carry SI numbers with the unit in the key; times are UTC, kept
// to the millisecond.
//
// Source: SQLite (modernc.org/sqlite) in write-ahead mode with full synchronisation, or
// PostgreSQL (pgx); SHA-256 of FIPS 180-4 for hashes.
//
// Validity: one writer at a time is let in, whatever the number of processes; tested by
// killing writers at random moments, filling the disk and restoring backups.
//
// Not modelled: access rights beyond those of the file or database, and entries signed
// by their author's key.
package logbook

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Kind says what an entry is about.
type Kind string

// The kinds of entry. A Strike takes the entry that it corrects out of every report
// but not out of the book.
const (
	KindSortie   Kind = "sortie"
	KindTake     Kind = "take"
	KindPack     Kind = "pack"
	KindUpkeep   Kind = "upkeep"
	KindIncident Kind = "incident"
	KindPermit   Kind = "permit"
	KindHours    Kind = "hours"
	KindFlown    Kind = "flown"
	KindLesson   Kind = "lesson"
	KindPractice Kind = "practice"
	KindRemark   Kind = "remark"
	KindStrike   Kind = "strike"
)

// Entry is one thing written down. ID is made by whoever writes it, before sending, so
// that sending it twice writes it once.
type Entry struct {
	ID       string          `json:"id"`                 // 8 to 64 letters, digits, '-', '_' or '.'
	Kind     Kind            `json:"kind"`               //
	At       time.Time       `json:"at"`                 // when it happened
	By       string          `json:"by"`                 // who wrote it
	Device   string          `json:"device,omitempty"`   // what it was written on
	Ordinal  int64           `json:"ordinal,omitempty"`  // counts that device's entries from 1; 0 when it does not count
	Corrects string          `json:"corrects,omitempty"` // the entry this one replaces
	Why      string          `json:"why,omitempty"`      // reason for a correction
	Body     json.RawMessage `json:"body"`               // one of the body types, by Kind

	// Set by the store.
	Seq     int64     `json:"seq,omitempty"`    // place in the book, from 1 without holes
	Written time.Time `json:"written,omitzero"` // when the store took it
	Digest  string    `json:"digest,omitempty"` // SHA-256 over this entry and the digest before
}

// Body is what an entry of one kind holds.
type Body interface {
	Kind() Kind
	check() error
}

// New makes an entry from its body; Append checks it. The error is of a body that JSON
// cannot carry, as one with an infinite number.
func New(id, by string, at time.Time, body Body) (Entry, error) {
	data, err := json.Marshal(body)
	if err != nil {
		return Entry{}, fmt.Errorf("%s: %w", body.Kind(), err)
	}
	return Entry{ID: id, Kind: body.Kind(), At: at, By: by, Body: data}, nil
}

// Check says what is wrong with an entry as it would be written.
func (e *Entry) Check() error {
	if n := len(e.ID); n < 8 || n > 64 || strings.ContainsFunc(e.ID, func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && !strings.ContainsRune("-_.", r)
	}) {
		return fmt.Errorf("entry id %.80q: expected 8 to 64 letters, digits, '-', '_' or '.'", e.ID)
	}
	if err := e.check(); err != nil {
		return fmt.Errorf("entry %s: %w", e.ID, err)
	}
	return nil
}

func (e *Entry) check() error {
	for _, f := range []struct {
		name, text string
		max        int
		need       bool
	}{{"by", e.By, 200, true}, {"device", e.Device, 200, false}, {"why", e.Why, 2000, false}, {"corrects", e.Corrects, 64, false}} {
		if err := plainText(f.name, f.text, f.max, f.need); err != nil {
			return err
		}
	}
	switch {
	case e.At.Year() < 1980 || e.At.Year() > 2200:
		return fmt.Errorf("time %s is not of this age: expected 1980 to 2200", e.At.Format(time.RFC3339))
	case e.Ordinal < 0:
		return fmt.Errorf("ordinal %d: expected 1 or more, or none", e.Ordinal)
	case e.Ordinal > 0 && e.Device == "":
		return errors.New("an ordinal needs the device that counts it")
	case e.Corrects == e.ID:
		return errors.New("an entry cannot correct itself")
	case e.Corrects != "" && strings.TrimSpace(e.Why) == "":
		return errors.New("a correction needs its reason in \"why\"")
	case e.Kind == KindStrike && e.Corrects == "":
		return errors.New("a strike needs the entry it takes out, in \"corrects\"")
	case !utf8.Valid(e.Body):
		return errors.New("the body is not UTF-8")
	case len(e.Body) > 1<<20:
		return fmt.Errorf("the body has %d kB, more than the 1024 kB allowed", len(e.Body)>>10)
	}
	_, err := e.decode(true)
	return err
}

func plainText(name, text string, limit int, need bool) error {
	switch {
	case need && strings.TrimSpace(text) == "":
		return fmt.Errorf("%q is missing", name)
	case len(text) > limit:
		return fmt.Errorf("%q has %d characters, more than the %d allowed", name, len(text), limit)
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }):
		return fmt.Errorf("%q holds control characters", name)
	}
	return nil
}

// Decode returns the entry's body as its own type.
func (e *Entry) Decode() (Body, error) { return e.decode(false) }

func (e *Entry) decode(strict bool) (Body, error) {
	make, ok := bodies[e.Kind]
	if !ok {
		return nil, fmt.Errorf("kind %q is not one of %s", e.Kind, Kinds())
	}
	body := make()
	d := json.NewDecoder(bytes.NewReader(e.Body))
	if strict {
		d.DisallowUnknownFields()
	}
	if err := d.Decode(body); err != nil {
		return nil, fmt.Errorf("%s body: %s", e.Kind, strings.TrimPrefix(err.Error(), "json: "))
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("%s body: something follows its end", e.Kind)
	}
	if strict {
		if err := body.check(); err != nil {
			return nil, fmt.Errorf("%s: %w", e.Kind, err)
		}
	}
	return body, nil
}

// settle brings the entry to the form in which it is kept and compared.
func (e *Entry) settle() error {
	var b bytes.Buffer
	if err := json.Compact(&b, e.Body); err != nil {
		return err
	}
	e.Body = b.Bytes()
	e.At = e.At.UTC().Truncate(time.Millisecond)
	return nil
}

// same reports whether two settled entries say the same.
func (e *Entry) same(o *Entry) bool {
	return e.ID == o.ID && e.Kind == o.Kind && e.At.Equal(o.At) && e.By == o.By && e.Device == o.Device &&
		e.Ordinal == o.Ordinal && e.Corrects == o.Corrects && e.Why == o.Why && bytes.Equal(e.Body, o.Body)
}

// chain returns the digest of a settled entry that follows the one with digest before.
func (e *Entry) chain(before string) string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%d\n%q\n%q\n%d\n%q\n%q\n%d\n%d\n%q\n%q\n%q\n", before, e.Seq, e.ID, e.Kind, e.At.UnixMilli(), e.By, e.Device, e.Ordinal, e.Written.UnixMilli(), e.Corrects, e.Why, e.Body)
	return hex.EncodeToString(h.Sum(nil))
}
