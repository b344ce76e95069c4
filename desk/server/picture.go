package server

import (
	"bytes"
	"image/png"
	"net/http"
	"sync"

	"fieldfare/desk/previs"
)

// pictures keeps the small drawings of one version's slates.
type pictures struct {
	mu    sync.Mutex // also so that one is drawn at a time
	of    *State
	scene *previs.Scene
	all   map[string][]byte
}

const pictureWidth = 320

// picture draws a slate's middle frame at its best moment.
func (s *Server) picture(w http.ResponseWriter, r *http.Request) {
	state, take, err := s.take(r.PathValue("slate"))
	if err != nil {
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	}
	at, err := state.moment(&slateInput{Slate: take.Slate.Slate})
	if err != nil {
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	}
	p := &s.pictures
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.of == nil || p.of.Assessor != state.Assessor {
		p.of, p.scene, p.all = state, previs.NewScene(state.Assessor), map[string][]byte{}
	}
	got := p.all[take.Slate.Slate]
	if got == nil {
		if r.Context().Err() != nil {
			return // whoever asked has left while others' were drawn
		}
		shot, err := previs.NewShot(p.scene, state.Assessor, take.Slate.Slate, at, pictureWidth)
		if err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
		frame, err := shot.At(float64(shot.Frames()-1) / shot.RateHz() / 2)
		if err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
		var out bytes.Buffer
		if err := png.Encode(&out, frame); err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		got = out.Bytes()
		p.all[take.Slate.Slate] = got
	}
	w.Header().Set("Content-Type", "image/png")
	w.Header().Set("Cache-Control", "no-cache")
	w.Write(got)
}
