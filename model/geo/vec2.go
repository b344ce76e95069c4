package geo

import "math"

// Vec2 is a point or a direction in the level plane of the site frame: X east, Y north, metres.
type Vec2 struct{ X, Y float64 }

// XY returns the level part of a.
func (a Vec3) XY() Vec2 { return Vec2{a.X, a.Y} }

// At returns the point above or below a at height z.
func (a Vec2) At(z float64) Vec3 { return Vec3{a.X, a.Y, z} }

// Add returns a + b.
func (a Vec2) Add(b Vec2) Vec2 { return Vec2{a.X + b.X, a.Y + b.Y} }

// Sub returns a - b.
func (a Vec2) Sub(b Vec2) Vec2 { return Vec2{a.X - b.X, a.Y - b.Y} }

// Scale returns k·a.
func (a Vec2) Scale(k float64) Vec2 { return Vec2{k * a.X, k * a.Y} }

// Dot returns the scalar product.
func (a Vec2) Dot(b Vec2) float64 { return a.X*b.X + a.Y*b.Y }

// Cross returns the upward component of the vector product: positive when b lies to the
// left of a. It is good to the last bits even for nearly parallel vectors.
func (a Vec2) Cross(b Vec2) float64 {
	w := a.Y * b.X
	return math.FMA(a.X, b.Y, -w) + math.FMA(-a.Y, b.X, w) // Kahan's difference of products
}

// Norm returns the length of a.
func (a Vec2) Norm() float64 { return math.Hypot(a.X, a.Y) }

// Lerp returns the point a fraction t of the way from a to b.
func (a Vec2) Lerp(b Vec2, t float64) Vec2 { return Vec2{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)} }
