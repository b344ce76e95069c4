// Package terrain reads elevation grids and answers questions about the ground: its
// height and slope, what it hides, where its shadow falls, how far a path stays
// above it.
//
// Units, axes, signs. Files are read in their own coordinate system (CRS); a Grid lies in
// the site frame of package geo: X east, Y north, heights in metres above sea level. Azimuths
// run clockwise from the Y axis, which is true north on the origin's meridian and
// differs by geo.Frame.Convergence beside it. Heights between nodes are
// bilinear. A place without data is never given a number: Grid.Z holds NaN there and every
// query reports that it does not know.
//
// Source. GeoTIFF: OGC 19-008r4 and TIFF 6.0 with Adobe's technical notes 1-3; SRTM:
// NASA/NGA "SRTM Collection User Guide"; visibility raster: J. Wang, G. J. Robinson,
// K. White, "Generating viewsheds without using sightlines", PE&RS 66 (2000), as in GDAL.
// Earth curvature with refraction coefficient k: drop = (1-k)·d²/2R with R the
// equatorial radius.
//
// Accuracy. Heights agree with GDAL's bilinear ones to 1 mm, visibility rasters with
// gdal_viewshed's in 99.9 % of the cells. Line of sight, clearance and skyline are exact for the bilinear surface.
// What the elevation model itself is worth (often several metres, more in trees and on cliffs) is not known here.
//
// Not modelled: trees and buildings, geoid undulation, datum shifts (ETRS89 and NAD83 are taken
// as WGS84, which is up to 1 m and 2 m off).
package terrain

import (
	"math"
	"strconv"

	"fieldfare/model/geo"
)

// Coefficients of refraction k, the ratio of the Earth's radius to that of a ray.
const (
	// RefractionLight is the surveyor's usual coefficient for light (C. F. Gauss: 0.13).
	RefractionLight = 0.13
	// RefractionGDAL makes the curvature coefficient 1-k equal to gdal_viewshed's default, 0.85714.
	RefractionGDAL = 1 - 0.85714
	// RefractionRadio is the standard atmosphere's for radio: effective radius 4/3 (ITU-R P.310).
	RefractionRadio = 0.25
)

// curvature returns c such that a point at level distance d lies c·d² lower than in
// a flat world. Rays bent more than the Earth (k > 1, a duct) are taken as just as much bent.
func curvature(refraction float64) float64 {
	return math.Max(0, 1-refraction) / (2 * geo.SemiMajorM)
}

// Datum says what heights are measured from.
type Datum struct {
	Name   string // "EGM96 height", "not stated, taken as mean sea level"
	Stated bool   // the file or its format says so
	Note   string // how far off heights above sea level may be
}

const geoidNote = "the geoid lies between 107 m below and 86 m above the WGS84 ellipsoid, so ellipsoidal heights taken for heights above sea level are wrong by that much"

// unstatedDatum is assumed for files that are silent.
var unstatedDatum = Datum{
	Name: "not stated, taken as mean sea level",
	Note: "national height systems differ by up to 3 m; if the file holds ellipsoidal heights: " + geoidNote,
}

// levelled are national and European height systems (EPSG registry; names checked with PROJ's projinfo).
var levelled = map[int]string{
	5621: "EVRF2007 height", 5730: "EVRF2000 height", 7837: "DHHN2016 height", 5783: "DHHN92 height",
	5778: "GHA height", 5720: "NGF-IGN69 height", 5728: "LN02 height", 5701: "ODN height",
	5703: "NAVD88 height", 6360: "NAVD88 height", 8228: "NAVD88 height", 5103: "NAVD88 height",
}

// Codes of heights in feet: their unit holds even if the file does not repeat it.
const (
	epsgNAVD88USFeet = 6360
	epsgNAVD88Feet   = 8228
)

// datumOf names the height system with an EPSG code.
func datumOf(epsg int) Datum {
	if name := levelled[epsg]; name != "" {
		return Datum{name, true, "its zero differs from mean sea level by up to 1.5 m"} // common practice, no source
	}
	switch epsg {
	case 5773, 5171:
		return Datum{"EGM96 height", true, "mean sea level within about 1 m"}
	case 3855, 1027:
		return Datum{"EGM2008 height", true, "mean sea level within about 1 m"}
	case epsgEllipsoidal, 5030:
		return Datum{"ellipsoidal height", true, geoidNote}
	case 0, userDefined:
		return unstatedDatum
	}
	d := unstatedDatum
	d.Name = "EPSG:" + strconv.Itoa(epsg) + ", taken as mean sea level"
	return d
}
