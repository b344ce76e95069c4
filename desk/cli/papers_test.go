package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

const papersDemo = "../../examples/last-milk-run"

// say runs a command line.
func say(args ...string) (out, errOut string, code int) {
	var o, e bytes.Buffer
	code = cli.Run(context.Background(), args, &o, &e)
	return o.String(), e.String(), code
}

// outside runs a program of Debian; without it the test is skipped aloud.
func outside(t *testing.T, name, from string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("NOT CHECKED: %s is not installed (Debian package %s, `make tools-test`)", name, from)
	}
	out, err := exec.Command(path, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%.2000s", name, args, err, out)
	}
	return string(out)
}

func TestPapersRefuse(t *testing.T) {
	dir := t.TempDir()
	there := filepath.Join(dir, "there.pdf")
	if err := os.WriteFile(there, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, x := range map[string]struct {
		args []string
		word string
	}{
		"output exists":   {[]string{"book", papersDemo, "-o", there}, "--force"},
		"output a folder": {[]string{"book", papersDemo, "-o", dir}, "folder"},
		"no such part":    {[]string{"book", papersDemo, "-o", filepath.Join(dir, "x.pdf"), "--only", "9Z"}, "no part or slate"},
		"no folder":       {[]string{"export", papersDemo, "--as", "kml", "-o", filepath.Join(dir, "no", "x.kml")}, "no such"},
		"no such format":  {[]string{"export", papersDemo, "--as", "dwg", "-o", filepath.Join(dir, "x.dwg")}, "geojson"},
		"glTF of all":     {[]string{"export", papersDemo, "--as", "gltf", "-o", filepath.Join(dir, "x.glb")}, "--slate"},
		"slate of KML":    {[]string{"export", papersDemo, "--as", "kml", "--slate", "4B", "-o", filepath.Join(dir, "x.kml")}, "every slate"},
		"no such slate":   {[]string{"export", papersDemo, "--as", "gltf", "--slate", "9Z", "-o", filepath.Join(dir, "x.glb")}, "9Z"},
		"export exists":   {[]string{"export", papersDemo, "--as", "kml", "-o", there}, "--force"},
		"bundle exists":   {[]string{"bundle", papersDemo, "-o", there}, "--force"},
		"swapped dates":   {[]string{"answer", papersDemo, "--from", "2026-10-01", "--to", "2026-09-01"}, "swap"},
		"absurd weather":  {[]string{"answer", papersDemo, "--lost", "100%"}, "0 to 90"},
		"nothing to read": {[]string{"bring", there, papersDemo}, "neither"},
	} {
		_, e, code := say(x.args...)
		if code != 2 || !strings.Contains(e, x.word) {
			t.Errorf("%s: exit %d, %q; want 2 and %q", name, code, e, x.word)
		}
	}
	if data, _ := os.ReadFile(there); string(data) != "mine" {
		t.Error("a refused command wrote over a file")
	}
	left, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(left) != 1 {
		t.Errorf("a refused command left files behind: %v", left)
	}
}

// copyDemo copies the demo shoot with changes of text.
func copyDemo(t *testing.T, change ...string) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(papersDemo)); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "shoot.yaml")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.NewReplacer(change...).Replace(string(data))
	if changed == string(data) && len(change) > 0 {
		t.Fatalf("nothing changed by %q", change)
	}
	if err := os.WriteFile(file, []byte(changed), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestScriptThatTheFontsLack(t *testing.T) {
	dir := copyDemo(t, "title: The last milk run", "title: 夜の谷")
	file := filepath.Join(t.TempDir(), "travel.pdf")
	if _, e, code := say("travel", dir, "-o", file); code != 2 || !strings.Contains(e, "夜の谷") || !strings.Contains(e, "U+591C") {
		t.Errorf("exit %d, %q; want an error that names text and letter", code, e)
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("half a paper was left behind")
	}
}

func TestAnswerAndTravelPapers(t *testing.T) {
	dir := t.TempDir()
	for _, x := range []struct {
		name, words string
		args        []string
		pages       int
	}{
		{"answer", "not as asked", []string{"answer", papersDemo, "--from", "2026-09-20", "--to", "2026-09-25"}, 2},
		{"travel", "general list", []string{"travel", papersDemo}, 4},
	} {
		file := filepath.Join(dir, x.name+".pdf")
		out, e, code := say(append(x.args, "-o", file)...)
		if code != 0 {
			t.Fatal(e)
		}
		if !strings.Contains(out, x.words) || !strings.Contains(out, cli.SafetySentence) {
			t.Errorf("%s: its text lacks %q or the caution:\n%.1500s", x.name, x.words, out)
		}
		info := outside(t, "pdfinfo", "poppler-utils", file)
		outside(t, "qpdf", "qpdf", "--check", file)
		pages := 0
		for _, l := range strings.Split(info, "\n") {
			if n, ok := strings.CutPrefix(l, "Pages:"); ok {
				json.Unmarshal([]byte(strings.TrimSpace(n)), &pages)
			}
		}
		if pages < 1 || pages > x.pages {
			t.Errorf("%s has %d pages, at most %d wanted", x.name, pages, x.pages)
		}
		if x.name != "travel" {
			continue // the answer would be worked out twice
		}
		if out, _, code := say(append(x.args, "--json")...); code != 0 || !json.Valid([]byte(out)) || !strings.Contains(out, `"caution"`) {
			t.Errorf("%s --json: exit %d", x.name, code)
		}
	}
}

func TestTravelNotesAreChecked(t *testing.T) {
	dir := copyDemo(t)
	for text, word := range map[string]string{
		"cases: [{name: a, holds: [Nothing 9]}]":                            "Nothing 9",
		"cases: [{name: a, holds: [Heron 8]}, {name: b, holds: [Heron 8]}]": "it can be in one",
		"declare: [{item: Wren 44}]":                                        "Wren 44",
		"boxes: []":                                                         "boxes",
	} {
		if err := os.WriteFile(filepath.Join(dir, "travel.yaml"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, e, code := say("travel", dir); code != 2 || !strings.Contains(e, word) {
			t.Errorf("%s: exit %d, %q", text, code, e)
		}
	}
}

// What would break the site is not written.
func TestBringKeepsTheSiteWhole(t *testing.T) {
	dir := copyDemo(t)
	site := filepath.Join(dir, "site.geojson")
	before, err := os.ReadFile(site)
	if err != nil {
		t.Fatal(err)
	}
	put := func(name, text string) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return file
	}
	tree := `{"type":"Feature","properties":{"name":"lone pine"},"geometry":{"type":"Point","coordinates":[10.3,46.6]}}`
	for name, x := range map[string]struct {
		args []string
		word string
	}{
		"no kind":      {[]string{"bring", put("a.json", tree), dir}, "--kind"},
		"no height":    {[]string{"bring", put("b.json", tree), dir, "--kind", "tree"}, "height"},
		"off the site": {[]string{"bring", put("c.json", strings.Replace(tree, "46.6", "12", 1)), dir, "--kind", "tree", "--height", "9 m"}, "terrain"},
	} {
		if _, e, code := say(x.args...); code != 2 || !strings.Contains(e, x.word) {
			t.Errorf("%s: exit %d, %q", name, code, e)
		}
	}
	if after, _ := os.ReadFile(site); !bytes.Equal(before, after) {
		t.Fatal("a refused file changed the site")
	}
	out, e, code := say("bring", put("d.json", tree), dir, "--kind", "tree", "--height", "9 m")
	if code != 0 || !strings.Contains(out, "tree lone pine") {
		t.Fatalf("exit %d, %s%s", code, out, e)
	}
	if after, _ := os.ReadFile(site); !strings.Contains(string(after), "lone pine") {
		t.Error("the tree is not in the site")
	}
	if _, e, code := say("check", dir, "1A"); code == 2 {
		t.Errorf("the site no longer loads: %s", e)
	}
}

// TestMain lets a test run a command line in a process of its own, under limits that a process cannot shake
// off: with PAPERS_ARGS set the test binary is fieldfare.
func TestMain(m *testing.M) {
	if args := os.Getenv("PAPERS_ARGS"); args != "" {
		os.Exit(cli.Run(context.Background(), strings.Split(args, "\x1f"), os.Stdout, os.Stderr))
	}
	os.Exit(m.Run())
}

// limited runs command lines in processes under a limit that they cannot shake off: each fails with the words, and
// leaves nothing in the folder that its file was to go to.
func limited(t *testing.T, want string, shell []string, dir string) {
	t.Helper()
	// Every paper and export goes through one writer, every picture and film through another.
	for name, line := range map[string][]string{
		"travel.pdf": {"travel", papersDemo}, "shot.png": {"render", papersDemo, "1A"}, "path.svg": {"path", papersDemo, "1A"},
	} {
		flag := "-o"
		if strings.HasSuffix(name, ".svg") {
			flag = "--svg"
		}
		line = append(line, flag, filepath.Join(dir, name))
		cmd := exec.Command(shell[0], append(shell[1:], os.Args[0])...)
		cmd.Env = append(os.Environ(), "PAPERS_ARGS="+strings.Join(line, "\x1f"))
		out, err := cmd.CombinedOutput()
		if cmd.ProcessState.ExitCode() != 2 || !strings.Contains(string(out), "cannot write "+filepath.Join(dir, name)) || !strings.Contains(string(out), want) {
			t.Errorf("%s: %v: %s", name, err, out)
		}
		if left, _ := os.ReadDir(dir); len(left) != 0 {
			t.Errorf("%s: left behind: %v", name, left)
		}
	}
}

// A disk that is full, stood for by a limit on the size of files: an error, and nothing left behind.
func TestDiskFull(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("NOT CHECKED: bash is not installed")
	}
	limited(t, "file too large", []string{bash, "-c", `ulimit -f 2; exec "$0"`}, t.TempDir())
}

// A folder that may not be written to. Root may write everywhere, so it first gives that right up.
func TestNoPermissionToWrite(t *testing.T) {
	shell := []string{"env"}
	if os.Geteuid() == 0 {
		setpriv, err := exec.LookPath("setpriv")
		if err != nil {
			t.Skip("NOT CHECKED: root may write everywhere, and setpriv is not installed")
		}
		shell = []string{setpriv, "--bounding-set", "-dac_override,-dac_read_search", "--"}
	}
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	limited(t, "this user has no permission for it", shell, dir)
}
