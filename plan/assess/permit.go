package assess

import (
	"slices"
	"time"

	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// opened reports whether a permission that names the area holds from one instant to another. One that
// names none opens none: it may be for closing a road.
func (t *Take) opened(area string, from, to time.Time) bool {
	for i := range t.shoot.Permissions {
		if p := &t.shoot.Permissions[i]; p.Area == area && p.Valid(from, to, t.Zone()) {
			return true
		}
	}
	return false
}

// everOpened reports whether a granted permission opens the area at some time.
func (t *Take) everOpened(area string) bool {
	for i := range t.shoot.Permissions {
		if p := &t.shoot.Permissions[i]; p.Status == "granted" && p.Area == area {
			return true
		}
	}
	return false
}

// stillOpen reports whether an area that is drawn as permitted is so at the time: where permissions
// name it, one of them must hold.
func (t *Take) stillOpen(area string, from, to time.Time) bool {
	named := false
	for i := range t.shoot.Permissions {
		p := &t.shoot.Permissions[i]
		if p.Area != area {
			continue
		}
		named = true
		if p.Valid(from, to, t.Zone()) {
			return true
		}
	}
	return !named
}

// Inside reports whether the whole path lies over the permission's area.
func (t *Take) Inside(p *shoot.Permission) bool {
	if p.Area == "" {
		return true
	}
	for _, f := range t.shoot.Areas() {
		if f.Name != p.Area {
			continue
		}
		all := true
		for _, m := range t.sparse(areaMoments) {
			all = all && f.Contains(m.Pos)
		}
		if all {
			return true
		}
	}
	return false
}

// held are the permits, by the names that rules give them, of the permissions that are granted,
// hold over the span and cover the path's place.
func (t *Take) held(from, to time.Time) rule.Value {
	var names []string
	for i := range t.shoot.Permissions {
		p := &t.shoot.Permissions[i]
		if len(p.Covers) == 0 || !p.Valid(from, to, t.Zone()) || !t.care.placed[i] {
			continue
		}
		for _, c := range p.Covers {
			if !slices.Contains(names, c) {
				names = append(names, c)
			}
		}
	}
	return rule.Listed(names...)
}

// permitsChange reports whether some permit is held at some hours only.
func (t *Take) permitsChange() bool {
	for _, p := range t.shoot.Permissions {
		if len(p.Covers) > 0 && p.Status == "granted" && (p.Starts != nil || p.Ends != nil) {
			return true
		}
	}
	return false
}

// places works out once which permissions cover the path's place.
func (t *Take) places() {
	t.care.placed = make([]bool, len(t.shoot.Permissions))
	for i := range t.shoot.Permissions {
		t.care.placed[i] = len(t.shoot.Permissions[i].Covers) > 0 && t.Inside(&t.shoot.Permissions[i])
	}
}

// tellPermits says of every permission that covers permits whether it fails the take at this time
// or place.
func (t *Take) tellPermits(m *moment, a *Assessment) {
	if t.Unsolved != nil {
		return
	}
	from, to := t.span(m)
	for i := range t.shoot.Permissions {
		p := &t.shoot.Permissions[i]
		if len(p.Covers) == 0 || p.Status != "granted" {
			continue
		}
		switch {
		case !t.care.placed[i]:
			a.add(t.timely(Caution, TopicSafety, "permission "+p.What, "the path leaves its area "+p.Area, "inside", "permission register", "do not lean on it for this slate, or have it widened"))
		case !p.Valid(from, to, t.Zone()):
			a.add(t.timely(Caution, TopicSafety, "permission "+p.What, "does not hold at this time", span(p), "permission register", "do not lean on it at this hour, or have it extended"))
		}
	}
}

// span puts a permission's times into words.
func span(p *shoot.Permission) string {
	switch {
	case p.Starts == nil && p.Ends == nil:
		return "no times entered"
	case p.Starts == nil:
		return "to " + p.Ends.String()
	case p.Ends == nil:
		return "from " + p.Starts.String()
	}
	return p.Starts.String() + " to " + p.Ends.String()
}
