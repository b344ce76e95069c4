// Command generate makes the invented valley of the demo shoot: an elevation
// grid, what stands on it, a base map, the milk truck's run and the forecast. The same seed gives the same
// bytes. Nothing here is measured; it is scenery, never an oracle.
//
//	go run ./examples/last-milk-run/generate -o examples/last-milk-run
package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
)

const (
	halfM = 3600.0 // the grid reaches this far around the origin
	cellM = 10.0
	seed  = 20260922
)

var frame = geo.NewFrame(geo.Degrees(46.6, 10.3))

func main() {
	out := flag.String("o", "examples/last-milk-run", "shoot folder to write into")
	flag.Parse()
	must(writeTerrain(filepath.Join(*out, "terrain.tif")))
	must(writeSite(filepath.Join(*out, "site.geojson")))
	must(writeTruck(filepath.Join(*out, "tracks", "truck.csv")))
	must(writeSheet(filepath.Join(*out, "sheet.png")))
	for _, p := range []struct {
		name string
		x, y float64
	}{{"chapel", chapelX, chapelY}, {"bridge", bridgeX, stream(bridgeX)}, {"hamlet", 40, 90}, {"dairy", dairyX, dairyY}, {"bell", chapelX - 5, chapelY}, {"hairpins", 450, 460}} {
		at := frame.ToLatLon(geo.Vec3{X: p.x, Y: p.y})
		fmt.Printf("%-9s %.6f N, %.6f E  %.1f m\n", p.name, at.Lat.Deg(), at.Lon.Deg(), height(p.x, p.y))
	}
}

func must(err error) {
	if err != nil {
		log.Fatal("generate: ", err)
	}
}

const (
	chapelX, chapelY = -620.0, 210.0
	bridgeX          = 300.0
	dairyX, dairyY   = 690.0, 905.0
)

// stream is the northing of the valley's thread.
func stream(x float64) float64 { return 230 * math.Sin(x/1300) }

// height is the invented land: a valley that climbs eastward between two ridges.
func height(x, y float64) float64 {
	floor := 1385 + 0.043*(x+halfM)
	across := y - stream(x)
	crest, reach := 900+140*math.Sin(x/900+1), 2500.0 // north
	if across < 0 {
		crest, reach = 1120+160*math.Sin(x/1100), 2150
	}
	d := math.Abs(across)
	rise := smooth((d - 140) / reach)
	h := floor + crest*rise + 0.05*max(0, d-40)
	h += rough(x, y) * (6 + 150*math.Sqrt(rise)*(0.35+0.65*rise))
	h += 24 * math.Exp(-(sq(x-chapelX)+sq(y-chapelY))/(2*sq(70))) // the chapel's knoll
	h -= 11 * math.Exp(-sq(across)/(2*sq(14)))                    // the stream's cut
	head := smooth((x - 1500) / 2200)                             // the valley's head
	h += 520 * head * head
	return min(2600, max(1350, h))
}

func smooth(t float64) float64 {
	t = max(0, min(1, t))
	return t * t * (3 - 2*t)
}

func sq(v float64) float64 { return v * v }

// rough is five octaves of value noise in about [-1, 1].
func rough(x, y float64) float64 {
	sum, gain, size := 0.0, 1.0, 900.0
	for octave := range 5 {
		sum += gain * noise(x/size, y/size, uint64(octave))
		gain, size = gain/2, size/2.1
	}
	return sum / 1.6
}

func noise(x, y float64, octave uint64) float64 {
	i, j := math.Floor(x), math.Floor(y)
	u, v := smooth(x-i), smooth(y-j)
	at := func(di, dj float64) float64 { return lattice(int64(i+di), int64(j+dj), octave) }
	return (at(0, 0)*(1-u)+at(1, 0)*u)*(1-v) + (at(0, 1)*(1-u)+at(1, 1)*u)*v
}

// lattice hashes a grid point to [-1, 1] (SplitMix64's finaliser).
func lattice(i, j int64, octave uint64) float64 {
	z := uint64(i)*0x9E3779B97F4A7C15 ^ uint64(j)*0xC2B2AE3D27D4EB4F ^ (seed+octave)*0x165667B19E3779F9
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	z ^= z >> 31
	return float64(z>>11)/(1<<52) - 1
}

