package move

import "strings"

// A need is "a|b": either will do.
func met(need string, given map[string]bool) bool {
	for field := range strings.SplitSeq(need, "|") {
		if given[field] {
			return true
		}
	}
	return false
}

func firstOf(need string) string { return strings.SplitN(need, "|", 2)[0] }

func oneOf(need string) string { return strings.ReplaceAll(need, "|", " or ") }

func has(words, word string) bool { return strings.Contains(words, " "+word+" ") }
