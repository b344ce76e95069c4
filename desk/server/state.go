package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"time"

	"github.com/goccy/go-yaml"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

// State is one consistent view of the folder. Nothing in it changes once it is made.
type State struct {
	Version  int64
	Assessor *assess.Assessor
	Check    *check.Check
	Sheet    *call.Sheet // nil while the day is being planned
	Source   []byte
	Hash     string // of Source
	Loaded   time.Time

	planned *call.Planned
}

// hash names a version of the shoot file.
func hash(source []byte) string {
	sum := sha256.Sum256(source)
	return hex.EncodeToString(sum[:12])
}

// Causes of a recompute's end before its time: the crew stopped it, or a newer one began.
var (
	errStopped  = errors.New("the work was stopped: the numbers are of the version before")
	errOvertook = errors.New("a newer version is being read")
)

// Reload reads the folder again and works everything out. A reload that is under way is
// given up first. On mistakes the last good state stays, with the mistakes beside it.
func (s *Server) Reload(ctx context.Context) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	s.stop(errOvertook)
	s.work.Lock()
	defer s.work.Unlock()
	s.mu.Lock()
	s.cancel = cancel
	s.mu.Unlock()
	defer s.hub.send(event{Kind: "rest"})

	s.hub.send(event{Kind: "reading"})
	print, _ := fingerprint(s.Dir, "") // before reading: a change while reading is then seen
	state, err := s.load(ctx)
	if cause := context.Cause(ctx); cause != nil {
		if cause == errStopped {
			s.publish(nil, errStopped)
		}
		return cause
	}
	s.mu.Lock()
	s.print = print
	s.mu.Unlock()
	s.publish(state, err)
	if err != nil {
		return err
	}
	s.hub.send(event{Kind: "planning"})
	kept, err := call.Keep(ctx, state.Assessor, state.Check, day.Options{Work: s.effort})
	if err != nil {
		if ctx.Err() == nil {
			s.hub.send(event{Kind: "failed", Text: err.Error()})
		}
		return err
	}
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	planned := *state
	planned.planned, planned.Sheet = kept, kept.Sheet
	s.publish(&planned, nil)
	return nil
}

// Cancel stops work that is under way. Until the next change the page says that its numbers are of
// the version before.
func (s *Server) Cancel() { s.stop(errStopped) }

func (s *Server) stop(cause error) {
	s.mu.RLock()
	stop := s.cancel
	s.mu.RUnlock()
	if stop != nil {
		stop(cause)
	}
}

// publish makes a state, or the mistakes in the way of one, what every answer is made from.
func (s *Server) publish(state *State, wrong error) {
	s.mu.Lock()
	s.version++
	s.wrong = wrong
	if state != nil {
		state.Version = s.version
		s.state = state
	}
	version := s.version
	s.mu.Unlock()
	s.hub.send(event{Kind: "state", Version: version})
}

// load reads and checks the folder; the day is planned afterwards.
func (s *Server) load(ctx context.Context) (*State, error) {
	source, err := os.ReadFile(filepath.Join(s.Dir, shoot.FileName))
	if err != nil {
		return nil, err
	}
	loaded := s.drafted(hash(source))
	if loaded == nil {
		if loaded, err = shoot.Reload(s.Dir, s.lastRead()); err != nil {
			return nil, err
		}
	}
	s.hub.send(event{Kind: "slates"})
	s.mu.RLock()
	var was State
	if s.state != nil {
		was = *s.state
	}
	s.mu.RUnlock()
	a, kept, err := assess.Renew(ctx, loaded, was.Assessor)
	if err != nil {
		return nil, err
	}
	s.hub.send(event{Kind: "windows"})
	c, err := check.Renew(ctx, a, was.Check, kept)
	if err != nil {
		return nil, err
	}
	return &State{Assessor: a, Check: c, Source: source, Hash: hash(source), Loaded: s.now()}, nil
}

// lastRead is the shoot of the state that stands, nil before the first.
func (s *Server) lastRead() *shoot.Shoot {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.state == nil {
		return nil
	}
	return s.state.Assessor.Shoot
}

// draft is a shoot that was read to try an edit, before the edit was saved.
type draft struct {
	hash   string // of its shoot file
	others string // fingerprint of all other files
	shoot  *shoot.Shoot
}

// drafted returns the shoot that an edit was tried on, if it is what the folder now holds: it need not be
// read again.
func (s *Server) drafted(hash string) *shoot.Shoot {
	d := s.draft.Swap(nil)
	if d == nil || d.hash != hash {
		return nil
	}
	if others, err := fingerprint(s.Dir, shoot.FileName); err != nil || others != d.others {
		return nil
	}
	return d.shoot
}

// current returns the state to answer from.
func (s *Server) current() (*State, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.state == nil {
		return nil, problem(s.wrong)
	}
	return s.state, nil
}

// Snapshot is everything that the page holds of one version.
type Snapshot struct {
	Version  int64           `json:"version"`
	Program  string          `json:"program"`
	Hash     string          `json:"hash" doc:"of the shoot file"`
	Read     time.Time       `json:"read"`
	Check    *check.Check    `json:"check" doc:"null while the folder could never be read"`
	Sheet    *call.Sheet     `json:"sheet" doc:"null while the day is being planned"`
	Planning bool            `json:"planning"`
	CanUndo  bool            `json:"can_undo"`
	CanRedo  bool            `json:"can_redo"`
	Mistakes []shoot.Mistake `json:"mistakes" nullable:"false" doc:"of the folder as it stands; the rest is then of the last good version"`
	Document map[string]any  `json:"document" doc:"the shoot file as written"`
	Safety   string          `json:"safety"`
}

func (s *Server) snapshot() Snapshot {
	s.history.mu.Lock()
	undo, redo := len(s.history.done) > 0, len(s.history.gone) > 0
	s.history.mu.Unlock()
	s.mu.RLock()
	defer s.mu.RUnlock()
	out := Snapshot{Version: s.version, Program: s.Version, CanUndo: undo, CanRedo: redo, Mistakes: []shoot.Mistake{}, Document: map[string]any{}, Safety: check.Safety}
	if s.wrong != nil {
		out.Mistakes = mistakes(s.wrong)
	}
	if x := s.state; x != nil {
		out.Hash, out.Read, out.Check, out.Sheet = x.Hash, x.Loaded, x.Check, x.Sheet
		out.Planning = x.Sheet == nil && s.wrong == nil
		_ = yaml.Unmarshal(x.Source, &out.Document) // it was read without mistakes before
	}
	return out
}

func mistakes(err error) []shoot.Mistake {
	var all shoot.Mistakes
	if errors.As(err, &all) {
		return all
	}
	return []shoot.Mistake{{File: shoot.FileName, What: err.Error()}}
}