func writeTerrain(path string) error {
	corner, err := geo.ToUTM(frame.Origin())
	if err != nil {
		return err
	}
	n := int(2 * halfM / cellM)
	west, north := math.Round(corner.EastingM/cellM)*cellM-halfM, math.Round(corner.NorthingM/cellM)*cellM+halfM
	z := make([]float32, n*n)
	utm, err := geo.UTMProjection(corner.Zone, true)
	if err != nil {
		return err
	}
	for row := range n {
		for col := range n {
			at := utm.Inverse(west+(float64(col)+0.5)*cellM, north-(float64(row)+0.5)*cellM)
			p := frame.ToSite(at, 0)
			z[row*n+col] = float32(math.Round(height(p.X, p.Y)*50) / 50)
		}
	}
	crs, err := terrain.EPSG(32600 + corner.Zone)
	if err != nil {
		return err
	}
	return save(path, func(f *os.File) error {
		return terrain.WriteGeoTIFF(f, terrain.Image{CRS: crs, West: west, North: north, CellX: cellM, CellY: cellM, Width: n, Height: n, Z: z, VerticalEPSG: 5773})
	})
}

func save(path string, write func(*os.File) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}

type feature struct {
	Type       string         `json:"type"`
	Properties map[string]any `json:"properties"`
	Geometry   map[string]any `json:"geometry"`
}

func lonLat(x, y float64) []float64 {
	p := frame.ToLatLon(geo.Vec3{X: x, Y: y})
	return []float64{math.Round(p.Lon.Deg()*1e7) / 1e7, math.Round(p.Lat.Deg()*1e7) / 1e7}
}

func point(x, y float64, properties map[string]any) feature {
	return feature{"Feature", properties, map[string]any{"type": "Point", "coordinates": lonLat(x, y)}}
}

func line(xy [][2]float64, properties map[string]any) feature {
	c := make([][]float64, len(xy))
	for i, p := range xy {
		c[i] = lonLat(p[0], p[1])
	}
	return feature{"Feature", properties, map[string]any{"type": "LineString", "coordinates": c}}
}

// polygon takes corners anticlockwise, as RFC 7946 wants its outer rings.
func polygon(xy [][2]float64, properties map[string]any) feature {
	f := line(append(xy, xy[0]), properties)
	f.Geometry["type"] = "Polygon"
	f.Geometry["coordinates"] = []any{f.Geometry["coordinates"]}
	return f
}

func box(x, y, width, depth float64, turn float64, properties map[string]any) feature {
	s, c := math.Sincos(turn * math.Pi / 180)
	var corners [][2]float64
	for _, k := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := k[0]*width/2, k[1]*depth/2
		corners = append(corners, [2]float64{x + u*c - v*s, y + u*s + v*c})
	}
	return polygon(corners, properties)
}

type props = map[string]any

func writeSite(path string) error {
	var all []feature
	add := func(f ...feature) { all = append(all, f...) }
	add(box(chapelX, chapelY, 14, 8, 8, props{"kind": "building", "name": "chapel nave", "height": "9 m"}),
		box(chapelX-9, chapelY-1.2, 4, 4, 8, props{"kind": "building", "name": "chapel tower", "height": "17 m"}),
		box(dairyX, dairyY, 22, 11, 20, props{"kind": "building", "name": "dairy", "height": "8 m"}),
		box(dairyX+34, dairyY-12, 12, 9, 20, props{"kind": "building", "name": "cow shed", "height": "6 m"}))
	for i, h := range [][3]float64{{0, 70, 5}, {28, 92, 12}, {55, 74, -4}, {78, 108, 20}, {20, 128, 8}, {52, 140, 15}} {
		add(box(h[0], h[1], 12, 10, h[2], props{"kind": "building", "name": fmt.Sprintf("house %d", i+1), "height": "9 m"}),
			point(h[0], h[1], props{"kind": "home", "name": fmt.Sprintf("house %d", i+1)}))
	}
	add(polygon([][2]float64{{-25, 50}, {100, 50}, {105, 160}, {-20, 165}}, props{"kind": "people", "name": "hamlet", "count": 18}),
		box(bridgeX, stream(bridgeX), 7, 46, -12, props{"kind": "bridge", "name": "stone bridge", "height": "2 m"}),
		point(chapelX+32, chapelY+18, props{"kind": "tree", "name": "larch by the chapel", "height": "16 m", "spread": "4 m"}),
		point(chapelX+30, chapelY-16, props{"kind": "tree", "name": "maple by the chapel", "height": "12 m", "spread": "5 m"}),
		point(380, 330, props{"kind": "tree", "name": "spruce at the first bend", "height": "21 m", "spread": "4 m"}),
		point(640, 690, props{"kind": "tree", "name": "spruce at the last bend", "height": "19 m", "spread": "4 m"}))
	var wire [][2]float64
	for i, y := range []float64{-520, -260, 0, 260} {
		wire = append(wire, [2]float64{1010, y})
		add(point(1010, y, props{"kind": "mast", "name": fmt.Sprintf("power mast %d", i+1), "height": "22 m", "spread": "1.5 m"}))
	}
	add(line(wire, props{"kind": "wire", "name": "power line", "height": "19 m", "sag": "4 m"}))
	run := road()
	add(line(run, props{"kind": "road", "name": "dairy road", "width": "4 m"}),
		polygon([][2]float64{{-1500, -800}, {1300, -800}, {1300, 1300}, {-1500, 1300}},
			props{"kind": "area", "name": "valley permit", "status": "permitted", "floor": "0 m", "ceiling": "120 m", "reference": "ground"}),
		polygon([][2]float64{{1320, 150}, {2900, 150}, {2900, 1900}, {1320, 1900}},
			props{"kind": "area", "name": "grouse reserve", "status": "out of bounds", "floor": "0 m", "ceiling": "300 m", "reference": "ground", "note": "closed to aircraft all year"}),
		point(chapelX+75, chapelY-75, props{"kind": "launch", "name": "chapel meadow"}),
		point(dairyX-60, dairyY-45, props{"kind": "launch", "name": "dairy yard"}),
		point(440, 300, props{"kind": "launch", "name": "first bend"}),
		point(-150, 70, props{"kind": "launch", "name": "hay meadow"}),
		point(-250, 40, props{"kind": "landing", "name": "hay field"}),
		point(150, 240, props{"kind": "landing", "name": "gravel bar"}),
		point(500, 760, props{"kind": "landing", "name": "alp terrace"}),
		point(520, 430, props{"kind": "observer", "name": "hairpin rock"}),
		point(chapelX+60, chapelY-60, props{"kind": "set", "name": "video village, chapel", "count": 6}))
	// One feature a line, so that a change reads well.
	var b strings.Builder
	b.WriteString("{\"type\":\"FeatureCollection\",\"features\":[\n")
	for i, f := range all {
		text, err := json.Marshal(f)
		if err != nil {
			return err
		}
		b.Write(text)
		if i < len(all)-1 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
	}
	b.WriteString("]}\n")
	return os.WriteFile(path, []byte(b.String()), 0o644)
}

