package cli

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"github.com/alecthomas/kong"
)

// plainFlags reads flags of Go's own types, so that what is wrong is told in the words of the rest.
func plainFlags() []kong.Option {
	float, duration, instant := reflect.TypeFor[float64](), reflect.TypeFor[time.Duration](), reflect.TypeFor[time.Time]()
	return []kong.Option{
		kong.TypeMapper(instant, reader(func(text, layout string) (any, error) {
			if layout == "" {
				layout = time.RFC3339
			}
			t, err := time.Parse(layout, text)
			switch {
			case err != nil && layout == time.DateOnly:
				return nil, fmt.Errorf("%q is not a date: write year-month-day, as in 2026-09-22", text)
			case err != nil:
				return nil, fmt.Errorf("%q is not an instant: write date, time and offset from UTC, as in 2026-09-22T11:00:00+02:00", text)
			case t.Year() < 1950 || t.Year() > 2100:
				return nil, fmt.Errorf("%q lies outside 1950 to 2100, for which the sun and moon are computed", text)
			}
			return t, nil
		})),
		kong.TypeMapper(duration, reader(func(text, _ string) (any, error) {
			d, err := time.ParseDuration(strings.ReplaceAll(text, " ", ""))
			if err != nil || d <= 0 {
				return nil, fmt.Errorf("%q is not a time to take: write a number above 0 and its unit, as in 500ms, 2s or 1m30s", text)
			}
			return d, nil
		})),
		kong.TypeMapper(float, reader(func(text, _ string) (any, error) {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("%q is not a number: write digits alone, as in 2.5", text)
			}
			return v, nil
		})),
		kong.TypeMapper(reflect.TypeFor[int](), reader(func(text, _ string) (any, error) {
			v, err := strconv.Atoi(text)
			if err != nil {
				return nil, fmt.Errorf("%q is not a whole number: write digits alone, as in 12", text)
			}
			return v, nil
		})),
		kong.TypeMapper(reflect.TypeFor[uint64](), reader(func(text, _ string) (any, error) {
			v, err := strconv.ParseUint(text, 10, 64)
			if err != nil {
				return nil, fmt.Errorf("%q is not a whole number from 0 on: write digits alone, as in 12", text)
			}
			return v, nil
		})),
	}
}

func reader(parse func(text, layout string) (any, error)) kong.MapperFunc {
	return func(ctx *kong.DecodeContext, target reflect.Value) error {
		var text string
		if err := ctx.Scan.PopValueInto("value", &text); err != nil {
			return err
		}
		v, err := parse(text, ctx.Value.Format)
		if err != nil {
			return err
		}
		target.Set(reflect.ValueOf(v))
		return nil
	}
}

// helped adds to what the command line lacks where it is told what it takes.
func helped(err error) error {
	var p *kong.ParseError
	if !errors.As(err, &p) {
		return err
	}
	command := "fieldfare"
	if p.Context != nil {
		if at := p.Context.Selected(); at != nil {
			command = at.FullPath()
		}
	}
	return fmt.Errorf("%w; `%s --help` tells what it takes", err, command)
}
