package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/plan/shoot"
)

// Edit puts a value in place of the one that the page saw.
type Edit struct {
	At    string `json:"at" doc:"place in the shoot file, as slates/4B/lens" maxLength:"200"`
	Was   any    `json:"was" doc:"what the page saw there; null for nothing"`
	Value any    `json:"value" doc:"text, list of texts, or null to take the entry out; units as typed"`
}

// Edited says what came of an edit.
type Edited struct {
	Hash     string          `json:"hash" doc:"of the shoot file as it stands now"`
	Saved    bool            `json:"saved"`
	Conflict *Conflict       `json:"conflict,omitempty" doc:"someone saved something else at the same place first"`
	Mistakes []shoot.Mistake `json:"mistakes" nullable:"false" doc:"why the edit would leave a file that cannot be read; nothing was saved"`
	CanUndo  bool            `json:"can_undo"`
	CanRedo  bool            `json:"can_redo"`
}

// Conflict keeps both versions.
type Conflict struct {
	At     string `json:"at"`
	Yours  any    `json:"yours"`
	Theirs any    `json:"theirs"`
}

// change is one saved edit as undo and redo need it.
type change struct {
	edits         []Edit
	before, after []byte
}

// history is what undo and redo walk along.
type history struct {
	mu         sync.Mutex // also held while the shoot file is written
	done, gone []change
}

const historyLength = 200

type editInput struct {
	Body struct {
		Edits []Edit `json:"edits" minItems:"1" maxItems:"50" nullable:"false"`
	}
}

type addInput struct {
	Body struct {
		List string `json:"list" enum:"slates,packs,permissions,crew,contacts"`
		Item string `json:"item" maxLength:"4000" doc:"lines of YAML"`
	}
}

// Source is the shoot file as text.
type Source struct {
	Version int64  `json:"version"`
	Hash    string `json:"hash"`
	Text    string `json:"text"`
}

type sourceInput struct {
	Body struct {
		Hash string `json:"hash" doc:"of the text that was changed"`
		Text string `json:"text" maxLength:"2000000"`
	}
}

func (s *Server) editRoutes(api huma.API) {
	huma.Post(api, "/api/edit", func(ctx context.Context, in *editInput) (*answer[Edited], error) {
		return s.change(ctx, in.Body.Edits, func(disk []byte) ([]byte, *Conflict, error) { return applied(disk, in.Body.Edits) })
	})
	huma.Post(api, "/api/add", func(ctx context.Context, in *addInput) (*answer[Edited], error) {
		return s.change(ctx, nil, func(disk []byte) ([]byte, *Conflict, error) {
			out, err := add(disk, in.Body.List, in.Body.Item)
			return out, nil, err
		})
	})
	huma.Get(api, "/api/source", func(context.Context, *none) (*answer[Source], error) {
		text, err := os.ReadFile(s.file())
		if err != nil {
			return nil, huma.Error500InternalServerError(err.Error())
		}
		s.mu.RLock()
		defer s.mu.RUnlock()
		return with(Source{s.version, hash(text), string(text)}), nil
	})
	huma.Post(api, "/api/source", func(ctx context.Context, in *sourceInput) (*answer[Edited], error) {
		return s.change(ctx, nil, func(disk []byte) ([]byte, *Conflict, error) {
			if hash(disk) != in.Body.Hash {
				return nil, &Conflict{At: shoot.FileName, Yours: in.Body.Text, Theirs: string(disk)}, nil
			}
			return []byte(in.Body.Text), nil, nil
		})
	})
	huma.Post(api, "/api/undo", func(ctx context.Context, _ *none) (*answer[Edited], error) { return s.walk(ctx, true) })
	huma.Post(api, "/api/redo", func(ctx context.Context, _ *none) (*answer[Edited], error) { return s.walk(ctx, false) })
}

func (s *Server) file() string { return filepath.Join(s.Dir, shoot.FileName) }

// applied puts every edit in, or returns the first conflict.
func applied(disk []byte, edits []Edit) ([]byte, *Conflict, error) {
	for _, e := range edits {
		at, err := parsePlace(e.At)
		if err != nil {
			return nil, nil, err
		}
		now, err := tree(disk)
		if err != nil {
			return nil, nil, err
		}
		stands, ok := at.value(now)
		if ok != (e.Was != nil) || ok && !alike(stands, e.Was) {
			if alike(stands, e.Value) && ok {
				continue // both wrote the same
			}
			return nil, &Conflict{At: e.At, Yours: e.Value, Theirs: stands}, nil
		}
		if disk, err = amend(disk, at, e.Value); err != nil {
			return nil, nil, err
		}
	}
	return disk, nil, nil
}

