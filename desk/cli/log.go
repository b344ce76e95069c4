package cli

import (
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/plan/shoot"
)

type logCmd struct {
	Log    string `default:"logbook.db" env:"FIELDFARE_LOG" placeholder:"FILE|URL" help:"The logbook: a file, made if absent, or postgres://... shared by several crews."`
	By     string `env:"FIELDFARE_BY" placeholder:"NAME" help:"Who writes; needed for every entry."`
	Device string `env:"FIELDFARE_DEVICE" placeholder:"NAME" help:"What it is written on."`

	Add     logAddCmd     `cmd:"" help:"Write an entry."`
	Correct logCorrectCmd `cmd:"" help:"Replace an entry by a corrected one; the old one stays in the book."`
	Strike  logStrikeCmd  `cmd:"" help:"Take an entry out of the reports; it stays in the book."`
	List    logListCmd    `cmd:"" help:"Show entries as they stand, or every version of one."`
	Import  logImportCmd  `cmd:"" help:"Import a recording: GPX, KML, KMZ, CSV, NMEA 0183 or FIT."`
	Fetch   logFetchCmd   `cmd:"" help:"Give back an imported file, byte for byte."`
	Review  logReviewCmd  `cmd:"" help:"Compare a flown sortie with its plan. Exit 1 when a limit was passed."`
	Score   logScoreCmd   `cmd:"" help:"Score the takes of a practice sortie and write the marks down."`
	Learn   logLearnCmd   `cmd:"" help:"Show what the log teaches about energy and times, old beside new; accept on demand."`
	Packs   logPacksCmd   `cmd:"" help:"Health of every pack and when it should retire. Exit 1 when one must not fly."`
	Ladder  logLadderCmd  `cmd:"" help:"Which classes of shot a pilot has earned, and what is lacking."`
	Report  logReportCmd  `cmd:"" help:"Hours by person, aircraft or permit; upkeep due; a day's production report."`
	Backup  logBackupCmd  `cmd:"" help:"Copy the whole book to a new file while others go on writing."`
	Restore logRestoreCmd `cmd:"" help:"Fill an empty logbook from a backup."`
	Verify  logVerifyCmd  `cmd:"" help:"Prove that every entry is as it was written."`
}

// open opens the logbook, made if absent.
func (c *logCmd) open(s *Session) (*logbook.Log, error) {
	return logbook.Open(s.Context, c.Log, time.Now)
}

// existing opens the logbook only if it is there: a mistyped name makes no new one.
func (c *logCmd) existing(s *Session) (*logbook.Log, error) {
	if !strings.Contains(c.Log, "://") {
		if _, err := os.Stat(c.Log); err != nil {
			return nil, fmt.Errorf("no logbook at %s: give its place with --log or FIELDFARE_LOG; the first log add makes one", c.Log)
		}
	}
	return c.open(s)
}

// entry makes an entry of this command line's author, now unless at is given.
func (c *logCmd) entry(body logbook.Body, at time.Time) (logbook.Entry, error) {
	if strings.TrimSpace(c.By) == "" {
		return logbook.Entry{}, fmt.Errorf("who writes? give --by NAME or set FIELDFARE_BY")
	}
	if at.IsZero() {
		at = time.Now()
	}
	e, err := logbook.New(newID(), c.By, at, body)
	e.Device = c.Device
	return e, err
}

func newID() string {
	b := make([]byte, 12)
	rand.Read(b) // never fails since Go 1.24
	return hex.EncodeToString(b)
}

// write appends one entry and reports its receipt.
func (c *logCmd) write(s *Session, l *logbook.Log, entries ...logbook.Entry) error {
	receipts, err := l.Append(s.Context, entries...)
	if err != nil {
		return err
	}
	return s.emit(receipts, func(w io.Writer) {
		for _, r := range receipts {
			again := ""
			if r.Repeat {
				again = ", in the book already"
			}
			fmt.Fprintf(w, "entry %s written as number %d%s\n", r.ID, r.Seq, again)
		}
		for i := range entries {
			if b, err := entries[i].Decode(); err == nil {
				if x, ok := b.(*logbook.Incident); ok && len(x.Missing()) > 0 {
					fmt.Fprintf(w, "a report of this usually needs, and the entry does not yet have: %s; add them with log correct %s\n", strings.Join(x.Missing(), ", "), entries[i].ID)
				}
			}
		}
	})
}

type logAddCmd struct {
	Kind   string    `arg:"" optional:"" help:"Kind of entry: sortie, take, pack, upkeep, incident, permit, hours, practice, remark."`
	Values []string  `arg:"" optional:"" help:"Values as key=value; lists with commas; times as 2026-06-21T10:00:00Z. A wrong key lists the right ones."`
	At     time.Time `format:"2006-01-02T15:04:05Z07:00" help:"When it happened; now unless given."`
	From   string    `type:"path" placeholder:"FILE" help:"Write entries from a JSON list instead (- for standard input); sending it twice writes it once."`
}

func (c *logAddCmd) Run(s *Session, log *logCmd) error {
	var entries []logbook.Entry
	if c.From != "" {
		data, err := readAll(c.From)
		if err != nil {
			return err
		}
		d := json.NewDecoder(strings.NewReader(string(data)))
		d.DisallowUnknownFields()
		if err := d.Decode(&entries); err != nil {
			return fmt.Errorf("%s: expected a JSON list of entries: %w", c.From, err)
		}
	} else {
		body, err := logbook.Blank(logbook.Kind(c.Kind))
		if err != nil {
			return err
		}
		if err := fill(body, c.Values); err != nil {
			return err
		}
		e, err := log.entry(body, c.At)
		if err != nil {
			return err
		}
		entries = []logbook.Entry{e}
	}
	l, err := log.open(s)
	if err != nil {
		return err
	}
	defer l.Close()
	return log.write(s, l, entries...)
}

