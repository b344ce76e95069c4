// Package cli is the command line: one file per command, text for people by
// default, and with --json the same result with units in the key names.
//
// Messages: lower case, no full stop, problems to standard error, results to
// standard output. Exit codes: 0 clean, 1 when a plan holds a stop, 2 when the
// input could not be used.
package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"

	"github.com/alecthomas/kong"

	"fieldfare/plan/check"
)

// Version is set by the build.
var Version = "dev"

// SafetySentence stands wherever a plan could be acted on.
const SafetySentence = check.Safety

type commands struct {
	JSON bool `name:"json" help:"Print the result as JSON with units in the key names."`

	Check    checkCmd    `cmd:"" help:"Say which slates can be flown, when, and what stands in the way. Exit 1 when one cannot."`
	Day      dayCmd      `cmd:"" help:"Put the slates into a timed day: sorties, packs, changeovers, margins."`
	Light    lightCmd    `cmd:"" help:"Find the days and hours in which a slate has its light, over dates or a year."`
	Safety   safetyCmd   `cmd:"" help:"Write the safety case: plan of activities, permissions, volumes, falls, sight, contingencies, risks, checklists, survey. Exit 1 when a slate is stopped."`
	Path     pathCmd     `cmd:"" help:"Print a slate's solved path: where aircraft and camera are at each moment."`
	Rigs     rigsCmd     `cmd:"" help:"Rank the rigs for a slate, with numbers for why others cannot do it."`
	Balance  gimbalCmd   `cmd:"" help:"Balance each rig's gimbal: plates, counterweights, and what every lens and filter swap needs."`
	Packs    packsCmd    `cmd:"" help:"Packs: energy after age, cold and reserve, charging, carriage by air."`
	Render   renderCmd   `cmd:"" help:"Draw a slate before it is flown: a film, frames, or one picture."`
	Card     cardCmd     `cmd:"" help:"Print a slate's camera card, and the new one when the meter on location disagrees."`
	Book     bookCmd     `cmd:"" help:"Print the flight book as a PDF."`
	Bring    bringCmd    `cmd:"" help:"Bring site features or a subject's track into the shoot from GeoJSON, KML, KMZ or GPX."`
	Answer   answerCmd   `cmd:"" help:"Say before anyone books which shots can be had, when, and what it takes."`
	Travel   travelCmd   `cmd:"" help:"Travel papers: packing list by case, packs by air, general list for temporary import."`
	Bundle   bundleCmd   `cmd:"" help:"Pack the papers for an authority into one zip."`
	Export   exportCmd   `cmd:"" help:"Write paths, volumes, site and day in an open format."`
	Serve    serveCmd    `cmd:"" help:"Serve the page for laptop and phones."`
	New      newCmd      `cmd:"" help:"Start a shoot folder."`
	Fmt      fmtCmd      `cmd:"" help:"Tidy a shoot or kit file; comments and order stay."`
	Schema   schemaCmd   `cmd:"" help:"Print the JSON Schema of the shoot file, for editors."`
	OpenAPI  openapiCmd  `cmd:"" name:"openapi" help:"Print the OpenAPI document of the page's server."`
	Version  versionCmd  `cmd:"" help:"Print the version."`
	Practice practiceCmd `cmd:"" help:"Write a practice shoot for a class of shot: open ground, cones, a trainer aircraft, graded moves."`
	Log      logCmd      `cmd:"" help:"The logbook: what was really flown, and what it teaches."`
	Calc     calc        `cmd:"" help:"Answer one question from one model: light, lens, power, link and so on."`
}

// Session carries what a command may touch of the outside world.
type Session struct {
	Context  context.Context
	Out, Err io.Writer
	JSON     bool
}

// emit prints result as JSON when asked, else lets text write it for people.
func (s *Session) emit(result any, text func(w io.Writer)) error {
	if !s.JSON {
		out := bufio.NewWriter(s.Out) // keeps the first error, so that a full disk is heard of
		text(out)
		return out.Flush()
	}
	if err := finite(reflect.ValueOf(result), "result"); err != nil {
		return err
	}
	enc := json.NewEncoder(s.Out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(result)
}

// finite refuses NaN and infinities, which JSON cannot carry.
func finite(v reflect.Value, at string) error {
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return fmt.Errorf("%s has no finite value; please report this with the command line", at)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			return finite(v.Elem(), at)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				if err := finite(v.Field(i), at+"."+v.Type().Field(i).Name); err != nil {
					return err
				}
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if err := finite(v.Index(i), fmt.Sprintf("%s[%d]", at, i)); err != nil {
				return err
			}
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			if err := finite(v.MapIndex(k), fmt.Sprintf("%s[%v]", at, k)); err != nil {
				return err
			}
		}
	}
	return nil
}

// exit is an error that only carries an exit code; its message was printed already.
type exit int

func (e exit) Error() string { return fmt.Sprintf("exit %d", int(e)) }

// Run executes one command line and returns the process's exit code.
func Run(ctx context.Context, args []string, out, errOut io.Writer) int {
	var c commands
	code := -1
	parser, err := kong.New(&c, append(plainFlags(),
		kong.Name("fieldfare"),
		kong.Description("Plan an aerial filming day from one shoot folder.\n\n"+SafetySentence),
		kong.WithHyphenPrefixedParameters(true), // --lon -105.2
		kong.Writers(out, errOut),
		kong.Exit(func(n int) { code = n }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
	)...)
	if err != nil {
		fmt.Fprintln(errOut, "fieldfare:", err)
		return 2
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	parsed, err := parser.Parse(args)
	if code >= 0 {
		return code
	}
	err = helped(err)
	s := &Session{Context: ctx, Out: out, Err: errOut, JSON: c.JSON}
	if err == nil {
		err = parsed.Run(s)
	}
	return report(s, err)
}

func report(s *Session, err error) int {
	var e exit
	switch {
	case err == nil:
		return 0
	case errors.As(err, &e):
		return int(e)
	case s.JSON:
		_ = json.NewEncoder(s.Out).Encode(map[string]string{"error": err.Error()}) // it goes to s.Err too
	}
	fmt.Fprintln(s.Err, "fieldfare:", err)
	return 2
}
