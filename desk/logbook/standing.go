package logbook

import (
	"context"
	"slices"
	"strings"
	"time"
)

// Standing is an entry as it stands after its corrections.
type Standing struct {
	Entry            // the latest version
	Fact      Body   // the body, decoded
	First     string // id of the first version, by which the matter is known
	Versions  int
	Contested bool // two people corrected the same version; the later one stands
}

// Filter selects standing entries. Zero values select all.
type Filter struct {
	Kinds    []Kind
	From, To time.Time // by when it happened; To is not included
}

// Standing returns the entries as they stand now, struck ones left out, merged from all
// devices in the order in which they happened.
func (l *Log) Standing(ctx context.Context, f Filter) ([]Standing, error) {
	all, err := l.all(ctx)
	if err != nil {
		return nil, err
	}
	var out []Standing
	for _, chain := range versions(all) {
		s, err := stand(chain)
		if err != nil {
			return nil, err
		}
		if s.Kind == KindStrike || len(f.Kinds) > 0 && !slices.Contains(f.Kinds, s.Kind) ||
			!f.From.IsZero() && s.At.Before(f.From) || !f.To.IsZero() && !s.At.Before(f.To) {
			continue
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b Standing) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		if c := strings.Compare(a.Device, b.Device); c != 0 {
			return c
		}
		if a.Ordinal != b.Ordinal {
			return int(a.Ordinal - b.Ordinal)
		}
		return int(a.Seq - b.Seq)
	})
	return out, nil
}

// History returns every version of the matter to which the entry id belongs, in order
// of writing, strikes included.
func (l *Log) History(ctx context.Context, id string) ([]Entry, error) {
	if _, err := l.Get(ctx, id); err != nil {
		return nil, err
	}
	all, err := l.all(ctx)
	if err != nil {
		return nil, err
	}
	for _, chain := range versions(all) {
		if slices.ContainsFunc(chain, func(e Entry) bool { return e.ID == id }) {
			return chain, nil
		}
	}
	return nil, ErrAbsent
}

func (l *Log) all(ctx context.Context) ([]Entry, error) {
	var all []Entry
	err := each(ctx, l.read, func(e Entry) error { all = append(all, e); return nil }, " ORDER BY seq")
	return all, explain(err)
}

// versions groups entries, given in order of writing, by the matter they are about.
func versions(all []Entry) [][]Entry {
	group := map[string]int{}
	var out [][]Entry
	for _, e := range all {
		if at, ok := group[e.Corrects]; ok && e.Corrects != "" {
			group[e.ID] = at
			out[at] = append(out[at], e)
			continue
		}
		group[e.ID] = len(out)
		out = append(out, []Entry{e})
	}
	return out
}

func stand(chain []Entry) (Standing, error) {
	last := chain[len(chain)-1]
	s := Standing{Entry: last, First: chain[0].ID, Versions: len(chain)}
	corrected := map[string]string{}
	for _, e := range chain {
		if e.Corrects == "" {
			continue
		}
		if by, ok := corrected[e.Corrects]; ok && by != e.ID {
			s.Contested = true
		}
		corrected[e.Corrects] = e.ID
	}
	var err error
	s.Fact, err = s.Decode()
	return s, err
}
