package server

import (
	"context"
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/shoot"
)

// Site is the place as the page draws it: the site frame is x east, y north, metres; heights
// are above sea level.
type Site struct {
	Version  int64        `json:"version"`
	Name     string       `json:"name"`
	Origin   [2]float64   `json:"origin" doc:"longitude, latitude"`
	Terrain  TerrainInfo  `json:"terrain"`
	Map      *SiteMap     `json:"map" doc:"null: the shoot names none"`
	Features []SiteThing  `json:"features" nullable:"false"`
	Subjects []SubjectBox `json:"subjects" nullable:"false"`
}

// TerrainInfo says how to read the terrain's bytes: little-endian 32-bit floats, row by row from
// the south-west corner, NaN where nothing is known.
type TerrainInfo struct {
	X0M     float64        `json:"x0_m"`
	Y0M     float64        `json:"y0_m"`
	CellM   float64        `json:"cell_m"`
	Columns int            `json:"columns"`
	Rows    int            `json:"rows"`
	LowM    float64        `json:"low_m"`
	HighM   float64        `json:"high_m"`
	Datum   string         `json:"datum"`
	Lattice [][][2]float64 `json:"lattice" nullable:"false" doc:"longitude and latitude of a coarse grid over the terrain, rows from the south"`
}

// SiteThing is one feature.
type SiteThing struct {
	Name     string       `json:"name"`
	Kind     string       `json:"kind"`
	Shape    string       `json:"shape" enum:"point,line,polygon"`
	XYZ      [][3]float64 `json:"xyz" nullable:"false"`
	LonLat   [][2]float64 `json:"lon_lat" nullable:"false"`
	HeightM  float64      `json:"height_m"`
	SpreadM  float64      `json:"spread_m"`
	SagM     float64      `json:"sag_m"`
	WidthM   float64      `json:"width_m"`
	Status   string       `json:"status"`
	FloorM   float64      `json:"floor_m"`
	CeilingM *float64     `json:"ceiling_m" doc:"null: open above"`
	From     string       `json:"reference"`
	Note     string       `json:"note"`
}

// SubjectBox is a subject of the frames; a moving one has a way.
type SubjectBox struct {
	Name      string     `json:"name"`
	FootXYZ   [3]float64 `json:"foot_xyz"`
	LonLat    [2]float64 `json:"lon_lat"`
	WidthM    float64    `json:"width_m"`
	DepthM    float64    `json:"depth_m"`
	HeightM   float64    `json:"height_m"`
	FacingDeg float64    `json:"facing_deg"`
	Way       []WayPoint `json:"way" nullable:"false"`
}

// WayPoint is where a moving subject is at a time after its cue.
type WayPoint struct {
	TS        float64    `json:"t_s"`
	FootXYZ   [3]float64 `json:"foot_xyz"`
	FacingDeg float64    `json:"facing_deg"`
	LonLat    [2]float64 `json:"lon_lat"`
}

func xyz(p geo.Vec3) [3]float64 { return [3]float64{p.X, p.Y, p.Z} }

func lonLat(f geo.Frame, p geo.Vec3) [2]float64 {
	at := f.ToLatLon(p)
	return [2]float64{at.Lon.Deg(), at.Lat.Deg()}
}

func (s *Server) site(context.Context, *none) (*answer[Site], error) {
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	return with(siteOf(state)), nil
}

var shapes = map[shoot.Shape]string{shoot.Point: "point", shoot.Line: "line", shoot.Polygon: "polygon"}

func siteOf(state *State) Site {
	s := state.Assessor.Shoot
	f := s.Frame()
	origin := f.Origin()
	out := Site{Version: state.Version, Name: s.Site.Name, Origin: [2]float64{origin.Lon.Deg(), origin.Lat.Deg()}, Features: []SiteThing{}, Subjects: []SubjectBox{}}
	out.Terrain, out.Map = terrainInfo(s), siteMap(s.Map())
	for _, x := range s.Features() {
		thing := SiteThing{Name: x.Name, Kind: x.Kind, Shape: shapes[x.Shape], XYZ: [][3]float64{}, LonLat: [][2]float64{}, HeightM: x.HeightM, SpreadM: x.SpreadM, SagM: x.SagM,
			WidthM: x.WidthM, Status: x.Status, FloorM: x.FloorM, From: x.Reference, Note: x.Note}
		if x.Kind == shoot.Area && !math.IsInf(x.CeilingM, 0) {
			ceiling := x.CeilingM
			thing.CeilingM = &ceiling
		}
		for _, p := range x.Places {
			thing.XYZ, thing.LonLat = append(thing.XYZ, xyz(p)), append(thing.LonLat, lonLat(f, p))
		}
		out.Features = append(out.Features, thing)
	}
	subjects := state.Assessor.Subjects()
	for i := range s.Subjects {
		name := s.Subjects[i].Name
		subject := subjects[name]
		if subject == nil {
			continue
		}
		m, _ := subject.At(0)
		box := SubjectBox{Name: name, FootXYZ: xyz(m.Box.Foot), LonLat: lonLat(f, m.Box.Foot), WidthM: m.Box.WidthM, DepthM: m.Box.DepthM, HeightM: m.Box.HeightM, FacingDeg: m.Box.Facing.Deg(), Way: []WayPoint{}}
		if way := s.Way(name); len(way) > 0 && subject.Moves() {
			last := way[len(way)-1].TimeS
			for t := 0.0; t <= last; t += 0.5 {
				m, _ := subject.At(t)
				box.Way = append(box.Way, WayPoint{t, xyz(m.Box.Foot), m.Box.Facing.Deg(), lonLat(f, m.Box.Foot)})
			}
		}
		out.Subjects = append(out.Subjects, box)
	}
	return out
}

// latticeCells is how many cells of longitude and latitude span the terrain each way.
const latticeCells = 8

func terrainInfo(s *shoot.Shoot) TerrainInfo {
	g, stride := s.Ground(), strideOf(s)
	info := TerrainInfo{X0M: g.X0, Y0M: g.Y0, CellM: g.CellM * float64(stride), Columns: (g.NX-1)/stride + 1, Rows: (g.NY-1)/stride + 1, Datum: s.Datum().Name}
	info.LowM, info.HighM, _ = g.MinMax()
	width, height := float64(info.Columns-1)*info.CellM, float64(info.Rows-1)*info.CellM
	for j := 0; j <= latticeCells; j++ {
		var row [][2]float64
		for i := 0; i <= latticeCells; i++ {
			row = append(row, lonLat(s.Frame(), geo.Vec3{X: g.X0 + width*float64(i)/latticeCells, Y: g.Y0 + height*float64(j)/latticeCells}))
		}
		info.Lattice = append(info.Lattice, row)
	}
	return info
}

// sentNodes bounds what goes to a page: 700 × 700 heights are 2 MB.
const sentNodes = 700

func strideOf(s *shoot.Shoot) int {
	g := s.Ground()
	return (max(g.NX, g.NY) + sentNodes - 1) / sentNodes
}
