package shoot

import (
	"errors"
	"fmt"
	"image"
	"io/fs"
	"os"
	"path"

	"fieldfare/model/basemap"
	"fieldfare/model/terrain"
)

// Map returns the crew's own base map, nil where the shoot file names none.
func (s *Shoot) Map() *basemap.Map { return s.basemap }

// MapCredit is whose base map it is: by the shoot file, else by the map's own; empty where neither says.
func (s *Shoot) MapCredit() string {
	if s.Site.MapCredit != "" || s.basemap == nil {
		return s.Site.MapCredit
	}
	return s.basemap.Credit
}

// DrawMap draws the base map into w × h pixels that lie where place says; what it does not cover is left clear. The error
// says why the map cannot be read.
func (s *Shoot) DrawMap(w, h int, place basemap.Place) (*image.NRGBA, error) {
	if s.basemap == nil {
		return nil, errors.New("the shoot file names no map")
	}
	root, err := os.OpenRoot(s.folder.root.Name()) // never a file outside the folder, whatever links lie in it
	if err != nil {
		return nil, err
	}
	defer root.Close()
	return basemap.Draw(root.FS(), s.basemap, w, h, place)
}

// openMap reads the head of the base map and holds its place against the site's.
func (s *Shoot) openMap() Mistakes {
	if s.Site.Map == "" {
		const mend = "add map: with the map's file, or remove this"
		switch {
		case s.Site.MapCRS != "":
			return Mistakes{s.marks.at("site.map_crs", "there is no map that could be in it", mend, s.Site.MapCRS)}
		case s.Site.MapCredit != "":
			return Mistakes{s.marks.at("site.map_credit", "there is no map whose it could be", mend, s.Site.MapCredit)}
		}
		return nil
	}
	fail := func(what, mend string) Mistakes { return Mistakes{s.marks.at("site.map", what, mend, s.Site.Map)} }
	var crs terrain.CRS
	if s.Site.MapCRS != "" {
		var err error
		if crs, err = terrain.ParseCRS(s.Site.MapCRS); err != nil {
			return Mistakes{s.marks.at("site.map_crs", err.Error(), "", s.Site.MapCRS)}
		}
	}
	m, err := basemap.Read(s.folder.root.FS(), path.Clean(s.Site.Map), crs)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fail("there is no such file", "put the map beside "+FileName+", or remove map:")
	case errors.Is(err, fs.ErrInvalid):
		return fail("leads out of the shoot folder", "put the file beside "+FileName)
	case err != nil:
		return fail(err.Error(), "")
	}
	if lon, lat := s.Site.Origin.Lon.Deg(), s.Site.Origin.Lat.Deg(); !m.Covers(lon, lat) {
		return fail(fmt.Sprintf("covers %.4f to %.4f E, %.4f to %.4f N and not the site at %s", m.West, m.East, m.South, m.North, s.Site.Origin), "choose a map of the site, or check its place and coordinate system")
	}
	s.basemap = m
	return nil
}
