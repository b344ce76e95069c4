package air

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"fieldfare/model/unit"
)

// ReadTable reads a forecast as comma-separated values (RFC 4180) with one row for each
// time. The first row names the columns, each as "name" or "name [unit]":
//
//	time               RFC 3339, with its zone
//	wind, gust         mean and gust at 10 m
//	direction          where the wind comes from, true
//	visibility, ceiling (above ground), temperature, dew point, pressure (QNH)
//	cloud              in eighths or %
//	precipitation      none, light, moderate or heavy
//	thunderstorm       yes or no
//
// Each row is valid from its time until the next row's; the last until lastFor
// later. A quantity whose header has no unit carries it in every cell. An empty cell is
// unknown. Rows must be in order of time.
func ReadTable(r io.Reader, name string, lastFor time.Duration) (Forecast, error) {
	rows := csv.NewReader(r)
	rows.TrimLeadingSpace = true
	rows.Comment = '#'
	header, err := rows.Read()
	if err != nil {
		return Forecast{}, fmt.Errorf("%s: no header row found: name the columns, as in time,wind [kt],direction [deg]: %w", name, err)
	}
	columns := make([]column, len(header))
	seen := map[string]bool{}
	for i, h := range header {
		if columns[i], err = columnFor(h); err != nil {
			return Forecast{}, fmt.Errorf("%s: %w", name, err)
		}
		if seen[columns[i].name] {
			return Forecast{}, fmt.Errorf("%s: column %q stands twice", name, columns[i].name)
		}
		seen[columns[i].name] = true
	}
	if !seen["time"] {
		return Forecast{}, fmt.Errorf("%s: no column named time", name)
	}
	var f Forecast
	for {
		cells, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return Forecast{}, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := rows.FieldPos(0)
		w := Weather{Source: fmt.Sprintf("table %s line %d", name, line), Raw: strings.Join(cells, ",")}
		for i, cell := range cells {
			cell = strings.TrimSpace(cell)
			if cell == "" {
				continue
			}
			if err := columns[i].read(&w, cell, columns[i].unit); err != nil {
				return Forecast{}, fmt.Errorf("%s line %d, column %s: %w", name, line, columns[i].name, err)
			}
		}
		if w.From.IsZero() {
			return Forecast{}, fmt.Errorf("%s line %d: the time is missing", name, line)
		}
		if w.WindMS.Known && w.GustMS.Known && w.GustMS.Value < w.WindMS.Value {
			return Forecast{}, fmt.Errorf("%s line %d: gust %.4g m/s is below the mean wind %.4g m/s: gusts are at least the mean; swap the two or leave the gust empty", name, line, w.GustMS.Value, w.WindMS.Value)
		}
		if n := len(f.Periods); n > 0 {
			if !w.From.After(f.Periods[n-1].From) {
				return Forecast{}, fmt.Errorf("%s line %d: time %s is not after the row before: put the rows in order of time, each time once", name, line, w.From.Format(time.RFC3339))
			}
			f.Periods[n-1].Until = w.From
		}
		w.Until = w.From.Add(lastFor)
		f.Periods = append(f.Periods, w)
	}
	if len(f.Periods) == 0 {
		return Forecast{}, fmt.Errorf("%s: the table has no rows", name)
	}
	return f, nil
}

type column struct {
	name, unit string
	read       func(w *Weather, cell, unit string) error
}

// within reads a number with its unit into a Reading and checks its range (SI).
func within[T ~float64](parse func(string) (T, error), field func(*Weather) *Reading, low, high float64) func(*Weather, string, string) error {
	return func(w *Weather, cell, unit string) error {
		v, err := parse(cell + unit)
		if err != nil {
			return err
		}
		if !(float64(v) >= low && float64(v) <= high) {
			return fmt.Errorf("%s%s is out of range: expected %g to %.4g in SI units; check the number and its unit", cell, unit, low, high)
		}
		*field(w) = Known(float64(v))
		return nil
	}
}

func columnFor(header string) (column, error) {
	name, symbol, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(header), "\ufeff"), "[")
	c := column{name: strings.ToLower(strings.TrimSpace(name)), unit: strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(symbol), "]"))}
	switch c.name {
	case "time":
		c.read = func(w *Weather, cell, _ string) (err error) {
			if w.From, err = time.Parse(time.RFC3339, cell); err != nil {
				return fmt.Errorf("%q is not a time: write it as in 2026-06-21T07:00:00+02:00", cell)
			}
			return nil
		}
	case "wind":
		c.read = within(unit.ParseSpeed, func(w *Weather) *Reading { return &w.WindMS }, 0, 120)
	case "gust":
		c.read = within(unit.ParseSpeed, func(w *Weather) *Reading { return &w.GustMS }, 0, 120)
	case "direction":
		c.read = within(unit.ParseAngle, func(w *Weather) *Reading { return &w.WindFrom }, 0, 2*math.Pi+1e-9)
	case "visibility":
		c.read = within(unit.ParseLength, func(w *Weather) *Reading { return &w.VisibilityM }, 0, 1e6)
	case "ceiling":
		c.read = within(unit.ParseLength, func(w *Weather) *Reading { return &w.CeilingM }, 0, NoCeiling)
	case "temperature":
		c.read = within(unit.ParseTemperature, func(w *Weather) *Reading { return &w.TemperatureK }, 193.15, 333.15)
	case "dew point":
		c.read = within(unit.ParseTemperature, func(w *Weather) *Reading { return &w.DewPointK }, 173.15, 333.15)
	case "pressure":
		c.read = within(unit.ParsePressure, func(w *Weather) *Reading { return &w.QNHPa }, 85000, 110000)
	case "cloud":
		c.read = readCloud
	case "precipitation":
		c.read = func(w *Weather, cell, _ string) error {
			for a := AmountNone; a <= AmountHeavy; a++ {
				if strings.EqualFold(cell, a.String()) {
					w.Precipitation = a
					return nil
				}
			}
			return fmt.Errorf("%q is not none, light, moderate or heavy", cell)
		}
	case "thunderstorm":
		c.read = func(w *Weather, cell, _ string) error {
			switch strings.ToLower(cell) {
			case "yes":
				w.Thunderstorm = Known(1)
			case "no":
				w.Thunderstorm = Known(0)
			default:
				return fmt.Errorf("%q is not yes or no", cell)
			}
			return nil
		}
	default:
		return c, fmt.Errorf("column %q is not known: use time, wind, gust, direction, visibility, ceiling, temperature, dew point, pressure, cloud, precipitation or thunderstorm, with the unit in square brackets", header)
	}
	return c, nil
}

func readCloud(w *Weather, cell, symbol string) error {
	switch {
	case symbol == "okta" || symbol == "/8":
		symbol = ""
	case symbol == "" && strings.HasSuffix(cell, "%"):
		cell, symbol = strings.TrimSuffix(cell, "%"), "%"
	case symbol == "" && strings.HasSuffix(cell, "/8"):
		cell = strings.TrimSuffix(cell, "/8")
	case symbol != "%":
		return fmt.Errorf("%q needs its unit: write 4/8 or 50%%, or put [okta] or [%%] into the header", cell)
	}
	v, err := unit.ParseRatio(strings.TrimSpace(cell) + symbol)
	if err != nil {
		return err
	}
	oktas := float64(v)
	if symbol == "%" {
		oktas *= 8
	}
	if !(oktas >= 0 && oktas <= 8) {
		return fmt.Errorf("cloud %s%s is outside 0 to 8 eighths", cell, symbol)
	}
	w.CloudOktas = Known(oktas)
	return nil
}
