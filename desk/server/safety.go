package server

import (
	"encoding/json"
	"net/http"
	"sync"

	"fieldfare/plan/dossier"
)

// cased keeps the safety case of one version.
type cased struct {
	mu     sync.Mutex
	of     *State
	whole  []byte
	layers []byte
}

// safetyCase sends the safety case of the shoot.
func (s *Server) safetyCase(w http.ResponseWriter, r *http.Request) {
	s.sendCase(w, r, "application/json", func(c *cased) []byte { return c.whole })
}

// safetyLayers sends the map of the safety case: paths, volumes, falls, routes, spotters.
func (s *Server) safetyLayers(w http.ResponseWriter, r *http.Request) {
	s.sendCase(w, r, "application/geo+json", func(c *cased) []byte { return c.layers })
}

func (s *Server) sendCase(w http.ResponseWriter, r *http.Request, kind string, part func(*cased) []byte) {
	state, err := s.current()
	if err != nil {
		http.Error(w, err.Error(), http.StatusConflict)
		return
	}
	c := &s.cased
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.of != state {
		if err := c.write(r, state); err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "no-cache")
	w.Write(part(c))
}

func (c *cased) write(r *http.Request, state *State) error {
	d, err := dossier.Write(r.Context(), state.Assessor, state.Check)
	if err != nil {
		return err
	}
	m, err := d.Map(state.Assessor)
	if err != nil {
		return err
	}
	whole, err := json.Marshal(d)
	if err != nil {
		return err
	}
	layers, err := json.Marshal(m)
	if err != nil {
		return err
	}
	c.of, c.whole, c.layers = state, whole, layers
	return nil
}
