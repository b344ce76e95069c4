package shoot

import (
	"errors"
	"fmt"
	"io/fs"
	"path"

	"fieldfare/model/basemap"
	"fieldfare/model/terrain"
)

// Map returns the crew's own base map, nil where the shoot file names none.
func (s *Shoot) Map() *basemap.Map { return s.basemap }

// openMap reads the head of the base map and holds its place against the site's.
func (s *Shoot) openMap() Mistakes {
	if s.Site.Map == "" {
		if s.Site.MapCRS != "" {
			return Mistakes{s.marks.at("site.map_crs", "there is no map that could be in it", "add map: with the map's file, or remove this", s.Site.MapCRS)}
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
