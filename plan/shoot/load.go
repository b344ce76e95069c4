package shoot

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path"
	"path/filepath"
	"sort"
	"strings"
	"time"
	_ "time/tzdata" // a zone must be found on a machine without a zone database

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/metar"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
	"fieldfare/plan/rule"
)

// FileName is the shoot file's name in its folder.
const FileName = "shoot.yaml"

// largest text file that is read: a shoot file of a feature has some hundred kilobytes.
const largest = 64 << 20

// folder reads files of the shoot and never outside it.
type folder struct{ root *os.Root }

func (f folder) read(name string) ([]byte, error) {
	file, err := f.root.Open(filepath.FromSlash(path.Clean(name)))
	if err != nil {
		return nil, err
	}
	defer file.Close()
	src, err := io.ReadAll(io.LimitReader(file, largest+1))
	if len(src) > largest {
		return nil, fmt.Errorf("larger than %d MB", largest>>20)
	}
	return src, err
}

// Load reads a shoot folder and everything its shoot file names. The error is a
// Mistakes with every mistake found, or the plain error of a folder that cannot be opened.
func Load(dir string) (*Shoot, error) { return Reload(dir, nil) }

// Reload reads a shoot folder like Load. From a version read earlier, if there is one, it takes over the
// resampled terrain where file and site frame are the same, which costs more than all else together.
func Reload(dir string, was *Shoot) (*Shoot, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		mend := "name the shoot's folder"
		if errors.Is(err, fs.ErrNotExist) {
			mend = "`fieldfare new " + dir + "` starts one"
		}
		return nil, &fileError{"cannot open shoot folder", dir, err, mend}
	}
	defer root.Close()
	f := folder{root}
	src, err := f.read(FileName)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s holds no %s; `fieldfare new %s` writes one to start from", dir, FileName, dir)
		}
		return nil, &fileError{"cannot read", filepath.Join(dir, FileName), err, "put the shoot file itself into the folder"}
	}
	return f.parse(src, was)
}

// parse reads src as the shoot file of the folder.
func (f folder) parse(src []byte, was *Shoot) (*Shoot, error) {
	s := &Shoot{folder: f, marks: marks{}, Site: Site{Refraction: 0.13}, weather: weather{spells: &spells{}}}
	wrong := decode(FileName, src, s, s.marks)
	wrong = append(wrong, s.shelf()...)
	if len(wrong) == 0 || s.Site.Name != "" {
		wrong = append(wrong, s.surroundings(was)...)
	}
	wrong = append(wrong, s.check()...)
	if len(wrong) > 0 {
		sort.SliceStable(wrong, func(i, j int) bool {
			if wrong[i].File != wrong[j].File {
				return wrong[i].File == FileName
			}
			return wrong[i].Line < wrong[j].Line
		})
		return nil, wrong
	}
	return s, nil
}

// shelf reads every kit file, in name order, into one shelf.
func (s *Shoot) shelf() Mistakes {
	s.kit = &Kit{}
	entries, err := fs.ReadDir(s.folder.root.FS(), "kit")
	if errors.Is(err, fs.ErrNotExist) {
		return Mistakes{{File: "kit", What: "the folder has no kit shelf", Mend: "add kit/NAME.yaml with airframes, cameras, lenses, filters and packs"}}
	}
	if err != nil {
		return Mistakes{{File: "kit", What: "cannot read the shelf: " + Why(err), Mend: "it is a folder with files such as shelf.yaml"}}
	}
	var wrong Mistakes
	for _, e := range entries {
		if e.IsDir() || !strings.HasSuffix(e.Name(), ".yaml") {
			continue
		}
		name := path.Join("kit", e.Name())
		src, err := s.folder.read(name)
		if err != nil {
			wrong = append(wrong, Mistake{File: name, What: "cannot be read: " + Why(err), Mend: "put the file itself there, readable"})
			continue
		}
		var k Kit
		m := marks{}
		wrong = append(wrong, decode(name, src, &k, m)...)
		wrong = append(wrong, s.kit.merge(&k, m)...)
	}
	return wrong
}

func (s *Shoot) surroundings(was *Shoot) Mistakes {
	var wrong Mistakes
	fail := func(at, value, what, mend string) { wrong = append(wrong, s.marks.at(at, what, mend, value)) }
	if s.Zone != "" {
		zone, err := time.LoadLocation(s.Zone)
		if err != nil || s.Zone == "Local" {
			fail("zone", s.Zone, fmt.Sprintf("%q is not a time zone of the IANA database", s.Zone), "write one as Europe/Zurich")
		} else {
			s.location = zone
		}
	}
	s.frame = geo.NewFrame(geo.LatLon(s.Site.Origin))
	if s.Site.Terrain != "" {
		if err := s.openGround(was); err != nil {
			fail("site.terrain", s.Site.Terrain, Why(err), "put an elevation file there that covers the site: GeoTIFF, SRTM HGT or ESRI ASCII")
		}
	}
	if s.Site.Features != "" {
		src, err := s.folder.read(s.Site.Features)
		if err != nil {
			fail("site.features", s.Site.Features, "cannot be read: "+Why(err), "put the file beside "+FileName)
		} else {
			var more Mistakes
			s.features, more = features(s.Site.Features, src, s.frame, s.ground, s.location, "")
			wrong = append(wrong, more...)
		}
	}
	wrong = append(wrong, s.openMap()...)
	wrong = append(wrong, s.airspace()...)
	wrong = append(wrong, s.documents()...)
	wrong = append(wrong, s.safety()...)
	if s.ground != nil {
		s.ways = map[string][]Waypoint{}
		for i := range s.Subjects {
			x := &s.Subjects[i]
			if x.Track == "" {
				continue
			}
			way, err := s.track(x)
			if err != nil {
				fail(fmt.Sprintf("subjects[%d].track", i), x.Track, err.Error(), "")
			}
			s.ways[x.Name] = way
		}
	}
	wrong = append(wrong, s.rules()...)
	if s.Forecast != "" {
		src, err := s.folder.read(s.Forecast)
		if err != nil {
			fail("forecast", s.Forecast, "cannot be read: "+Why(err), "put the file beside "+FileName)
		} else if s.location != nil {
			table, err := air.ReadTable(bytes.NewReader(src), s.Forecast, time.Hour)
			if err != nil {
				wrong = append(wrong, Mistake{File: s.Forecast, What: strings.TrimLeft(strings.TrimPrefix(err.Error(), s.Forecast), ": ")})
			}
			s.weather.table = table
		}
	}
	wrong = append(wrong, s.reports()...)
	return wrong
}

