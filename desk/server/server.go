// Package server serves the page and its data from one shoot folder, on the
// loopback interface. Every number it sends is the one that the command line prints: both
// ask packages check and call.
//
// Source: HTTP by net/http, OpenAPI 3.1 by huma. Validity: one shoot folder per server.
package server

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"fieldfare/desk/ui"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

// Server holds one shoot folder, its assessment and its day, and keeps them in step with the
// files on disk.
type Server struct {
	Dir     string
	Version string

	mu    sync.RWMutex
	state *State
	wrong error // why the folder as it stands cannot be used
}

// State is one consistent view of the folder. Nothing in it changes once it is made.
type State struct {
	Assessor *assess.Assessor
	Check    *check.Check
	Sheet    *call.Sheet
	Source   []byte
	Loaded   time.Time
}

// New loads the folder. A folder with mistakes is served too: the page shows them.
func New(ctx context.Context, dir, version string) (*Server, error) {
	if _, err := os.Stat(filepath.Join(dir, shoot.FileName)); err != nil {
		return nil, fmt.Errorf("%s holds no %s; `fieldfare new %s` starts one", dir, shoot.FileName, dir)
	}
	s := &Server{Dir: dir, Version: version}
	s.Reload(ctx)
	return s, nil
}

// Reload reads the folder again. On mistakes the last good state stays, with the mistakes
// beside it.
func (s *Server) Reload(ctx context.Context) error {
	state, err := load(ctx, s.Dir)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.wrong = err
	if err == nil {
		s.state = state
	}
	return err
}

func load(ctx context.Context, dir string) (*State, error) {
	source, err := os.ReadFile(filepath.Join(dir, shoot.FileName))
	if err != nil {
		return nil, err
	}
	loaded, err := shoot.Load(dir)
	if err != nil {
		return nil, err
	}
	a, err := assess.New(ctx, loaded)
	if err != nil {
		return nil, err
	}
	c, err := check.Run(ctx, a)
	if err != nil {
		return nil, err
	}
	sheet, err := call.Plan(ctx, a, c, day.Options{})
	if err != nil {
		return nil, err
	}
	return &State{Assessor: a, Check: c, Sheet: sheet, Source: source, Loaded: time.Now()}, nil
}

// now returns the state to answer from.
func (s *Server) now() (*State, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.state == nil {
		return nil, s.wrong
	}
	return s.state, nil
}

// Handler returns the whole site: page, data and OpenAPI document.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	s.api(mux)
	if ui.Built() {
		mux.Handle("/", http.FileServerFS(ui.Files()))
	} else {
		mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
			http.Error(w, "The page was not built into this program: run `make build`. The data is under /api/.", http.StatusNotFound)
		})
	}
	return mux
}

// Document returns the OpenAPI document of the data.
func Document() ([]byte, error) {
	return (&Server{}).api(http.NewServeMux()).OpenAPI().MarshalJSON()
}

func (s *Server) api(mux *http.ServeMux) huma.API {
	config := huma.DefaultConfig("fieldfare", "1")
	config.DocsPath = "" // the library's page loads scripts from elsewhere
	config.OpenAPIPath = "/api/openapi"
	config.CreateHooks = nil // no $schema field in answers
	api := humago.New(mux, config)
	s.routes(api)
	return api
}