// road runs along the floor from the west, passes the hamlet and climbs to the dairy, as a smooth curve
// with a place every few metres.
func road() [][2]float64 {
	var r [][2]float64
	for x := -2400.0; x <= 250; x += 50 {
		r = append(r, [2]float64{x, stream(x) + 42})
	}
	r = append(r, [][2]float64{{330, 150}, {400, 210}, {520, 270}, {620, 330}, {645, 355}, {628, 382}, {540, 400}, {440, 428}, {400, 455}, {418, 490},
		{520, 520}, {630, 560}, {662, 590}, {640, 622}, {560, 650}, {500, 690}, {510, 730}, {570, 780}, {630, 840}, {668, 885}}...)
	return smoothed(r)
}

// smoothed is the uniform Catmull-Rom curve through the points, cut about every 8 m.
func smoothed(way [][2]float64) (out [][2]float64) {
	at := func(i int) [2]float64 { return way[max(0, min(len(way)-1, i))] }
	for i := 0; i+1 < len(way); i++ {
		p0, p1, p2, p3 := at(i-1), at(i), at(i+1), at(i+2)
		n := max(1, int(math.Hypot(p2[0]-p1[0], p2[1]-p1[1])/8))
		for k := range n {
			t := float64(k) / float64(n)
			var q [2]float64
			for axis := range 2 {
				a, b, c, d := p0[axis], p1[axis], p2[axis], p3[axis]
				q[axis] = 0.5 * (2*b + (c-a)*t + (2*a-5*b+4*c-d)*t*t + (3*b-a-3*c+d)*t*t*t)
			}
			out = append(out, [2]float64{math.Round(q[0]*100) / 100, math.Round(q[1]*100) / 100})
		}
	}
	return append(out, way[len(way)-1])
}

// writeTruck drives the last 1.6 km of the road at 7 m/s, slower in the bends.
func writeTruck(path string) error {
	way := road()
	from := 0
	for i, p := range way {
		if p[0] >= 270 {
			from = i
			break
		}
	}
	var b strings.Builder
	b.WriteString("# invented: the milk truck's run from the bridge to the dairy, timed from its cue\n")
	b.WriteString("time [s],latitude [deg],longitude [deg]\n")
	t := 0.0
	for i := from; i < len(way); i++ {
		if i > from {
			speed := 7.0
			if i+1 < len(way) && turn(way[i-1], way[i], way[i+1]) > 0.12 {
				speed = 4
			}
			t += math.Hypot(way[i][0]-way[i-1][0], way[i][1]-way[i-1][1]) / speed
		}
		p := lonLat(way[i][0], way[i][1])
		fmt.Fprintf(&b, "%.1f,%.7f,%.7f\n", t, p[1], p[0])
	}
	return os.WriteFile(path, []byte(b.String()), 0o644)
}

func turn(a, b, c [2]float64) float64 {
	t := math.Atan2(c[1]-b[1], c[0]-b[0]) - math.Atan2(b[1]-a[1], b[0]-a[0])
	return math.Abs(math.Remainder(t, 2*math.Pi))
}