// alike compares what YAML read with what JSON carried.
func alike(a, b any) bool {
	x, okA := a.([]any)
	y, okB := b.([]any)
	if okA && okB {
		if len(x) != len(y) {
			return false
		}
		for i := range x {
			if !alike(x[i], y[i]) {
				return false
			}
		}
		return true
	}
	if okA != okB {
		return false
	}
	if m, ok := a.(map[string]any); ok {
		n, ok := b.(map[string]any)
		if !ok || len(m) != len(n) {
			return false
		}
		for k := range m {
			if !alike(m[k], n[k]) {
				return false
			}
		}
		return true
	}
	return reflect.DeepEqual(a, b) || fmt.Sprint(a) == fmt.Sprint(b)
}

// change reads the file, changes it, makes sure that it can be loaded, and saves it whole.
func (s *Server) change(ctx context.Context, edits []Edit, make func(disk []byte) ([]byte, *Conflict, error)) (*answer[Edited], error) {
	s.history.mu.Lock()
	defer s.history.mu.Unlock()
	disk, err := os.ReadFile(s.file())
	if err != nil {
		return nil, huma.Error500InternalServerError(err.Error())
	}
	out, conflict, err := make(disk)
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	if conflict != nil {
		return with(s.edited(disk, Edited{Conflict: conflict})), nil
	}
	if bytes.Equal(out, disk) {
		return with(s.edited(disk, Edited{Saved: true})), nil // it stands there already: nothing to undo
	}
	result, err := s.save(ctx, disk, out)
	if err != nil || !result.Saved {
		return with(result), err
	}
	h := &s.history
	h.done, h.gone = append(h.done, change{edits, disk, out}), nil
	if len(h.done) > historyLength {
		h.done = h.done[1:]
	}
	return with(s.edited(out, result)), nil
}

// save writes the file if the folder can be loaded with it.
func (s *Server) save(ctx context.Context, disk, out []byte) (Edited, error) {
	others, _ := fingerprint(s.Dir, shoot.FileName) // before reading: a change while reading is then seen
	loaded, err := shoot.LoadDraft(s.Dir, out, s.lastRead())
	if err != nil {
		var wrong shoot.Mistakes
		if !errors.As(err, &wrong) {
			return Edited{}, huma.Error422UnprocessableEntity(err.Error())
		}
		return s.edited(disk, Edited{Mistakes: wrong}), nil
	}
	if err := shoot.Save(s.file(), out); err != nil {
		return Edited{}, huma.NewError(http.StatusInsufficientStorage, "not saved: "+err.Error())
	}
	s.draft.Store(&draft{hash(out), others, loaded})
	go s.refresh(s.life)
	return s.edited(out, Edited{Saved: true}), nil
}

func (s *Server) edited(now []byte, e Edited) Edited {
	e.Hash, e.CanUndo, e.CanRedo = hash(now), len(s.history.done) > 0, len(s.history.gone) > 0
	if e.Mistakes == nil {
		e.Mistakes = []shoot.Mistake{}
	}
	return e
}

// walk undoes or redoes one change. Where the file has moved on since, only the places of that change are
// put back, and only if nobody changed them too.
func (s *Server) walk(ctx context.Context, back bool) (*answer[Edited], error) {
	h := &s.history
	h.mu.Lock()
	defer h.mu.Unlock()
	from, to := &h.done, &h.gone
	if !back {
		from, to = &h.gone, &h.done
	}
	disk, err := os.ReadFile(s.file())
	if err != nil {
		return nil, huma.Error500InternalServerError(err.Error())
	}
	if len(*from) == 0 {
		return with(s.edited(disk, Edited{})), nil
	}
	c := (*from)[len(*from)-1]
	is, want := c.after, c.before
	if !back {
		is, want = c.before, c.after
	}
	if hash(disk) != hash(is) {
		if len(c.edits) == 0 {
			return with(s.edited(disk, Edited{Conflict: &Conflict{At: shoot.FileName, Yours: string(want), Theirs: string(disk)}})), nil
		}
		edits := append([]Edit(nil), c.edits...)
		if back {
			for i, j := 0, len(edits)-1; i <= j; i, j = i+1, j-1 {
				edits[i], edits[j] = turned(edits[j]), turned(edits[i])
			}
		}
		out, conflict, err := applied(disk, edits)
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		if conflict != nil {
			return with(s.edited(disk, Edited{Conflict: conflict})), nil
		}
		want = out
	}
	result, err := s.save(ctx, disk, want)
	if err != nil || !result.Saved {
		return with(result), err
	}
	*from = (*from)[:len(*from)-1]
	*to = append(*to, c)
	return with(s.edited(want, result)), nil
}

func turned(e Edit) Edit { return Edit{At: e.At, Was: e.Value, Value: e.Was} }
