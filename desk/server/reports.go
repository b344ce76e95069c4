package server

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/report"
)

type reportInput struct {
	What string `query:"what" required:"true" enum:"hours,aircraft,permits,upkeep,day"`
	Per  string `query:"per" enum:"day,month,year,all" default:"month"`
	Day  string `query:"day" doc:"of a production report, as 2026-09-22; the first shooting day where left out"`
}

// Tables is a report.
type Tables struct {
	Tables []*report.Table `json:"tables" nullable:"false"`
}

// tables makes a report of the log in the site's zone.
func (s *Server) tables(ctx context.Context, in *reportInput) (tables []*report.Table, title string, err error) {
	state, err := s.current()
	if err != nil {
		return nil, "", err
	}
	all, err := s.standing(ctx)
	if err != nil {
		return nil, "", err
	}
	zone := state.Assessor.Shoot.Location()
	per := report.Period(in.Per)
	switch in.What {
	case "hours":
		tables = []*report.Table{report.People(all, per, zone)}
	case "aircraft":
		tables = []*report.Table{report.Aircraft(all, per, zone)}
	case "permits":
		tables = []*report.Table{report.Permits(all, per, zone)}
	case "upkeep":
		tables = []*report.Table{report.Upkeep(all, s.now())}
	case "day":
		day := state.Assessor.Shoot.Dates[0]
		if in.Day != "" {
			if err := day.UnmarshalText([]byte(in.Day)); err != nil {
				return nil, "", huma.Error422UnprocessableEntity(err.Error())
			}
		}
		return report.Production(all, day.Midnight(zone).Add(12*time.Hour), zone), "Production report", nil
	default:
		return nil, "", huma.Error422UnprocessableEntity(fmt.Sprintf("report %q is not one of hours, aircraft, permits, upkeep, day", in.What))
	}
	return tables, tables[0].Title, nil
}

// reportFile sends a report as CSV or PDF.
func (s *Server) reportFile(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	in := &reportInput{What: q.Get("what"), Per: q.Get("per"), Day: q.Get("day")}
	if in.Per == "" {
		in.Per = "month"
	}
	tables, title, err := s.tables(r.Context(), in)
	if err != nil {
		refuse(w, err)
		return
	}
	var out bytes.Buffer
	if r.PathValue("form") == "pdf" {
		if err := report.PDF(&out, title, s.now(), tables...); err != nil {
			refuse(w, err)
			return
		}
		deliver(w, "application/pdf", in.What+".pdf", out.Bytes())
		return
	}
	if err := report.CSV(&out, tables...); err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "text/csv; charset=utf-8", in.What+".csv", out.Bytes())
}
