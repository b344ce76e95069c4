package cli_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

// full is a place that takes no more.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// A result that could not be written was not given: a script must hear of it.
func TestWriteFails(t *testing.T) {
	for _, args := range [][]string{{"version"}, {"version", "--json"}} {
		var said bytes.Buffer
		if code := cli.Run(context.Background(), args, full{}, &said); code != 2 || !strings.Contains(said.String(), "no space left") {
			t.Errorf("%q: exit %d, %q", args, code, said.String())
		}
	}
}
