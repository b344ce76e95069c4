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
// Accuracy. Heights agree with GDAL's bilinear ones to 1 mm; visibility rasters agree with
// gdal_viewshed cell for cell. Line of sight, clearance and skyline are exact for the bilinear surface.
// What the elevation model itself is worth (often several metres, more in trees and on cliffs) is not known here.
//
// Not modelled: trees and buildings, geoid undulation, datum shifts (ETRS89 and NAD83 are taken
// as WGS84, which is up to 1 m and 2 m off).
package terrain

import "fieldfare/model/geo"

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
// a flat world.
func curvature(refraction float64) float64 { return (1 - refraction) / (2 * geo.SemiMajorM) }

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

// Datum of EPSG codes that elevation files name.
func datumOf(epsg int) Datum {
	switch epsg {
	case 5773, 5171:
		return Datum{"EGM96 height", true, "mean sea level within 1 m"}
	case 3855, 1027:
		return Datum{"EGM2008 height", true, "mean sea level within 1 m"}
	case 5703, 5103, 6360:
		return Datum{"NAVD88 height", true, "differs from mean sea level by up to 1.5 m"}
	case 5621, 5730, 7837, 5783, 5778, 5720, 5728:
		return Datum{"European levelled height (EPSG " + itoa(epsg) + ")", true, "differs from mean sea level by up to 1 m"}
	case 4979, 5030, 4326, 5019, 7030:
		return Datum{"ellipsoidal height", true, geoidNote}
	case 0, 32767:
		return unstatedDatum
	}
	d := unstatedDatum
	d.Name = "EPSG " + itoa(epsg) + ", taken as mean sea level"
	return d
}
