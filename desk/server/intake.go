package server

import (
	"context"
	"errors"
	"io/fs"
	"net/http"
	"path/filepath"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/intake"
	"fieldfare/plan/check"
)

const largestFeatures = 16 << 20

type bringInput struct {
	Kind    string `query:"kind" doc:"of features that do not say theirs"`
	Height  string `query:"height" doc:"likewise, as 12 m"`
	Status  string `query:"status" doc:"of areas that do not say theirs"`
	Ceiling string `query:"ceiling" doc:"likewise, as 120 m"`
	Replace bool   `query:"replace" doc:"replace features of the same kind and name, or the subject's track"`
	Track   string `query:"track" doc:"write the file's recorded track as this subject's timed track instead"`
	RawBody []byte `contentType:"application/octet-stream"`
}

func (s *Server) intakeRoutes(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "post-bring", Method: http.MethodPost, Path: "/api/bring", MaxBodyBytes: largestFeatures, BodyReadTimeout: 5 * time.Minute}, s.bringSite)
}

// bringSite puts site features, or a subject's track, from an open format into the folder. The watcher then
// sees the files change.
func (s *Server) bringSite(ctx context.Context, in *bringInput) (*answer[intake.Brought], error) {
	s.history.mu.Lock() // no edit reads the site meanwhile
	defer s.history.mu.Unlock()
	var b intake.Brought
	var err error
	if in.Track != "" {
		b, err = intake.Track(ctx, s.Dir, in.Track, in.RawBody, in.Replace)
	} else {
		b, err = intake.Features(s.Dir, in.RawBody, intake.Given{"kind": in.Kind, "height": in.Height, "status": in.Status, "ceiling": in.Ceiling}, in.Replace)
	}
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil, huma.Error409Conflict(err.Error() + "; ask to replace it")
	case err != nil:
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	if rel, err := filepath.Rel(s.Dir, b.File); err == nil {
		b.File = filepath.ToSlash(rel)
	}
	if b.LeftOut == nil {
		b.LeftOut = []string{}
	}
	b.Caution = check.Safety
	return with(b), nil
}
