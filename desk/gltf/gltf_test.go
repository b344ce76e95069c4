package gltf_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"fieldfare/desk/gltf"
	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

var demo = sync.OnceValues(func() (*assess.Assessor, error) {
	s, err := shoot.Load("../../examples/last-milk-run")
	if err != nil {
		return nil, err
	}
	return assess.New(context.Background(), s)
})

func export(t *testing.T, slate string) (*assess.Assessor, []byte) {
	t.Helper()
	a, err := demo()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := gltf.Write(&b, a, slate); err != nil {
		t.Fatal(err)
	}
	return a, b.Bytes()
}

// slates that can be flown: one that stands, one that moves and tilts, one that follows, one that looks down.
var slates = []string{"1A", "2C", "4B", "5B"}

// corner is a point that the frame's corner sees at one of several distances.
type corner struct {
	t    float64
	at   geo.Vec3
	x, y float64 // pixels
}

func corners(t *testing.T, a *assess.Assessor, slate string) (all []corner, w, h int) {
	t.Helper()
	take := a.Take(slate)
	c, ok := take.Camera()
	if !ok || take.Unsolved != nil {
		t.Fatalf("slate %s cannot be drawn: %v", slate, take.Unsolved)
	}
	n := len(take.Path.Samples)
	for _, i := range []int{0, n / 3, n / 2, n - 1} {
		s := &take.Path.Samples[i]
		v := c.View(s.Pose())
		for k, far := range []float64{20, 300, 1500, 60} {
			x, y := float64(c.PixelsW*(k&1)), float64(c.PixelsH*(k>>1))
			all = append(all, corner{s.T, v.Pos.Add(v.Ray(x, y).Scale(far)), x, y})
		}
	}
	return all, c.PixelsW, c.PixelsH
}

// The camera, put together from the file's nodes by matrices as the specification writes them (sections 3.5.2 and 3.10.3),
// sees the corners of our frame where our lens does.
func TestCameraSeesTheSameCorners(t *testing.T) {
	for _, slate := range slates {
		a, glb := export(t, slate)
		d := read(t, glb)
		all, w, h := corners(t, a, slate)
		worst := 0.0
		for _, c := range all {
			x, y := d.project(t, c.t, toGLTF(c.at))
			x, y = (x+1)/2*float64(w), (1-y)/2*float64(h)
			worst = max(worst, math.Hypot(x-c.x, y-c.y))
		}
		t.Logf("%s: corners within %.4f px of %d × %d", slate, worst, w, h)
		if !(worst < 0.5) {
			t.Errorf("%s: a corner lies %.3f px off", slate, worst)
		}
	}
}

func toGLTF(p geo.Vec3) [4]float64 { return [4]float64{p.X, p.Z, -p.Y, 1} }

