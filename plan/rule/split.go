package rule

// Split divides a profile into the rules that look at any of the named quantities and those that
// do not, so that a caller whose facts change only in those quantities judges the rest once.
func (p *Profile) Split(changing map[string]bool) (moving, still *Profile) {
	moving, still = &Profile{}, &Profile{}
	*moving, *still = *p, *p
	moving.Rules, still.Rules = nil, nil
	for i := range p.Rules {
		r := &p.Rules[i]
		names := r.quantities(nil)
		if r.When != nil {
			names = r.When.quantities(names)
		}
		to := still
		if r.Permit != "" && changing[permissionsHeld] {
			to = moving
		}
		for _, n := range names {
			if changing[n] {
				to = moving
			}
		}
		to.Rules = append(to.Rules, *r)
	}
	return moving, still
}

// AnyStop reports whether a rule of severity stop is broken, without putting it into words.
func AnyStop(p *Profile, facts Facts) bool {
	for i := range p.Rules {
		r := &p.Rules[i]
		if r.Severity != Stop {
			continue
		}
		if r.When != nil && r.When.hold(facts) != yes {
			continue
		}
		if r.hold(facts) != no {
			continue
		}
		if r.Permit == "" || !facts[permissionsHeld].includes(r.Permit) {
			return true
		}
	}
	return false
}

// Stopping is the part of the profile whose rules are of severity stop.
func (p *Profile) Stopping() *Profile {
	out := *p
	out.Rules = nil
	for i := range p.Rules {
		if p.Rules[i].Severity == Stop {
			out.Rules = append(out.Rules, p.Rules[i])
		}
	}
	return &out
}

// Quantities returns what the rules of the profile look at, each once.
func (p *Profile) Quantities() (names []string) {
	for i := range p.Rules {
		r := &p.Rules[i]
		names = r.quantities(names)
		if r.When != nil {
			names = r.When.quantities(names)
		}
		if r.Permit != "" {
			names = once(names, permissionsHeld)
		}
	}
	return names
}

// Permits returns the names of the permissions by which rules of the profile may be exceeded or
// that they ask for, each once.
func (p *Profile) Permits() (names []string) {
	for i := range p.Rules {
		r := &p.Rules[i]
		if r.Permit != "" {
			names = once(names, r.Permit)
		}
		add := func(leaf *Condition) {
			if leaf.Includes != "" {
				names = once(names, leaf.Includes)
			}
		}
		r.each(add)
		if r.When != nil {
			r.When.each(add)
		}
	}
	return names
}

// Uses reports whether some rule of the profile looks at one of the quantities.
func (p *Profile) Uses(quantities ...string) bool {
	for i := range p.Rules {
		names := p.Rules[i].quantities(nil)
		if p.Rules[i].When != nil {
			names = p.Rules[i].When.quantities(names)
		}
		for _, n := range names {
			for _, q := range quantities {
				if n == q {
					return true
				}
			}
		}
	}
	return false
}
