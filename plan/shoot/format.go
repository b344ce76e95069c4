package shoot

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/lexer"
)

// Format tidies a shoot or shelf file: tabs and trailing blanks go, one blank line at most
// stands between lines, the file ends in one newline. Comments, order and the way values are
// written stay. It errs on text that is not YAML and on any change of meaning.
func Format(src []byte) ([]byte, error) {
	lines := strings.Split(strings.ReplaceAll(string(src), "\r\n", "\n"), "\n")
	var out []string
	for _, line := range lines {
		line = strings.TrimRight(line, " \t")
		if line == "" && (len(out) == 0 || out[len(out)-1] == "") {
			continue
		}
		out = append(out, line)
	}
	tidy := []byte(strings.TrimRight(strings.Join(out, "\n"), "\n") + "\n")
	if !bytes.Equal(values(src), values(tidy)) {
		return nil, fmt.Errorf("tidying would change a value (a text block with trailing blanks?); left as it is")
	}
	return tidy, nil
}

// values lists every token of a YAML text without its place.
func values(src []byte) []byte {
	var b bytes.Buffer
	for _, t := range lexer.Tokenize(string(src)) {
		fmt.Fprintf(&b, "%d\x00%s\x00", t.Type, t.Value)
	}
	return b.Bytes()
}