// rules finds the profiles that the shoot names: the crew's own in rules/, then the
// program's examples.
func (s *Shoot) rules() Mistakes {
	own, err := rule.Load(s.folder.root.FS(), "rules")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return Mistakes{{File: "rules", What: err.Error()}}
	}
	known := append(own, rule.Examples()...)
	for _, p := range known {
		s.permits = append(s.permits, p.Permits()...)
	}
	var wrong Mistakes
	for i, id := range s.Rules {
		p, err := rule.Find(known, id)
		if err != nil {
			wrong = append(wrong, s.marks.at(fmt.Sprintf("rules[%d]", i), err.Error(), "", id))
			continue
		}
		s.profiles = append(s.profiles, p)
	}
	return wrong
}

// reports adds METAR and TAF texts to the weather; what they do not state stays unknown.
func (s *Shoot) reports() Mistakes {
	var wrong Mistakes
	if len(s.Dates) == 0 || s.location == nil {
		return nil
	}
	near := s.Dates[0].Midnight(s.location).Add(12 * time.Hour)
	for i, text := range s.Reports {
		err := s.report(text, near)
		if err != nil {
			wrong = append(wrong, s.marks.at(fmt.Sprintf("reports[%d]", i), err.Error(), "paste the report whole", text))
		}
	}
	return wrong
}

func (s *Shoot) report(text string, near time.Time) error {
	if metar.LooksLikeForecast(text) {
		f, err := metar.ParseForecast(text)
		if err != nil {
			return err
		}
		expected, err := f.Expected(near)
		if err != nil {
			return err
		}
		s.weather.reports = append(s.weather.reports, expected)
		return nil
	}
	r, err := metar.ParseReport(text)
	if err != nil {
		return err
	}
	w, err := r.Observed(near, time.Hour)
	if err != nil {
		return err
	}
	s.weather.reports = append(s.weather.reports, air.Forecast{Periods: []air.Weather{w}})
	return nil
}

// land is what a resampled terrain was made from: while it is the same, so is the terrain.
type land struct {
	name   string // which tells the format
	digest [sha256.Size]byte
	origin geo.LatLon
	cellM  unit.Length
	crs    string
}

func (s *Shoot) openGround(was *Shoot) error {
	name := filepath.FromSlash(path.Clean(s.Site.Terrain))
	if !filepath.IsLocal(name) {
		return errors.New("leads out of the shoot folder: put the file beside " + FileName)
	}
	digest, err := s.folder.digest(name)
	if err != nil {
		return err
	}
	var crs terrain.CRS // the file's own
	if s.Site.TerrainCRS != "" {
		if crs, err = terrain.ParseCRS(s.Site.TerrainCRS); err != nil {
			return err
		}
	}
	s.land = land{name, digest, s.frame.Origin(), s.Site.Cell, s.Site.TerrainCRS}
	if was != nil && was.ground != nil && was.land == s.land {
		s.ground, s.datum = was.ground, was.datum
		return nil
	}
	file := filepath.Join(s.folder.root.Name(), name)
	source, err := terrain.Open(file, terrain.Options{CRS: crs})
	if err != nil {
		return errors.New(strings.TrimPrefix(Why(err), file+": "))
	}
	defer source.Close()
	s.datum = source.Datum
	cell := float64(s.Site.Cell)
	if cell == 0 {
		x, y := source.SpacingM()
		cell = min(x, y)
	}
	bounds := source.SiteBounds(s.frame)
	if bounds.MinX > reachM || bounds.MinY > reachM || bounds.MaxX < -reachM || bounds.MaxY < -reachM {
		return fmt.Errorf("its middle lies %.0f km from the site at %s: check N, S, E and W of origin: and the file's coordinate system",
			math.Hypot(bounds.MinX+bounds.MaxX, bounds.MinY+bounds.MaxY)/2000, s.Site.Origin)
	}
	bounds = geo.Bounds{MinX: max(bounds.MinX, -reachM), MinY: max(bounds.MinY, -reachM), MaxX: min(bounds.MaxX, reachM), MaxY: min(bounds.MaxY, reachM)}
	s.ground, err = terrain.Resample(source, s.frame, bounds, cell)
	return err
}

// digest is the SHA-256 of a file's bytes.
func (f folder) digest(name string) (sum [sha256.Size]byte, err error) {
	file, err := f.root.Open(name)
	if err != nil {
		return sum, err
	}
	defer file.Close()
	h := sha256.New()
	_, err = io.Copy(h, file)
	return [sha256.Size]byte(h.Sum(nil)), err
}

// reachM is how far around the origin terrain is kept for paths, skylines and pictures.
const reachM = 25_000
