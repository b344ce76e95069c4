package server

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
)

// progress tells each twentieth of a job's work to the pages, under its name, and twice a second between.
func (s *Server) progress(job string) func(done, of int64) {
	if job == "" {
		return nil
	}
	told, at := int64(-1), time.Time{}
	return func(done, of int64) {
		if step, now := done*20/max(1, of), time.Now(); step > told || now.Sub(at) > time.Second/2 {
			told, at = step, now
			s.hub.send(event{Kind: "progress", Job: job, Done: done, Of: of})
		}
	}
}

// refuse sends an error as text, with the status that it carries.
func refuse(w http.ResponseWriter, err error) {
	status := http.StatusUnprocessableEntity
	var known huma.StatusError
	if errors.As(err, &known) {
		status = known.GetStatus()
	}
	http.Error(w, err.Error(), status)
}

// deliver sends a file; one with a name is kept by the browser, not shown.
func deliver(w http.ResponseWriter, kind, name string, data []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-cache")
	if name != "" {
		h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	}
	w.Write(data)
}

// fileName is a text made fit for the name of a file.
func fileName(text string) string {
	clean := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '.' || r == '_' {
			return r
		}
		return '-'
	}, text)
	if clean = strings.Trim(clean, "-."); clean == "" {
		return "file"
	}
	return clean[:min(len(clean), 80)]
}
