// Package gltf writes a shot for other people's 3D programs: the camera as it will fly, the ground, what stands
// on it and the subject.
//
// Units, axes, signs: metres; x east, y up, z south, which is the site frame turned for glTF (a camera at rest
// looks north). Time is seconds of the take. Heights are above sea level.
//
// Source: Khronos glTF 2.0 specification (ISO/IEC 12113:2022), binary form.
//
// Accuracy: the ground's vertices are nodes of the elevation grid, close together around the path and wider away
// from it; numbers are 32-bit floats, within 0.5 mm up to 4 km from the site's origin. Key frames stand at every
// sample of the path.
//
// Not modelled: a zoom that moves during the take (no move of package move does), focus, exposure, light. Trees
// and masts are upright cylinders.
package gltf

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/move"
)

// Write writes the slate as a .glb file. It errs for a slate that the shoot does not have, and for one without
// a camera or path.
func Write(w io.Writer, a *assess.Assessor, slate string) error {
	t := a.Take(slate)
	if t == nil {
		return fmt.Errorf("no slate %q in this shoot", slate)
	}
	camera, ok := t.Camera()
	if !ok {
		return fmt.Errorf("slate %s: rig %s carries no camera, so there is nothing to export", slate, t.Rig.Name)
	}
	if t.Unsolved != nil {
		return fmt.Errorf("slate %s has no path: %w", slate, t.Unsolved)
	}
	if len(t.Path.Samples) < 2 {
		return fmt.Errorf("slate %s: a path of %d samples cannot be animated", slate, len(t.Path.Samples))
	}
	d := newDocument()
	d.Asset.Generator = "fieldfare"
	origin := a.Shoot.Frame().Origin()
	d.Asset.Extras = map[string]any{
		"caution": check.Safety, "slate": slate, "title": t.Slate.Title, "shoot": a.Shoot.Title,
		"origin_latitude_deg": origin.Lat.Deg(), "origin_longitude_deg": origin.Lon.Deg(),
		"axes": "x east, y up (height above sea level), z south; metres", "vertical_datum": a.Shoot.Datum().Name,
	}
	d.materials()
	d.ground(a.Shoot.Ground(), &t.Path)
	for _, o := range a.Obstacles() {
		d.obstacle(o)
	}
	d.track(&t.Path)
	d.flight(&t.Path, camera)
	subjects := a.Subjects()
	for i := range a.Shoot.Subjects { // in the order of the file
		name := a.Shoot.Subjects[i].Name
		if s := subjects[name]; s != nil && s.Moves() {
			d.mover(name, s, &t.Path)
		}
	}
	return d.write(w)
}

// at turns a place of the site frame for glTF.
func at(p geo.Vec3) [3]float32 { return [3]float32{float32(p.X), float32(p.Z), float32(-p.Y)} }

// turn is a rotation as glTF writes it: x, y, z, w.
type turn [4]float64

// about is the rotation by an angle about an axis: 0 x, 1 y, 2 z.
func about(axis int, radians float64) turn {
	var q turn
	q[axis], q[3] = math.Sin(radians/2), math.Cos(radians/2)
	return q
}

// times is the rotation b followed by a.
func (a turn) times(b turn) turn {
	return turn{
		a[3]*b[0] + a[0]*b[3] + a[1]*b[2] - a[2]*b[1],
		a[3]*b[1] - a[0]*b[2] + a[1]*b[3] + a[2]*b[0],
		a[3]*b[2] + a[0]*b[1] - a[1]*b[0] + a[2]*b[3],
		a[3]*b[3] - a[0]*b[0] - a[1]*b[1] - a[2]*b[2],
	}
}

// heading is the airframe's turn: azimuths run clockwise, turns about y anticlockwise.
func heading(s *move.Sample) turn { return about(1, -float64(s.Yaw)) }

// aim is the gimbal's turn on the airframe: pan, then tilt, then roll.
func aim(s *move.Sample) turn {
	return about(1, -float64(s.Pan)).times(about(0, float64(s.Tilt))).times(about(2, -float64(s.Roll)))
}

// The document's JSON, as far as it is used here.
type document struct {
	Asset       asset        `json:"asset"`
	Scene       int          `json:"scene"`
	Scenes      []scene      `json:"scenes"`
	Nodes       []*node      `json:"nodes"`
	Cameras     []cam        `json:"cameras,omitempty"`
	Meshes      []mesh       `json:"meshes,omitempty"`
	Materials   []material   `json:"materials,omitempty"`
	Animations  []animation  `json:"animations,omitempty"`
	Accessors   []accessor   `json:"accessors"`
	BufferViews []bufferView `json:"bufferViews"`
	Buffers     []buffer     `json:"buffers"`

	bin bytes.Buffer
}

type asset struct {
	Version   string         `json:"version"`
	Generator string         `json:"generator"`
	Extras    map[string]any `json:"extras,omitempty"`
}

type scene struct {
	Name  string `json:"name"`
	Nodes []int  `json:"nodes"`
}

type node struct {
	Name        string      `json:"name"`
	Children    []int       `json:"children,omitempty"`
	Mesh        *int        `json:"mesh,omitempty"`
	Camera      *int        `json:"camera,omitempty"`
	Translation *[3]float32 `json:"translation,omitempty"`
	Rotation    *[4]float32 `json:"rotation,omitempty"`
	Extras      any         `json:"extras,omitempty"`
}

