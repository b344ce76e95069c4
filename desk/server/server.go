// Package server serves the page and its data from one shoot folder. Every number it sends
// is the one that the command line prints: both ask packages check and call. It watches the
// folder, works everything out again when a file changes, and says so to every open page.
//
// Every answer carries the version of the folder that it was worked out from, so that a page
// never shows a number of one version beside a number of another.
//
// Source: HTTP by net/http, OpenAPI 3.1 by huma, server-sent events of the HTML standard.
// Validity: one shoot folder per server.
//
// On this machine alone unless it is shared; then a one-time code opens a session with a role.
//
// Not modelled: listeners, where the page is shared in plain text; joining by code keeps strangers out, and TLS with a
// certificate of the house (package house) listeners too.
package server

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"fieldfare/desk/house"
	"fieldfare/desk/logbook"
	"fieldfare/desk/ui"
	"fieldfare/plan/shoot"
)

// Server holds one shoot folder, its assessment and its day, and keeps them in step with the
// files on disk.
type Server struct {
	Dir     string
	Version string
	Log     string // the logbook, a file or a database's URL
	Shared  bool   // open to the local network
	Address string // host and port that phones reach
	Secure  bool   // the shared page is served over TLS
	Strict  bool   // whoever sits at this machine must join too; for tests

	// House is the crew's own authority behind Secure; nil where the certificate is one that phones trust already.
	House *house.House

	door    *door
	streams counter
	logMu   sync.Mutex
	opened  *logbook.Log

	tiles    tiles
	sheets   sheets
	history  history
	printed  printed
	cased    cased
	pictures pictures
	debriefs debriefs
	answers  answers
	chances  chances
	film     films

	now func() time.Time
	hub hub

	mu      sync.RWMutex
	state   *State // nil until the folder could be read once
	wrong   error  // why the folder as it stands cannot be used
	version int64  // of the newest state or of the newest mistakes
	print   string // of the files that it was made from

	draft  atomic.Pointer[draft]
	effort int64      // of the day's search; 0 is the search's own
	work   sync.Mutex // one recompute at a time
	cancel context.CancelCauseFunc
	life   context.Context
}

// New prepares a server for the folder; Reload then reads it. A folder with mistakes is served
// too: the page shows them.
func New(ctx context.Context, dir, version string) (*Server, error) {
	if _, err := os.Stat(filepath.Join(dir, shoot.FileName)); err != nil {
		return nil, fmt.Errorf("%s holds no %s; `fieldfare new %s` starts one", dir, shoot.FileName, dir)
	}
	s := &Server{Dir: dir, Version: version, Log: filepath.Join(dir, "logbook.db"), now: time.Now, life: ctx}
	s.door = newDoor(s.now)
	s.version = s.now().UnixMilli() // so that a page left open knows a restarted server
	return s, nil
}

// Handler returns the whole site: page, data and OpenAPI document.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	s.api(mux)
	mux.HandleFunc("GET /api/events", s.events)
	mux.HandleFunc("GET /api/heights.f32", s.heights)
	mux.HandleFunc("GET /api/tiles/{z}/{x}/{y}", s.tile)
	mux.HandleFunc("GET /api/map", s.mapArchive)
	mux.HandleFunc("GET /api/map/{z}/{x}/{y}", s.mapTile)
	mux.HandleFunc("GET /api/skystrip/{slate}", s.skyStrip)
	mux.HandleFunc("GET /api/book.pdf", s.printBook)
	mux.HandleFunc("GET /api/export/{format}", s.export)
	mux.HandleFunc("GET /api/safety", s.safetyCase)
	mux.HandleFunc("GET /api/safety/layers", s.safetyLayers)
	mux.HandleFunc("GET /api/pictures/{slate}", s.picture)
	mux.HandleFunc("GET /api/review.svg", s.reviewMap)
	mux.HandleFunc("GET /api/review.pdf", s.reviewPaper)
	mux.HandleFunc("GET /api/originals/{sha256}", s.original)
	mux.HandleFunc("GET /api/reports/{form}", s.reportFile)
	mux.HandleFunc("GET /api/answer.pdf", s.printAnswer)
	mux.HandleFunc("GET /api/travel.pdf", s.printTravel)
	mux.HandleFunc("GET /api/bundle.zip", s.bundle)
	mux.HandleFunc("GET /api/film/{file}", s.filmFile)
	mux.Handle("GET /", page())
	return s.guard(s.admit(mux))
}

// Document returns the OpenAPI document of the data.
func Document() ([]byte, error) {
	return (&Server{}).api(http.NewServeMux()).OpenAPI().MarshalJSON()
}

func (s *Server) api(mux *http.ServeMux) huma.API {
	config := huma.DefaultConfig("fieldfare", "1")
	config.DocsPath = "" // the library's page loads scripts from elsewhere
	config.OpenAPIPath = "/api/openapi"
	config.SchemasPath = ""
	config.CreateHooks = nil // no $schema field in answers
	config.Components.Schemas = huma.NewMapRegistry("#/components/schemas/", named)
	api := humago.New(mux, config)
	s.sessionRoutes(api)
	s.routes(api)
	s.fieldRoutes(api)
	s.oddsRoutes(api)
	s.choiceRoutes(api)
	s.logRoomRoutes(api)
	s.paperRoutes(api)
	s.intakeRoutes(api)
	return api
}

// named tells apart types of one name: those of the log's and the papers' packages carry their package.
func named(t reflect.Type, hint string) string {
	name := huma.DefaultSchemaNamer(t, hint)
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	switch pkg := path.Base(t.PkgPath()); pkg {
	case "track", "review", "lesson", "skill", "debrief", "report", "travel", "answer", "intake":
		return strings.ToUpper(pkg[:1]) + pkg[1:] + name
	}
	return name
}

// page serves the built page; every room's address gets the same document.
func page() http.Handler {
	if !ui.Built() {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			http.Error(w, "The page was not built into this program: run `make build`. The data is under /api/.", http.StatusNotFound)
		})
	}
	files := http.FileServerFS(ui.Files())
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if filepath.Ext(r.URL.Path) == "" {
			r2 := r.Clone(r.Context())
			r2.URL.Path = "/"
			w.Header().Set("Cache-Control", "no-cache")
			files.ServeHTTP(w, r2)
			return
		}
		if len(r.URL.Path) > 8 && r.URL.Path[:8] == "/assets/" {
			w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		} else {
			w.Header().Set("Cache-Control", "no-cache")
		}
		files.ServeHTTP(w, r)
	})
}
