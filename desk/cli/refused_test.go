package cli_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

// What a command cannot use is refused before it begins, in words, and the file stays as it was.
func TestRefusedBeforeItBegins(t *testing.T) {
	dir := t.TempDir()
	demo, book := "../../examples/last-milk-run", filepath.Join(dir, "book.db")
	at := func(name string) string { return filepath.Join(dir, name) }
	const plain = "{\"kind\":   1}\n"
	if err := os.WriteFile(at("site.geojson"), []byte(plain), 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(args ...string) (string, int) {
		var out, errOut bytes.Buffer
		code := cli.Run(context.Background(), args, &out, &errOut)
		return out.String() + errOut.String(), code
	}
	if text, code := run("log", "--log", book, "--by", "Ines", "add", "remark", "text=first"); code != 0 {
		t.Fatal(text)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"fmt", at("site.geojson")}, "is not YAML by its name"},
		{[]string{"fmt", at("other.yaml")}, "there is no such file or folder"},
		{[]string{"export", demo, "--as", "kml", "-o", at("none/x.kml")}, "has no folder to go to: there is no such file or folder; make it first"},
		{[]string{"log", "--log", book, "packs", "--min-capacity", "-1"}, "--min-capacity -1: expected a share"},
		{[]string{"log", "--log", book, "packs", "--max-resistance", "0"}, "--max-resistance 0: expected"},
		{[]string{"serve", demo, "--listen", "127.0.0.1:0", "--share", "--certificate", at("site.geojson"), "--key", at("site.geojson")}, "give a certificate and its own key as PEM files"},
		{[]string{"log", "--log", book, "--by", "Ines", "add", "--from", at("none.json")}, "cannot read " + at("none.json") + ": there is no such file"},
		{[]string{"bring", at("none.kml"), demo}, "cannot read " + at("none.kml") + ": there is no such file"},
		{[]string{"answer", demo, "--lost", "30"}, "with its percent sign, as in --lost 30%"},
		{[]string{"serve", demo, "--listen", "127.0.0.1:0", "--log", at("none/book.db")}, "has no folder to lie in"},
	} {
		text, code := run(c.args...)
		if code != 2 || !strings.Contains(text, c.want) {
			t.Errorf("%s: exit %d, %s does not say %q", strings.Join(c.args, " "), code, text, c.want)
		}
		if strings.Contains(text, "serving") {
			t.Errorf("%s: it began", strings.Join(c.args, " "))
		}
	}
	if kept, err := os.ReadFile(at("site.geojson")); err != nil || string(kept) != plain {
		t.Errorf("the file is %q now, %v", kept, err)
	}
}

// A descent past twice the hover's induced velocity (windmill brake state: Leishman, Principles of Helicopter
// Aerodynamics, chapter 2, from memory) is told as one, not as a flight that costs nothing.
func TestDescentPastTheVortexRing(t *testing.T) {
	for climb, want := range map[string]bool{"-2m/s": false, "-8m/s": true, "-20m/s": true, "-50m/s": true} {
		var out, errOut bytes.Buffer
		if code := cli.Run(context.Background(), []string{"calc", "power", "--mass", "9kg", "--rotors", "8", "--diameter", "380mm", "--climb", climb}, &out, &errOut); code != 0 {
			t.Fatal(errOut.String())
		}
		if got := strings.Contains(out.String(), "caution: this descent"); got != want {
			t.Errorf("climb %s: cautioned %v, want %v\n%s", climb, got, want, out.String())
		}
	}
}
