package server

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/previs"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
)

// films draws one film at a time: it keeps every core busy.
type films struct {
	mu     sync.Mutex
	now    Film
	path   string // of the newest finished file
	cancel context.CancelFunc
	folder string
	count  int
}

// Film is a film of a slate, drawn or being drawn.
type Film struct {
	State    string    `json:"state" enum:"none,running,done,failed,cancelled"`
	Job      string    `json:"job" doc:"progress is told under this name"`
	Slate    string    `json:"slate"`
	At       time.Time `json:"at"`
	Form     string    `json:"form"`
	Done     int64     `json:"done"`
	Of       int64     `json:"of" doc:"frames"`
	WidthPx  int       `json:"width_px"`
	HeightPx int       `json:"height_px"`
	File     string    `json:"file" doc:"under /api/film/, once it is done"`
	Bytes    int64     `json:"bytes"`
	Wrong    string    `json:"wrong"`
	Version  int64     `json:"version" doc:"of the shoot that it shows"`
	Stops    []string  `json:"stops" nullable:"false" doc:"why the slate must not be flown as drawn"`
	Forms    []string  `json:"forms" nullable:"false" doc:"that this machine can write"`
	Caution  string    `json:"caution"`
}

type filmInput struct {
	Body struct {
		Slate  string `json:"slate"`
		At     string `json:"at" doc:"when the take starts, RFC 3339; the best moment where empty"`
		Form   string `json:"form" enum:"mp4,apng,frames"`
		Size   string `json:"size" doc:"largest picture, as 1280x720; it keeps the shot's shape"`
		Burn   bool   `json:"burn" doc:"slate, timecode and time of day in each frame"`
		Thirds bool   `json:"thirds"`
		Safe   bool   `json:"safe" doc:"action and title safe areas"`
		Box    bool   `json:"box" doc:"mark the subject"`
		Smear  bool   `json:"smear" doc:"smear moving frames as the shutter will"`
	}
}

func (s *Server) filmRoutes(api huma.API) {
	huma.Get(api, "/api/film", func(context.Context, *none) (*answer[Film], error) {
		return with(s.filmNow()), nil
	})
	huma.Post(api, "/api/film", s.startFilm)
	huma.Post(api, "/api/film/cancel", func(context.Context, *none) (*answer[Film], error) {
		s.film.mu.Lock()
		if s.film.cancel != nil {
			s.film.cancel()
		}
		s.film.mu.Unlock()
		return with(s.filmNow()), nil
	})
}

func (s *Server) filmNow() Film {
	s.film.mu.Lock()
	defer s.film.mu.Unlock()
	out := s.film.now
	if out.State == "" {
		out.State = "none"
	}
	if out.Stops == nil {
		out.Stops = []string{}
	}
	out.Forms = []string{"apng", "frames"}
	if _, err := exec.LookPath("ffmpeg"); err == nil {
		out.Forms = append([]string{"mp4"}, out.Forms...)
	}
	out.Caution = check.Safety
	return out
}

// largestPixels bounds a frame: a film of an hour at any size would fill the machine.
const largestPixels = 3840 * 2160

func (s *Server) startFilm(_ context.Context, in *filmInput) (*answer[Film], error) {
	b := &in.Body
	state, take, err := s.take(b.Slate)
	if err != nil {
		return nil, err
	}
	at, err := state.moment(&slateInput{Slate: b.Slate, At: b.At})
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	camera, ok := take.Camera()
	if !ok {
		return nil, huma.Error422UnprocessableEntity(fmt.Sprintf("rig %s carries no camera, so there is nothing to draw", take.Rig.Name))
	}
	width, err := previs.Fit(b.Size, camera)
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	shot, err := previs.NewShot(previs.NewScene(state.Assessor), state.Assessor, b.Slate, at, width)
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	if shot.Camera.PixelsW*shot.Camera.PixelsH > largestPixels {
		return nil, huma.Error422UnprocessableEntity("larger than 3840x2160: choose a smaller size")
	}
	shot.Labelled, shot.Options.Thirds, shot.Options.SafeArea = b.Burn, b.Thirds, b.Safe
	if b.Box {
		shot.Options.Subject = take.Slate.Subject
	}
	seen := take.At(at)
	if b.Smear {
		shot.SmearS = take.ShutterS()
		if card := seen.Numbers.Picture.Card; card != nil {
			shot.SmearS = card.ShutterS
		}
	}
	var stops []string
	for _, f := range seen.Findings {
		if f.Severity == assess.Stop {
			stops = append(stops, f.What+" "+f.Value)
		}
	}
	x := &s.film
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.now.State == "running" {
		return nil, huma.Error409Conflict("a film is being drawn: wait for it, or cancel it")
	}
	if x.folder == "" {
		if x.folder, err = os.MkdirTemp("", "fieldfare-film-"); err != nil {
			return nil, huma.Error503ServiceUnavailable(err.Error())
		}
	}
	if x.path != "" {
		_ = os.Remove(x.path) // only the newest is kept
		x.path = ""
	}
	x.count++
	ctx, cancel := context.WithCancel(s.life)
	x.cancel = cancel
	x.now = Film{State: "running", Job: fmt.Sprintf("film-%d", x.count), Slate: b.Slate, At: at, Form: b.Form, Of: int64(shot.Frames()), WidthPx: shot.Camera.PixelsW, HeightPx: shot.Camera.PixelsH, Version: state.Version, Stops: stops}
	go s.draw(ctx, cancel, shot, x.now, filepath.Join(x.folder, fmt.Sprintf("%s-%d", fileName(b.Slate), x.count)))
	started := x.now
	started.Forms, started.Caution = []string{}, check.Safety
	if started.Stops == nil {
		started.Stops = []string{}
	}
	return with(started), nil
}

