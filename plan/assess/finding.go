package assess

import "sort"

// Severity ranks a finding. The words are the project's own and stand on every page.
type Severity string

// Stop bars the take; Caution wants a decision; Note informs; Unknown is a limit that could
// not be checked, which is never the same as passed.
const (
	Stop    Severity = "stop"
	Caution Severity = "caution"
	Unknown Severity = "unknown"
	Note    Severity = "note"
)

// rank orders findings for reading: what bars the take comes first.
func (s Severity) rank() int {
	switch s {
	case Stop:
		return 0
	case Unknown:
		return 1
	case Caution:
		return 2
	}
	return 3
}

// Finding is one thing that someone has to know before flying the take.
type Finding struct {
	Severity Severity `json:"severity"`
	Slate    string   `json:"slate"`
	Topic    Topic    `json:"topic"`
	What     string   `json:"what"`           // the quantity or fact, in trade words
	Value    string   `json:"value"`          // what was found, with its unit; "unknown" where it is not
	Limit    string   `json:"limit"`          // what it is held against, with its unit
	Basis    string   `json:"basis"`          // published source, maker's limit, or "house rule"
	Mend     string   `json:"mend"`           // how to put it right
	AtS      *float64 `json:"at_s,omitempty"` // moment of the take, seconds from its start
	Timely   bool     `json:"timely"`         // whether it depends on the hour, so that another hour may clear it
}

// Topic groups findings by the model they come from.
type Topic string

// Topics, in the order of a slate's page.
const (
	TopicMove    Topic = "move"
	TopicLight   Topic = "light"
	TopicPicture Topic = "picture"
	TopicFlight  Topic = "flight"
	TopicBalance Topic = "balance"
	TopicWeather Topic = "weather"
	TopicSafety  Topic = "safety"
	TopicRules   Topic = "rules"
	TopicRadio   Topic = "radio"
	TopicCrew    Topic = "crew"
	TopicMatch   Topic = "match"
)

// Sort orders findings by severity, keeping the order within one.
func Sort(f []Finding) {
	sort.SliceStable(f, func(i, j int) bool { return f[i].Severity.rank() < f[j].Severity.rank() })
}

// Has reports whether any finding is of the severity.
func Has(f []Finding, s Severity) bool {
	for _, x := range f {
		if x.Severity == s {
			return true
		}
	}
	return false
}
