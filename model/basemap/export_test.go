package basemap

// LonLat is where a pixel's corner lies.
func LonLat(m *Map, col, row float64) (lon, lat float64) { return m.lonLat(col, row) }