// Khronos' validator finds no error, and three.js' loader, which plays the animation, sees the same corners. The readers'
// versions stand in bench/peers/package.json.
func TestOutsideReaders(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("node is not installed")
	}
	if _, err := os.Stat("../../bench/peers/node_modules/gltf-validator"); err != nil {
		t.Skip("bench/peers: packages are not installed")
	}
	var record strings.Builder
	record.WriteString("# What two outside readers say of the demo's slates. Made by: RECORD=1 go test ./desk/gltf -run OutsideReaders\n")
	for _, slate := range slates[1:3] {
		a, glb := export(t, slate)
		all, w, h := corners(t, a, slate)
		type look struct {
			T      float64      `json:"t"`
			Width  int          `json:"width"`
			Height int          `json:"height"`
			Points [][3]float64 `json:"points"`
		}
		var asked []look
		for _, c := range all {
			p := toGLTF(c.at)
			asked = append(asked, look{c.t, w, h, [][3]float64{{p[0], p[1], p[2]}}})
		}
		dir := t.TempDir()
		file, query := filepath.Join(dir, "shot.glb"), filepath.Join(dir, "query.json")
		text, _ := json.Marshal(asked)
		if err := errors.Join(os.WriteFile(file, glb, 0o644), os.WriteFile(query, text, 0o644)); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(node, "testdata/authority/loader.mjs", file, query).Output()
		if err != nil {
			var failed *exec.ExitError
			errors.As(err, &failed)
			t.Fatalf("%v: %s", err, failed.Stderr)
		}
		var said struct {
			Issues struct {
				Errors   int               `json:"numErrors"`
				Warnings int               `json:"numWarnings"`
				Messages []json.RawMessage `json:"messages"`
			} `json:"issues"`
			Validator string         `json:"validator"`
			Three     string         `json:"three"`
			Duration  float64        `json:"duration"`
			Meshes    []string       `json:"meshes"`
			Pixels    [][][2]float64 `json:"pixels"`
		}
		if err := json.Unmarshal(out, &said); err != nil {
			t.Fatal(err, string(out))
		}
		if said.Issues.Errors > 0 || said.Issues.Warnings > 0 {
			t.Errorf("%s: gltf-validator %s: %d errors, %d warnings: %s", slate, said.Validator, said.Issues.Errors, said.Issues.Warnings, said.Issues.Messages)
		}
		if d := a.Take(slate).Path.DurationS(); math.Abs(said.Duration-d) > 1e-3 {
			t.Errorf("%s: the animation lasts %g s, the take %g s", slate, said.Duration, d)
		}
		worst := 0.0
		for i, c := range all {
			p := said.Pixels[i][0]
			worst = max(worst, math.Hypot(p[0]-c.x, p[1]-c.y))
		}
		t.Logf("%s: gltf-validator %s clean; three.js r%s: corners within %.4f px; %d things in the scene", slate, said.Validator, said.Three, worst, len(said.Meshes))
		fmt.Fprintf(&record, "slate %s: gltf-validator %s: %d errors, %d warnings; three.js r%s: frame corners within %.3f px of %d x %d; animation %.2f s\n",
			slate, said.Validator, said.Issues.Errors, said.Issues.Warnings, said.Three, worst, w, h, said.Duration)
		if !(worst < 0.5) {
			t.Errorf("%s: three.js sees a corner %.3f px off", slate, worst)
		}
	}
	if os.Getenv("RECORD") != "" {
		if err := os.WriteFile("testdata/authority/readers.txt", []byte(record.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// Example writes one slate of a shoot for a 3D program.
func Example() {
	a, err := demo()
	if err != nil {
		fmt.Println(err)
		return
	}
	var glb bytes.Buffer
	if err := gltf.Write(&glb, a, "4B"); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s %d\n", glb.Bytes()[:4], glb.Bytes()[4])
	// Output: glTF 2
}

func TestGroundIsTheGridsOwn(t *testing.T) {
	a, glb := export(t, "4B")
	d := read(t, glb)
	ground := a.Shoot.Ground()
	places := d.floats(t, d.Meshes[0].Primitives[0].Attributes["POSITION"], 3)
	if len(places) < 2000 || len(places) > 120000 {
		t.Errorf("%d vertices: a thinned ground of some thousands is expected", len(places))
	}
	b := ground.Bounds() // 32-bit floats may lie a hair outside
	for _, p := range places {
		x, y := min(max(p[0], b.MinX), b.MaxX), min(max(-p[2], b.MinY), b.MaxY)
		if z, ok := ground.HeightAt(x, y); !ok || math.Abs(z-p[1]) > 0.02 {
			t.Fatalf("vertex %v: the ground is at %.3f m", p, z)
		}
	}
}

func TestRefusals(t *testing.T) {
	a, err := demo()
	if err != nil {
		t.Fatal(err)
	}
	if err := gltf.Write(&bytes.Buffer{}, a, "9Z"); err == nil {
		t.Error("a slate that is not in the shoot was exported")
	}
	if err := gltf.Write(full{}, a, "1A"); err == nil {
		t.Error("a full disk went unnoticed")
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

func TestSameBytes(t *testing.T) {
	_, one := export(t, "4B")
	_, two := export(t, "4B")
	if !bytes.Equal(one, two) {
		t.Error("two exports of one slate differ")
	}
}

// file is a .glb read again by code that shares nothing with the writer.
type file struct {
	Nodes []struct {
		Name        string
		Children    []int
		Camera      *int
		Translation []float64
		Rotation    []float64
	}
	Cameras []struct {
		Perspective struct{ AspectRatio, YFOV, ZNear, ZFar float64 }
	}
	Meshes []struct {
		Primitives []struct{ Attributes map[string]int }
	}
	Animations []struct {
		Channels []struct {
			Sampler int
			Target  struct {
				Node int
				Path string
			}
		}
		Samplers []struct{ Input, Output int }
	}
	Accessors   []struct{ BufferView, Count int }
	BufferViews []struct{ ByteOffset, ByteLength int }

	bin []byte
}

func read(t *testing.T, glb []byte) *file {
	t.Helper()
	u := binary.LittleEndian.Uint32
	if string(glb[:4]) != "glTF" || u(glb[4:]) != 2 || int(u(glb[8:])) != len(glb) || string(glb[16:20]) != "JSON" {
		t.Fatalf("not a .glb: %q", glb[:20])
	}
	n := int(u(glb[12:]))
	d := &file{bin: glb[20+n+8:]}
	if err := json.Unmarshal(glb[20:20+n], d); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *file) floats(t *testing.T, accessor, width int) (rows [][]float64) {
	t.Helper()
	a := d.Accessors[accessor]
	b := d.bin[d.BufferViews[a.BufferView].ByteOffset:]
	for i := range a.Count {
		row := make([]float64, width)
		for k := range row {
			row[k] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*(i*width+k):])))
		}
		rows = append(rows, row)
	}
	return rows
}

type matrix [4][4]float64

func (a matrix) times(b matrix) (c matrix) {
	for i := range 4 {
		for j := range 4 {
			for k := range 4 {
				c[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return c
}

// local is T·R of a node at a key frame.
func (d *file) local(t *testing.T, node int, at float64) matrix {
	move, q := d.Nodes[node].Translation, d.Nodes[node].Rotation
	for _, c := range d.Animations[0].Channels {
		if c.Target.Node != node {
			continue
		}
		s := d.Animations[0].Samplers[c.Sampler]
		key := 0
		for i, k := range d.floats(t, s.Input, 1) {
			if math.Abs(k[0]-at) < 1e-4 {
				key = i
			}
		}
		switch c.Target.Path {
		case "translation":
			move = d.floats(t, s.Output, 3)[key]
		case "rotation":
			q = d.floats(t, s.Output, 4)[key]
		}
	}
	if move == nil {
		move = []float64{0, 0, 0}
	}
	x, y, z, w := q[0], q[1], q[2], q[3]
	return matrix{
		{1 - 2*(y*y+z*z), 2 * (x*y - z*w), 2 * (x*z + y*w), move[0]},
		{2 * (x*y + z*w), 1 - 2*(x*x+z*z), 2 * (y*z - x*w), move[1]},
		{2 * (x*z - y*w), 2 * (y*z + x*w), 1 - 2*(x*x+y*y), move[2]},
		{0, 0, 0, 1},
	}
}

// project returns normalised device coordinates.
func (d *file) project(t *testing.T, at float64, p [4]float64) (x, y float64) {
	t.Helper()
	var world matrix
	for parent := range d.Nodes {
		for _, child := range d.Nodes[parent].Children {
			if d.Nodes[child].Camera != nil {
				world = d.local(t, parent, at).times(d.local(t, child, at))
			}
		}
	}
	// A rigid motion is undone by its transpose.
	var eye [4]float64
	for i := range 3 {
		for k := range 3 {
			eye[i] += world[k][i] * (p[k] - world[k][3])
		}
	}
	f := d.Cameras[0].Perspective
	tan := math.Tan(f.YFOV / 2)
	return eye[0] / (f.AspectRatio * tan) / -eye[2], eye[1] / tan / -eye[2]
}
