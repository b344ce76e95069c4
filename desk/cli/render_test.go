package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

func TestRenderOnePicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shot.png")
	var out, errOut bytes.Buffer
	args := []string{"render", demoDir, "4B", "-o", path, "--at", "10:30", "--frame", "3", "--size", "320x320", "--burn", "--thirds", "--json"}
	if code := cli.Run(context.Background(), args, &out, &errOut); code != 0 {
		t.Fatalf("exit %d: %s", code, errOut.String())
	}
	var said struct {
		WidthPx  int      `json:"width_px"`
		HeightPx int      `json:"height_px"`
		Frames   int      `json:"frames"`
		At       string   `json:"at"`
		Stops    []string `json:"stops"`
		Caution  string   `json:"caution"`
	}
	if err := json.Unmarshal(out.Bytes(), &said); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil || img.Bounds().Dx() != 320 || img.Bounds().Dx() != said.WidthPx || img.Bounds().Dy() != said.HeightPx {
		t.Errorf("%v: %v, told %d × %d", err, img.Bounds(), said.WidthPx, said.HeightPx)
	}
	if said.Frames != 1 || said.Caution != cli.SafetySentence || said.Stops == nil || !strings.HasPrefix(said.At, "2026-09-22T10:30:00") {
		t.Errorf("%+v", said)
	}
	out.Reset()
	if code := cli.Run(context.Background(), append(args[:len(args)-1], "--force"), &out, &errOut); code != 0 || !strings.Contains(out.String(), cli.SafetySentence) {
		t.Errorf("exit %d: %s%s", code, out.String(), errOut.String())
	}
}

func TestRenderRefusals(t *testing.T) {
	dir := t.TempDir()
	there := filepath.Join(dir, "there.png")
	full := filepath.Join(dir, "folder")
	if err := os.WriteFile(there, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(full, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(full, "notes.txt"), []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		args []string
		want string
	}{
		{[]string{"4B", "-o", there}, "exists"},
		{[]string{"4B", "-o", filepath.Join(dir, "a.gif")}, "ending"},
		{[]string{"4B", "-o", filepath.Join(dir, "a.apng"), "--frame", "2"}, ".png"},
		{[]string{"4B", "-o", full, "--force"}, "notes.txt"},
		{[]string{"9Z", "-o", filepath.Join(dir, "a.png")}, "9Z"},
		{[]string{"4B", "-o", filepath.Join(dir, "a.png"), "--at", "25:99"}, "--at"},
		{[]string{"4B", "-o", filepath.Join(dir, "a.png"), "--at", "10:00", "--frame", "999"}, "the take runs from 0"},
		{[]string{"4B", "-o", filepath.Join(dir, "a.png"), "--at", "10:00", "--size", "big"}, "1280x720"},
		{[]string{"4B", "-o", filepath.Join(dir, "none", "a.png"), "--at", "10:00", "--size", "64x64"}, "a.png"},
	} {
		var out, errOut bytes.Buffer
		code := cli.Run(context.Background(), append([]string{"render", demoDir}, x.args...), &out, &errOut)
		if code != 2 || !strings.Contains(errOut.String(), x.want) {
			t.Errorf("%v: exit %d, %q; want it to say %q", x.args, code, errOut.String(), x.want)
		}
	}
	if kept, _ := os.ReadFile(there); string(kept) != "mine" {
		t.Error("a file was written over")
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*part*")); len(left) > 0 {
		t.Errorf("left over: %v", left)
	}
}
