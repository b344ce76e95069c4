package shoot

// Decode reads a shoot file alone, without the folder around it.
func Decode(file string, src []byte) (*Shoot, Mistakes) {
	var s Shoot
	wrong := decode(file, src, &s, marks{})
	return &s, wrong
}