type cam struct {
	Name        string         `json:"name"`
	Type        string         `json:"type"`
	Perspective perspective    `json:"perspective"`
	Extras      map[string]any `json:"extras,omitempty"`
}

type perspective struct {
	AspectRatio float64 `json:"aspectRatio"`
	YFOV        float64 `json:"yfov"`
	ZNear       float64 `json:"znear"`
	ZFar        float64 `json:"zfar"`
}

type mesh struct {
	Name       string      `json:"name"`
	Primitives []primitive `json:"primitives"`
}

type primitive struct {
	Attributes map[string]int `json:"attributes"`
	Indices    *int           `json:"indices,omitempty"`
	Material   int            `json:"material"`
	Mode       int            `json:"mode"`
}

type material struct {
	Name        string `json:"name"`
	DoubleSided bool   `json:"doubleSided,omitempty"`
	Roughness   struct {
		BaseColor [4]float64 `json:"baseColorFactor"`
		Metallic  float64    `json:"metallicFactor"`
		Rough     float64    `json:"roughnessFactor"`
	} `json:"pbrMetallicRoughness"`
}

type animation struct {
	Name     string    `json:"name"`
	Channels []channel `json:"channels"`
	Samplers []sampler `json:"samplers"`
}

type channel struct {
	Sampler int    `json:"sampler"`
	Target  target `json:"target"`
}

type target struct {
	Node int    `json:"node"`
	Path string `json:"path"`
}

type sampler struct {
	Input         int    `json:"input"`
	Output        int    `json:"output"`
	Interpolation string `json:"interpolation"`
}

type accessor struct {
	BufferView    int       `json:"bufferView"`
	ComponentType int       `json:"componentType"`
	Count         int       `json:"count"`
	Type          string    `json:"type"`
	Min           []float32 `json:"min,omitempty"`
	Max           []float32 `json:"max,omitempty"`
}

type bufferView struct {
	Buffer     int `json:"buffer"`
	ByteOffset int `json:"byteOffset"`
	ByteLength int `json:"byteLength"`
	Target     int `json:"target,omitempty"`
}

type buffer struct {
	ByteLength int `json:"byteLength"`
}

// Numbers of the specification.
const (
	float32Type  = 5126
	uint32Type   = 5125
	vertexTarget = 34962
	indexTarget  = 34963
	triangles    = 4
	lineStrip    = 3
)

func newDocument() *document {
	return &document{Asset: asset{Version: "2.0"}, Scenes: []scene{{Name: "shot"}}}
}

// add puts a node into the scene.
func (d *document) add(n *node) int {
	i := d.child(n)
	d.Scenes[0].Nodes = append(d.Scenes[0].Nodes, i)
	return i
}

// child makes a node that another one carries.
func (d *document) child(n *node) int {
	d.Nodes = append(d.Nodes, n)
	return len(d.Nodes) - 1
}

// floats stores rows of numbers. Bounds are written where the specification wants them.
func (d *document) floats(kind string, width int, v []float32, bounds bool, aim int) int {
	a := accessor{BufferView: d.view(v, aim), ComponentType: float32Type, Count: len(v) / width, Type: kind}
	if bounds {
		a.Min, a.Max = append([]float32(nil), v[:width]...), append([]float32(nil), v[:width]...)
		for i, x := range v {
			a.Min[i%width], a.Max[i%width] = min(a.Min[i%width], x), max(a.Max[i%width], x)
		}
	}
	d.Accessors = append(d.Accessors, a)
	return len(d.Accessors) - 1
}

func (d *document) indices(v []uint32) int {
	d.Accessors = append(d.Accessors, accessor{BufferView: d.view(v, indexTarget), ComponentType: uint32Type, Count: len(v), Type: "SCALAR"})
	return len(d.Accessors) - 1
}

// view appends to the buffer; all our components are four bytes, so everything stays aligned.
func (d *document) view(v any, aim int) int {
	from := d.bin.Len()
	_ = binary.Write(&d.bin, binary.LittleEndian, v) // into memory: cannot fail
	d.BufferViews = append(d.BufferViews, bufferView{ByteOffset: from, ByteLength: d.bin.Len() - from, Target: aim})
	return len(d.BufferViews) - 1
}

// write puts head, JSON and buffer together.
func (d *document) write(w io.Writer) error {
	d.Buffers = []buffer{{d.bin.Len()}}
	text, err := json.Marshal(d)
	if err != nil {
		return fmt.Errorf("glTF: %w", err)
	}
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	total := 12 + 8 + len(text) + 8 + d.bin.Len()
	if total > math.MaxUint32 {
		return fmt.Errorf("glTF: %d bytes are more than the format holds", total)
	}
	var head bytes.Buffer
	for _, v := range []uint32{0x46546C67, 2, uint32(total), uint32(len(text)), 0x4E4F534A} {
		head.Write(binary.LittleEndian.AppendUint32(nil, v))
	}
	head.Write(text)
	for _, v := range []uint32{uint32(d.bin.Len()), 0x004E4942} {
		head.Write(binary.LittleEndian.AppendUint32(nil, v))
	}
	if _, err := head.WriteTo(w); err != nil {
		return err
	}
	_, err = d.bin.WriteTo(w)
	return err
}
