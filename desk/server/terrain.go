package server

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"math"
	"net/http"
	"strconv"
	"sync"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// heights sends the terrain as TerrainInfo describes it.
func (s *Server) heights(w http.ResponseWriter, r *http.Request) {
	state, err := s.current()
	if err != nil {
		http.Error(w, err.Error(), http.StatusConflict)
		return
	}
	g, stride := state.Assessor.Shoot.Ground(), strideOf(state.Assessor.Shoot)
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Cache-Control", "no-cache")
	var out bytes.Buffer
	row := make([]float32, 0, g.NX)
	for j := 0; j < g.NY; j += stride {
		row = row[:0]
		for i := 0; i < g.NX; i += stride {
			row = append(row, g.Z[j*g.NX+i])
		}
		_ = binary.Write(&out, binary.LittleEndian, row) // into memory: cannot fail
	}
	w.Write(out.Bytes())
}

const tileSize = 256

// tile sends one Web Mercator tile of heights as colours: red·256 + green + blue/256 - 32768 metres.
// Ground that is not known is sent as the lowest height known.
func (s *Server) tile(w http.ResponseWriter, r *http.Request) {
	state, err := s.current()
	if err != nil {
		http.Error(w, err.Error(), http.StatusConflict)
		return
	}
	z, err1 := strconv.Atoi(r.PathValue("z"))
	x, err2 := strconv.Atoi(r.PathValue("x"))
	y, err3 := strconv.Atoi(r.PathValue("y"))
	if err1 != nil || err2 != nil || err3 != nil || z < 0 || z > 18 || x < 0 || y < 0 || x >= 1<<z || y >= 1<<z {
		http.Error(w, "no such tile", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", "image/png")
	w.Header().Set("Cache-Control", "no-cache")
	w.Write(s.tiles.get(state, [3]int{z, x, y}))
}

// tiles keeps the tiles of one terrain.
type tiles struct {
	mu  sync.Mutex
	of  *State
	all map[[3]int][]byte
}

func (t *tiles) get(state *State, at [3]int) []byte {
	t.mu.Lock()
	if t.of != state || t.all == nil {
		t.of, t.all = state, map[[3]int][]byte{}
	}
	got := t.all[at]
	t.mu.Unlock()
	if got != nil {
		return got
	}
	got = drawTile(state, at)
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.of == state && len(t.all) < 512 {
		t.all[at] = got
	}
	return got
}

func drawTile(state *State, at [3]int) []byte {
	s := state.Assessor.Shoot
	g, frame := s.Ground(), s.Frame()
	low, _, _ := g.MinMax()
	img := image.NewNRGBA(image.Rect(0, 0, tileSize, tileSize))
	n := math.Exp2(float64(at[0])) * tileSize
	for j := range tileSize {
		lat := math.Atan(math.Sinh(math.Pi * (1 - 2*(float64(at[2]*tileSize+j)+0.5)/n)))
		for i := range tileSize {
			lon := ((float64(at[1]*tileSize+i)+0.5)/n*360 - 180) * math.Pi / 180
			p := frame.ToSite(geo.LatLon{Lat: unit.Angle(lat), Lon: unit.Angle(lon)}, 0)
			z, ok := g.HeightAt(p.X, p.Y)
			if !ok {
				z = low
			}
			v := int(math.Round((z + 32768) * 256))
			img.SetNRGBA(i, j, color.NRGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255})
		}
	}
	var out bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	_ = encoder.Encode(&out, img) // into memory: cannot fail
	return out.Bytes()
}
