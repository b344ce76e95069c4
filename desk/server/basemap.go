package server

import (
	"bytes"
	"fmt"
	"image/png"
	"net/http"
	"os"
	"strconv"
	"sync"
	"time"

	"fieldfare/model/basemap"
)

// SiteMap is the crew's own base map: tiles of a picture at /api/map/{z}/{x}/{y}, or a tile archive (PMTiles) at /api/map.
type SiteMap struct {
	Name    string     `json:"name"`
	Kind    string     `json:"kind" enum:"picture,archive"`
	Vector  bool       `json:"vector" doc:"the archive holds lines and areas instead of pictures"`
	Bounds  [4]float64 `json:"bounds" doc:"west, south, east, north in degrees"`
	MinZoom int        `json:"min_zoom"`
	MaxZoom int        `json:"max_zoom"`
}

func siteMap(m *basemap.Map) *SiteMap {
	if m == nil {
		return nil
	}
	return &SiteMap{m.Name, m.Kind, m.Vector, [4]float64{m.West, m.South, m.East, m.North}, m.MinZoom, m.MaxZoom}
}

// mapOf returns the base map of the newest state, or answers why there is none.
func (s *Server) mapOf(w http.ResponseWriter, kind string) *basemap.Map {
	state, err := s.current()
	if err != nil {
		http.Error(w, err.Error(), http.StatusConflict)
		return nil
	}
	m := state.Assessor.Shoot.Map()
	if m == nil || m.Kind != kind {
		http.Error(w, "the shoot has no base map of this kind", http.StatusNotFound)
		return nil
	}
	return m
}

// mapArchive sends parts of the tile archive, as they are asked for by byte range.
func (s *Server) mapArchive(w http.ResponseWriter, r *http.Request) {
	m := s.mapOf(w, basemap.Archive)
	if m == nil {
		return
	}
	root, err := os.OpenRoot(s.Dir) // never a file outside the folder, whatever links lie in it
	if err != nil {
		http.Error(w, "the shoot folder cannot be opened", http.StatusConflict)
		return
	}
	defer root.Close()
	f, err := root.Open(m.Name)
	if err != nil {
		http.Error(w, "the base map cannot be opened", http.StatusConflict)
		return
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() {
		http.Error(w, "the base map cannot be read", http.StatusConflict)
		return
	}
	w.Header().Set("Content-Type", "application/vnd.pmtiles")
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Set("ETag", fmt.Sprintf("\"%x-%x\"", info.Size(), info.ModTime().UnixNano()))
	http.ServeContent(w, r, m.Name, info.ModTime(), f)
}

// mapTile sends one Web Mercator tile of a picture; where it covers nothing there is no content.
func (s *Server) mapTile(w http.ResponseWriter, r *http.Request) {
	m := s.mapOf(w, basemap.Picture)
	if m == nil {
		return
	}
	z, err1 := strconv.Atoi(r.PathValue("z"))
	x, err2 := strconv.Atoi(r.PathValue("x"))
	y, err3 := strconv.Atoi(r.PathValue("y"))
	if err1 != nil || err2 != nil || err3 != nil || z < 0 || z > 20 || x < 0 || y < 0 || x >= 1<<z || y >= 1<<z {
		http.Error(w, "no such tile", http.StatusNotFound)
		return
	}
	sheet, err := s.sheets.get(s.Dir, m)
	if err != nil {
		http.Error(w, "the base map cannot be read: "+err.Error(), http.StatusConflict)
		return
	}
	w.Header().Set("Cache-Control", "no-cache")
	tile, ok := sheet.Tile(z, x, y)
	if !ok {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	var out bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	_ = encoder.Encode(&out, tile) // into memory: cannot fail
	w.Header().Set("Content-Type", "image/png")
	w.Write(out.Bytes())
}

// sheets keeps the picture of the newest base map in memory.
type sheets struct {
	mu    sync.Mutex
	of    basemap.Map
	at    time.Time // when its file was written
	sheet *basemap.Sheet
}

func (k *sheets) get(dir string, m *basemap.Map) (*basemap.Sheet, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	info, err := root.Stat(m.Name)
	if err != nil {
		return nil, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.sheet != nil && k.of == *m && k.at.Equal(info.ModTime()) {
		return k.sheet, nil
	}
	sheet, err := basemap.Open(root.FS(), m)
	if err != nil {
		return nil, err
	}
	k.of, k.at, k.sheet = *m, info.ModTime(), sheet
	return sheet, nil
}
