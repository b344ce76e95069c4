package shoot

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"fieldfare/model/unit"
	"fieldfare/plan/hazard"
	"fieldfare/plan/rule"
)

// Survey is the sheet that was filled in on the site, safety/survey.yaml.
type Survey struct {
	Date    Date     `yaml:"date" need:"yes"`
	By      string   `yaml:"by" doc:"who walked the site" need:"yes"`
	Answers []Answer `yaml:"answers" doc:"the lines of the survey sheet"`
	Found   []Found  `yaml:"found" doc:"what is there and not in the plan"`
}

// Answer is one line of the survey sheet.
type Answer struct {
	Item   string       `yaml:"item" doc:"id of the line" need:"yes"`
	State  string       `yaml:"state" doc:"what was seen" one:"as planned,differs,not there,not checked" need:"yes"`
	Seen   string       `yaml:"seen" doc:"what was found, in words"`
	Height *unit.Length `yaml:"height" doc:"height found, above ground"`
	At     *Place       `yaml:"at" doc:"where it was found"`
}

// Found is something on the site that the plan does not hold.
type Found struct {
	Kind   string      `yaml:"kind" need:"yes" one:"building,tree,mast,wire,bridge,road,rail,water,people,home"`
	Name   string      `yaml:"name" need:"yes"`
	At     Place       `yaml:"at" need:"yes"`
	Height unit.Length `yaml:"height" doc:"above ground"`
	Spread unit.Length `yaml:"spread" doc:"how far it reaches from the place"`
	Note   string      `yaml:"note"`
}

// Surveyed returns the survey of the site, nil where none was made.
func (s *Shoot) Surveyed() *Survey { return s.survey }

// Library returns the crew's matrix, hazards and checklists from safety/, and the program's own
// for each that the folder does not hold.
func (s *Shoot) Library() *hazard.Library {
	if s.library == nil {
		return hazard.Standard()
	}
	return s.library
}

// safety reads what the folder safety/ holds.
func (s *Shoot) safety() (wrong Mistakes) {
	entries, err := fs.ReadDir(s.folder.root.FS(), "safety")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return Mistakes{{File: "safety", What: "cannot be read: " + err.Error()}}
	}
	for _, e := range entries {
		name := "safety/" + e.Name()
		if e.IsDir() || !strings.HasSuffix(name, ".yaml") {
			continue
		}
		src, err := s.folder.read(name)
		if err != nil {
			wrong = append(wrong, Mistake{File: name, What: "cannot be read: " + err.Error()})
			continue
		}
		if s.library == nil {
			s.library = hazard.Standard()
		}
		switch e.Name() {
		case "matrix.yaml":
			err = s.library.ReadMatrix(name, src)
		case "hazards.yaml":
			err = s.library.ReadHazards(name, src)
		case "checklists.yaml":
			err = s.library.ReadChecklists(name, src)
		case "survey.yaml":
			s.survey = &Survey{}
			wrong = append(wrong, decode(name, src, s.survey, marks{})...)
		default:
			err = fmt.Errorf("is none of matrix.yaml, hazards.yaml, checklists.yaml and survey.yaml")
		}
		if err != nil {
			m := Mistake{File: name, What: err.Error()}
			var at *rule.Error
			if errors.As(err, &at) {
				m.Line, m.Column, m.What = at.Line, at.Column, at.Problem
			}
			wrong = append(wrong, m)
		}
	}
	return append(wrong, s.mitigations()...)
}

// mitigations holds the crew's measures against the hazards that there are.
func (s *Shoot) mitigations() (wrong Mistakes) {
	if len(s.Mitigations) == 0 {
		return nil
	}
	var ids []string
	for _, h := range s.Library().Hazards {
		ids = append(ids, h.ID)
	}
	for i, m := range s.Mitigations {
		at := fmt.Sprintf("mitigations[%d]", i)
		if m.Hazard != "" && !slices.Contains(ids, m.Hazard) {
			wrong = append(wrong, s.marks.at(at+".hazard", fmt.Sprintf("no hazard has the id %q", m.Hazard), suggest(m.Hazard, ids), m.Hazard))
		}
		if m.Likelihood < 0 || m.Severity < 0 {
			wrong = append(wrong, s.marks.at(at, "a measure cannot make a hazard worse", "write steps down as 1 or more", ""))
		}
	}
	return wrong
}

// Decision is the crew's part of the risk assessment: the controls of the list that it accepts,
// and measures of its own.
func (s *Shoot) Decision() hazard.Decision {
	d := hazard.Decision{Added: map[string][]hazard.Control{}}
	library := s.Library()
	for i, m := range s.Mitigations {
		listed := false
		for _, h := range library.Hazards {
			for _, c := range h.Controls {
				listed = listed || h.ID == m.Hazard && c.ID == m.Measure
			}
		}
		if listed {
			d.Accepted = append(d.Accepted, m.Measure)
			continue
		}
		d.Added[m.Hazard] = append(d.Added[m.Hazard], hazard.Control{ID: fmt.Sprintf("crew-%d", i+1), Text: m.Measure, Owner: m.Owner, Likelihood: m.Likelihood, Severity: m.Severity})
	}
	return d
}

// documents reads the digest of every permission's document.
func (s *Shoot) documents() (wrong Mistakes) {
	for i := range s.Permissions {
		p := &s.Permissions[i]
		if s.location != nil {
			p.settle(s.location)
		}
		at := fmt.Sprintf("permissions[%d].", i)
		if p.SHA256 = strings.ToLower(strings.TrimSpace(p.SHA256)); p.SHA256 != "" {
			if sum, err := hex.DecodeString(p.SHA256); err != nil || len(sum) != sha256.Size {
				wrong = append(wrong, s.marks.at(at+"sha256", "is not a SHA-256 digest", "write its 64 hexadecimal digits, as `sha256sum` prints them", p.SHA256))
			} else if p.Document == "" {
				wrong = append(wrong, s.marks.at(at+"sha256", "is the digest of no document", "add document:", p.SHA256))
			}
		}
		if p.Document == "" {
			continue
		}
		src, err := s.folder.read(p.Document)
		if err != nil {
			wrong = append(wrong, s.marks.at(at+"document", "cannot be read: "+err.Error(), "put the file beside "+FileName, p.Document))
			continue
		}
		sum := sha256.Sum256(src)
		p.digest = hex.EncodeToString(sum[:])
	}
	return wrong
}