// draw draws a film to its end, its failure or its cancelling.
func (s *Server) draw(ctx context.Context, cancel context.CancelFunc, shot *previs.Shot, job Film, base string) {
	defer cancel()
	tell := s.progress(job.Job)
	path, made := base+".mp4", base+".mp4"
	switch job.Form {
	case "apng":
		path, made = base+".apng", base+".apng"
	case "frames":
		path, made = base, base+".zip"
	}
	err := previs.Film(ctx, shot, path, func(done, of int) {
		s.film.mu.Lock()
		s.film.now.Done = int64(done)
		s.film.mu.Unlock()
		tell(int64(done), int64(of))
	})
	if err == nil && job.Form == "frames" {
		err = errors.Join(packed(ctx, path, made), os.RemoveAll(path))
	}
	var size int64
	if err == nil {
		info, e := os.Stat(made)
		if err = e; err == nil {
			size = info.Size()
		}
	}
	x := &s.film
	x.mu.Lock()
	x.cancel = nil
	switch {
	case ctx.Err() != nil:
		_ = os.Remove(made)
		x.now.State = "cancelled"
	case err != nil:
		_ = os.Remove(made)
		x.now.State, x.now.Wrong = "failed", err.Error()
	default:
		x.path = made
		x.now.State, x.now.File, x.now.Bytes, x.now.Done = "done", filepath.Base(made), size, job.Of
	}
	x.mu.Unlock()
	s.hub.send(event{Kind: "film", Job: job.Job})
}

// packed puts a folder of frames, with the caution beside them, into a zip.
func packed(ctx context.Context, folder, to string) (err error) {
	f, err := os.Create(to)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	z := zip.NewWriter(f)
	w, err := z.Create("README.txt")
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, check.Safety+"\n"); err != nil {
		return err
	}
	frames, err := os.ReadDir(folder)
	if err != nil {
		return err
	}
	for _, x := range frames {
		if err := ctx.Err(); err != nil {
			return err
		}
		data, err := os.ReadFile(filepath.Join(folder, x.Name()))
		if err != nil {
			return err
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: x.Name(), Method: zip.Store}) // PNG is packed already
		if err != nil {
			return err
		}
		if _, err := w.Write(data); err != nil {
			return err
		}
	}
	return z.Close()
}

// filmFile sends the newest finished film.
func (s *Server) filmFile(w http.ResponseWriter, r *http.Request) {
	s.film.mu.Lock()
	path := s.film.path
	s.film.mu.Unlock()
	if path == "" || filepath.Base(path) != r.PathValue("file") {
		http.Error(w, "this film is not here any more: draw it again", http.StatusNotFound)
		return
	}
	kinds := map[string]string{".mp4": "video/mp4", ".apng": "image/apng", ".zip": "application/zip"}
	w.Header().Set("Content-Type", kinds[strings.ToLower(filepath.Ext(path))])
	w.Header().Set("Content-Disposition", `attachment; filename="`+filepath.Base(path)+`"`)
	w.Header().Set("Cache-Control", "no-cache")
	http.ServeFile(w, r, path)
}

// close ends a film that is being drawn and removes what was drawn.
func (x *films) close() {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.cancel != nil {
		x.cancel()
	}
	if x.folder != "" {
		_ = os.RemoveAll(x.folder)
	}
}
