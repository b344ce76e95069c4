package server

import (
	"bytes"
	"fmt"
	"net/http"
	"sync"

	"fieldfare/desk/book"
	"fieldfare/desk/export"
	"fieldfare/desk/gltf"
)

// printed keeps the book of one version: printing takes seconds.
type printed struct {
	mu  sync.Mutex
	of  *State
	key string
	pdf []byte
}

// printBook sends the flight book as it stands; only= takes parts and slates, letter= the paper.
func (s *Server) printBook(w http.ResponseWriter, r *http.Request) {
	state, err := s.ready()
	if err != nil {
		refuse(w, err)
		return
	}
	only, letter := r.URL.Query()["only"], r.URL.Query().Get("letter") != ""
	key := fmt.Sprint(only, letter)
	s.printed.mu.Lock()
	defer s.printed.mu.Unlock()
	if s.printed.of != state || s.printed.key != key {
		pdf, err := book.Print(r.Context(), book.Content{Assessor: state.Assessor, Check: state.Check, Sheet: state.Sheet, Source: state.Source, Version: s.Version, Letter: letter, Only: only})
		if err != nil {
			refuse(w, err)
			return
		}
		s.printed.of, s.printed.key, s.printed.pdf = state, key, pdf
	}
	deliver(w, "application/pdf", "flight-book.pdf", s.printed.pdf)
}

// mediaTypes of the exports (IANA registry).
var mediaTypes = map[string]string{
	"geojson": "application/geo+json", "kml": "application/vnd.google-earth.kml+xml", "kmz": "application/vnd.google-earth.kmz", "gpx": "application/gpx+xml",
	"gltf": "model/gltf-binary", "csv": "text/csv; charset=utf-8", "ics": "text/calendar; charset=utf-8", "json": "application/json",
}

// export sends the shoot in an open format.
func (s *Server) export(w http.ResponseWriter, r *http.Request) {
	state, err := s.ready()
	if err != nil {
		refuse(w, err)
		return
	}
	format, name := r.PathValue("format"), "shoot."+r.PathValue("format")
	var out []byte
	if format == "gltf" {
		var b bytes.Buffer
		slate := r.URL.Query().Get("slate")
		err, name = gltf.Write(&b, state.Assessor, slate), "slate-"+fileName(slate)+".glb"
		out = b.Bytes()
	} else {
		out, err = export.Write(&export.Content{Assessor: state.Assessor, Check: state.Check, Sheet: state.Sheet, Source: state.Source, Version: s.Version}, format)
	}
	if err != nil {
		refuse(w, err)
		return
	}
	deliver(w, mediaTypes[format], name, out)
}