func readAll(path string) ([]byte, error) {
	var r io.Reader = os.Stdin
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("cannot read %s: %s", path, shoot.Why(err))
		}
		defer f.Close()
		r = f
	}
	const most = 256 << 20
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && len(data) > most {
		err = fmt.Errorf("%s has more than %d MB", path, most>>20)
	}
	return data, err
}

// fill sets a body's fields from key=value texts by their JSON keys.
func fill(body logbook.Body, values []string) error {
	v := reflect.ValueOf(body).Elem()
	at := map[string]int{}
	var keys []string
	for i := range v.NumField() {
		key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		at[key], keys = i, append(keys, key)
	}
	for _, pair := range values {
		key, text, ok := strings.Cut(pair, "=")
		i, known := at[key]
		if !ok || !known {
			return fmt.Errorf("%q: expected key=value with one of the keys %s", pair, strings.Join(keys, ", "))
		}
		if err := set(v.Field(i), text); err != nil {
			return fmt.Errorf("%s=%q: %w", key, text, err)
		}
	}
	return nil
}

func set(f reflect.Value, text string) error {
	switch f.Interface().(type) {
	case time.Time:
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return fmt.Errorf("expected a time with its zone, as 2026-06-21T10:00:00Z or 2026-06-21T12:00:00+02:00")
		}
		f.Set(reflect.ValueOf(t))
		return nil
	case []string:
		f.Set(reflect.ValueOf(strings.Split(text, ",")))
		return nil
	}
	switch f.Kind() {
	case reflect.String:
		f.SetString(text)
	case reflect.Bool:
		switch text {
		case "yes", "true":
			f.SetBool(true)
		case "no", "false":
			f.SetBool(false)
		default:
			return fmt.Errorf("expected yes or no")
		}
	case reflect.Int:
		n, err := strconv.Atoi(text)
		if err != nil {
			return fmt.Errorf("expected a whole number")
		}
		f.SetInt(int64(n))
	case reflect.Float64:
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return fmt.Errorf("expected a number in the key's unit")
		}
		f.SetFloat(x)
	case reflect.Pointer:
		p := reflect.New(f.Type().Elem())
		if err := set(p.Elem(), text); err != nil {
			return err
		}
		f.Set(p)
	default:
		return fmt.Errorf("cannot be set here")
	}
	return nil
}

type logCorrectCmd struct {
	ID     string   `arg:"" help:"The entry, any version of it."`
	Values []string `arg:"" help:"What changes, as key=value."`
	Why    string   `required:"" help:"Reason for the correction."`
}

// latest returns the newest version of the matter an entry belongs to.
func latest(s *Session, l *logbook.Log, id string) (logbook.Entry, error) {
	h, err := l.History(s.Context, id)
	if err != nil {
		return logbook.Entry{}, err
	}
	return h[len(h)-1], nil
}

func (c *logCorrectCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	h, err := l.History(s.Context, c.ID)
	if err != nil {
		return err
	}
	last := h[len(h)-1]
	base := last
	for i := len(h) - 1; base.Kind == logbook.KindStrike && i >= 0; i-- {
		base = h[i] // a struck entry is corrected from what it said
	}
	body, err := base.Decode()
	if err != nil {
		return err
	}
	if err := fill(body, c.Values); err != nil {
		return err
	}
	e, err := log.entry(body, base.At)
	if err != nil {
		return err
	}
	e.Corrects, e.Why = last.ID, c.Why
	return log.write(s, l, e)
}

type logStrikeCmd struct {
	ID  string `arg:"" help:"The entry, any version of it."`
	Why string `required:"" help:"Reason."`
}

func (c *logStrikeCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	last, err := latest(s, l, c.ID)
	if err != nil {
		return err
	}
	if last.Kind == logbook.KindStrike {
		return fmt.Errorf("entry %s is struck already", c.ID)
	}
	e, err := log.entry(&logbook.Strike{}, last.At)
	if err != nil {
		return err
	}
	e.Corrects, e.Why = last.ID, c.Why
	return log.write(s, l, e)
}

type logListCmd struct {
	ID   string    `arg:"" optional:"" help:"Show every version of this entry."`
	Kind []string  `help:"Only these kinds."`
	From time.Time `format:"2006-01-02" help:"From this day (UTC)."`
	To   time.Time `format:"2006-01-02" help:"Up to and with this day (UTC)."`
}

func (c *logListCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	entries := []logbook.Entry{}
	contested := map[string]bool{}
	if c.ID != "" {
		if entries, err = l.History(s.Context, c.ID); err != nil {
			return err
		}
	} else {
		f := logbook.Filter{From: c.From, To: c.To}
		if !c.To.IsZero() {
			f.To = c.To.AddDate(0, 0, 1)
		}
		for _, k := range c.Kind {
			if !slices.Contains(logbook.Kinds(), logbook.Kind(k)) {
				return fmt.Errorf("kind %q is not one of %s", k, logbook.Kinds())
			}
			f.Kinds = append(f.Kinds, logbook.Kind(k))
		}
		standing, err := l.Standing(s.Context, f)
		if err != nil {
			return err
		}
		for _, x := range standing {
			entries = append(entries, x.Entry)
			contested[x.ID] = x.Contested
		}
	}
	return s.emit(entries, func(w io.Writer) {
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, e := range entries {
			note := ""
			if e.Why != "" {
				note = "  corrected: " + e.Why
			}
			if contested[e.ID] {
				note += "  CONTESTED: two people corrected it"
			}
			fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\t%s%s\n", e.Seq, e.At.Format("2006-01-02 15:04:05Z"), e.Kind, e.By, e.ID, e.Body, note)
		}
		t.Flush()
	})
}
