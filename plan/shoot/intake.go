package shoot

// ReadFeatures reads a GeoJSON collection as the site's own features are read, for a file that is about
// to take their place. The error is a Mistakes.
func (s *Shoot) ReadFeatures(file string, src []byte) ([]Feature, error) {
	read, wrong := features(file, src, s.frame, s.ground, s.location, "")
	if len(wrong) > 0 {
		return nil, wrong
	}
	return read, nil
}

// Kinds returns the kinds that a feature may have.
func Kinds() []string { return append([]string(nil), kinds...) }
