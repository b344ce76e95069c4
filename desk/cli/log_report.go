package cli

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"time"

	"fieldfare/desk/logbook"
	papers "fieldfare/desk/report"
)

type logReportCmd struct {
	What string    `arg:"" enum:"hours,aircraft,permits,upkeep,day" help:"hours, aircraft, permits, upkeep or day."`
	Per  string    `enum:"day,month,year,all" default:"month" help:"Sum per day, month, year or all."`
	From time.Time `format:"2006-01-02" help:"From this day (UTC)."`
	To   time.Time `format:"2006-01-02" help:"Up to and with this day (UTC)."`
	Day  time.Time `format:"2006-01-02" help:"The day of a production report; today unless given."`
	Zone string    `default:"UTC" placeholder:"AREA/PLACE" help:"Zone in which days begin and clock times are printed."`
	CSV  bool      `name:"csv" help:"Print as CSV."`
	PDF  string    `name:"pdf" type:"path" placeholder:"FILE" help:"Print as a PDF."`
}

func (c *logReportCmd) Run(s *Session, log *logCmd) error {
	zone, err := time.LoadLocation(c.Zone)
	if err != nil {
		return fmt.Errorf("zone %q is not known: expected one like Europe/Vienna or UTC", c.Zone)
	}
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	f := logbook.Filter{From: c.From, To: c.To}
	if !c.To.IsZero() {
		f.To = c.To.AddDate(0, 0, 1)
	}
	all, err := l.Standing(s.Context, f)
	if err != nil {
		return err
	}
	now := time.Now()
	var tables []*papers.Table
	title := ""
	switch c.What {
	case "hours":
		tables = append(tables, papers.People(all, papers.Period(c.Per), zone))
	case "aircraft":
		tables = append(tables, papers.Aircraft(all, papers.Period(c.Per), zone))
	case "permits":
		tables = append(tables, papers.Permits(all, papers.Period(c.Per), zone))
	case "upkeep":
		tables = append(tables, papers.Upkeep(all, now))
	case "day":
		day := now
		if !c.Day.IsZero() {
			day = time.Date(c.Day.Year(), c.Day.Month(), c.Day.Day(), 12, 0, 0, 0, zone)
		}
		tables, title = papers.Production(all, day, zone), "Production report"
	}
	if title == "" {
		title = tables[0].Title
	}
	if c.PDF != "" {
		if err := toFile(c.PDF, func(w io.Writer) error { return papers.PDF(w, title, now, tables...) }); err != nil {
			return err
		}
	}
	if c.CSV {
		return papers.CSV(s.Out, tables...)
	}
	return s.emit(tables, func(w io.Writer) {
		for _, t := range tables {
			t.Text(w)
		}
		fmt.Fprintln(w, papers.Caution)
	})
}

type logBackupCmd struct {
	File string `arg:"" type:"path" help:"New file for the copy."`
}

func (c *logBackupCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	v, err := l.Backup(s.Context, c.File)
	if err != nil {
		return err
	}
	return s.emit(v, func(w io.Writer) { printVerification(w, c.File, v) })
}

type logRestoreCmd struct {
	File string `arg:"" type:"existingfile" help:"The backup."`
}

func (c *logRestoreCmd) Run(s *Session, log *logCmd) error {
	v, err := logbook.Restore(s.Context, c.File, log.Log, time.Now)
	if err != nil {
		return err
	}
	return s.emit(v, func(w io.Writer) { printVerification(w, log.Log, v) })
}

type logVerifyCmd struct{}

func (c *logVerifyCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	v, err := l.Verify(s.Context)
	if err != nil {
		return err
	}
	return s.emit(v, func(w io.Writer) { printVerification(w, l.Where(), v) })
}

func printVerification(w io.Writer, where string, v logbook.Verification) {
	fmt.Fprintf(w, "%s is sound; entries: %d, originals: %d, last digest %s\n", where, v.Entries, v.Originals, v.Digest)
	for _, device := range slices.Sorted(maps.Keys(v.Missing)) {
		fmt.Fprintf(w, "%s counted entries that never arrived: %d\n", device, v.Missing[device])
	}
}
