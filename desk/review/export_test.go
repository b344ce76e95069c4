package review

// Smooth sets velocities, for comparison with a reference.
func Smooth(f []Fix) { smooth(f) }
