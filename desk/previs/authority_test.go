package previs_test

import (
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"testing"

	"fieldfare/desk/previs"
	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/sky"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
)

type view struct {
	Pos          [3]float64 `json:"pos_m"`
	AzimuthDeg   float64    `json:"azimuth_deg"`
	TiltDeg      float64    `json:"tilt_deg"`
	RollDeg      float64    `json:"roll_deg"`
	FocalM       float64    `json:"focal_m"`
	SensorWidthM float64    `json:"sensor_width_m"`
	SensorHeight float64    `json:"sensor_height_m"`
	SunAzimuth   float64    `json:"sun_azimuth_deg"`
	SunAltitude  float64    `json:"sun_altitude_deg"`
}

func (v view) camera(w, h int) lens.Camera {
	return lens.Camera{FocalM: v.FocalM, SensorWidthM: v.SensorWidthM, SensorHeightM: v.SensorHeight, PixelsW: w, PixelsH: h}
}

func degrees(v float64) unit.Angle { return unit.Angle(v) * unit.Degree }

func (v view) pose() lens.Pose {
	return lens.Pose{Pos: geo.Vec3{X: v.Pos[0], Y: v.Pos[1], Z: v.Pos[2]}, Azimuth: degrees(v.AzimuthDeg), Tilt: degrees(v.TiltDeg), Roll: degrees(v.RollDeg)}
}

// moment is a clear day with the sun where the authority's lamp stands.
func (v view) moment() previs.Moment { return clearDay(v.SunAzimuth, v.SunAltitude) }

func clearDay(azimuthDeg, altitudeDeg float64) previs.Moment {
	sun := sky.Position{Altitude: degrees(altitudeDeg), AirlessAltitude: degrees(altitudeDeg), Azimuth: degrees(azimuthDeg), Semidiameter: degrees(0.266)}
	return previs.Moment{Sun: sun, Daylight: sky.Instant{}.Daylight(sun, sky.Clear)}
}

func readPNG(t *testing.T, path string) image.Image {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(path, err)
	}
	return img
}

func authority(t *testing.T) (*terrain.Grid, []view) {
	t.Helper()
	var all struct {
		Cell  float64 `json:"cell_m"`
		Low   float64 `json:"low_m"`
		High  float64 `json:"high_m"`
		Views []view  `json:"views"`
	}
	src, err := os.ReadFile("testdata/authority/views.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(src, &all); err != nil {
		t.Fatal(err)
	}
	heights := readPNG(t, "testdata/authority/ground.png").(*image.Gray16)
	n := heights.Rect.Dx()
	span := float64(n-1) * all.Cell
	g, err := terrain.NewGrid(geo.Bounds{MaxX: span, MaxY: span}, all.Cell)
	if err != nil {
		t.Fatal(err)
	}
	for j := range n {
		for i := range n {
			g.Z[j*n+i] = float32(all.Low + float64(heights.Gray16At(i, n-1-j).Y)/65535*(all.High-all.Low))
		}
	}
	return g, all.Views
}

// Skyline and shadows against POV-Ray 3.7's own height field (testdata/authority/povray.py): skyline within one
// pixel in 99 % of the columns, sunlit or shaded alike in 98 % of the ground's pixels.
func TestSkylineAndShadowsAgainstRayTracer(t *testing.T) {
	g, views := authority(t)
	scene := previs.Bare(g)
	for k, v := range views {
		t.Run(fmt.Sprint(k), func(t *testing.T) {
			want := readPNG(t, fmt.Sprintf("testdata/authority/view_%d.png", k)).(*image.Paletted)
			w, h := want.Rect.Dx(), want.Rect.Dy()
			got, _ := previs.Survey(scene, v.camera(w, h), v.pose(), v.moment())
			within, worst := 0, 0
			for x := range w {
				top := func(kind func(y int) uint8) int {
					for y := range h {
						if kind(y) != previs.Sky {
							return y
						}
					}
					return h
				}
				off := top(func(y int) uint8 { return got[y*w+x] }) - top(func(y int) uint8 { return want.ColorIndexAt(x, y) })
				off = max(off, -off)
				worst = max(worst, off)
				if off <= 1 {
					within++
				}
			}
			same, ground := 0, 0
			for y := range h {
				for x := range w {
					a, b := got[y*w+x], want.ColorIndexAt(x, y)
					if a == previs.Sky || b == previs.Sky {
						continue
					}
					ground++
					if a == b {
						same++
					}
				}
			}
			t.Logf("skyline within 1 px in %.2f %% of columns, worst %d px; sun and shade alike in %.2f %%", 100*float64(within)/float64(w), worst, 100*float64(same)/float64(ground))
			if float64(within) < 0.99*float64(w) {
				t.Errorf("skyline within 1 px in %d of %d columns", within, w)
			}
			if float64(same) < 0.98*float64(ground) {
				t.Errorf("sun and shade alike in %d of %d pixels", same, ground)
			}
		})
	}
}

// A pixel's depth leads back to ground: the point at that depth along lens.View.Ray lies on the bilinear
// surface, and lens.Project puts it back on the pixel.
func TestPixelsLieWhereTheLensPutsThem(t *testing.T) {
	g, views := authority(t)
	scene := previs.Bare(g)
	for k, v := range views {
		const w, h = 320, 180
		c := v.camera(w, h)
		_, depth := previs.Survey(scene, c, v.pose(), v.moment())
		look := c.View(v.pose())
		seen := 0
		for y := 0; y < h; y += 3 {
			for x := 0; x < w; x += 3 {
				d := depth[y*w+x]
				if d == 0 {
					continue
				}
				seen++
				ray := look.Ray(float64(x)+0.5, float64(y)+0.5)
				at := look.Pos.Add(ray.Scale(d / ray.Dot(look.Forward)))
				z, ok := g.HeightAt(at.X, at.Y)
				if !ok || math.Abs(z-at.Z) > 0.02+2e-6*d {
					t.Fatalf("view %d pixel %d, %d: the ground is at %.3f m, the pixel at %.3f m", k, x, y, z, at.Z)
				}
				px, py, _, ok := c.Project(v.pose(), at)
				if !ok || math.Hypot(px-float64(x)-0.5, py-float64(y)-0.5) > 0.01 {
					t.Fatalf("view %d pixel %d, %d comes back at %.3f, %.3f", k, x, y, px, py)
				}
			}
		}
		if seen < 500 {
			t.Fatalf("view %d: only %d pixels of ground", k, seen)
		}
	}
}
