package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// event is one line of news to every open page.
type event struct {
	Kind    string `json:"kind"` // reading, slates, windows, planning, rest, failed, state, log, joined, progress, film
	Version int64  `json:"version,omitempty"`
	Text    string `json:"text,omitempty"`
	Job     string `json:"job,omitempty"` // whose progress it is
	Done    int64  `json:"done,omitempty"`
	Of      int64  `json:"of,omitempty"`
}

// hub passes news to whoever listens. A listener that does not keep up loses news, not the
// server its time; it asks for the state again on the next one.
type hub struct {
	mu   sync.Mutex
	ears map[chan event]bool
}

func (h *hub) send(e event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for ear := range h.ears {
		select {
		case ear <- e:
		default:
		}
	}
}

func (h *hub) listen() chan event {
	ear := make(chan event, 32)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.ears == nil {
		h.ears = map[chan event]bool{}
	}
	h.ears[ear] = true
	return ear
}

func (h *hub) leave(ear chan event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.ears, ear)
}

// heartbeat keeps connections open through sleepy network gear.
const heartbeat = 20 * time.Second

// events streams news as server-sent events, beginning with the version that stands.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	who := client(r)
	if !s.streams.take(who, streamsEach, 0) {
		http.Error(w, "too many open pages", http.StatusTooManyRequests)
		return
	}
	defer s.streams.give(who)
	out := http.NewResponseController(w)
	_ = out.SetWriteDeadline(time.Time{}) // where there is none to lift, the page asks anew
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	ear := s.hub.listen()
	defer s.hub.leave(ear)
	write := func(e event) bool {
		text, _ := json.Marshal(e) // strings and numbers only
		_, err := fmt.Fprintf(w, "data: %s\n\n", text)
		return err == nil && out.Flush() == nil
	}
	s.mu.RLock()
	version := s.version
	s.mu.RUnlock()
	if !write(event{Kind: "state", Version: version}) {
		return
	}
	tick := time.NewTicker(heartbeat)
	defer tick.Stop()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-s.life.Done():
			return
		case e := <-ear:
			if !write(e) {
				return
			}
		case <-tick.C:
			if _, err := fmt.Fprint(w, ": still here\n\n"); err != nil || out.Flush() != nil {
				return
			}
		}
	}
}
