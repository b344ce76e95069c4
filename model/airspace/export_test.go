package airspace

// Bound prepares a zone whose polygon a test has laid in the plane directly.
func (z *Zone) Bound() { z.bounds = z.Polygon.Bounds() }
