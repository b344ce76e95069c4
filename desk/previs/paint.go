package previs

import (
	"math"

	"fieldfare/model/geo"
)

// Washes for the ground, by what grows or lies there.
var (
	washMeadow  = hex(0xbfc596)
	washPasture = hex(0xd2c8a2)
	washScree   = hex(0xd3ccbe)
	washRock    = hex(0xb3aca4)
	washRoad    = hex(0xe9e2d2)
	washRail    = hex(0x9c948a)
	washWater   = hex(0xa6c3cc)
	paper       = hex(0xf3efe4)
	hatchTint   = hex(0xd9d2c2)
	ink         = hex(0x2b2620)
)

// washes for solids: walls and top.
var washes = [...]struct{ wall, top rgb }{
	plaster: {hex(0xf1e6cf), hex(0xa9725a)},
	stone:   {hex(0xcfc8ba), hex(0xd9d2c4)},
	leaf:    {hex(0x7f8f5c), hex(0x8b9b66)},
	bark:    {hex(0x7a6a58), hex(0x7a6a58)},
	steel:   {hex(0x8d9296), hex(0x8d9296)},
	painted: {hex(0xf4f1ea), hex(0xfbf8f0)},
	plain:   {hex(0xe2d3b4), hex(0xe8dcc2)},
}

// Slopes, as tangents, at which meadow gives way to scree and scree to rock (common practice, no source: loose
// stones rest at about 35°).
const (
	screeFrom, screeTo = 0.55, 0.80
	rockFrom, rockTo   = 0.85, 1.25
)

func smoothstep(from, to, v float32) float32 {
	t := (v - from) * (1 / (to - from))
	if t <= 0 {
		return 0
	}
	if t >= 1 {
		return 1
	}
	return t * t * (3 - 2*t)
}

// grain is a tile of smooth noise in -1 to 1, one value a node.
const grainSize = 256

var grain = func() (t [grainSize * grainSize]float32) {
	for i := range t {
		h := uint32(i)*0x9E3779B1 ^ 0x85EBCA6B
		h = (h ^ h>>15) * 0x2C1B3C6D
		h = (h ^ h>>12) * 0x297A2D39
		h ^= h >> 15
		t[i] = float32(h>>8)/(1<<23) - 1
	}
	return t
}()

// grainOffset makes places positive; it is a whole number of tiles.
const grainOffset = 1 << 20

func grainAt(x, y float64) float32 {
	x, y = x+grainOffset, y+grainOffset
	i, j := int(x), int(y)
	u, v := float32(x-float64(i)), float32(y-float64(j))
	row, next := uint16(j)<<8, uint16(j+1)<<8
	left, right := uint16(i)&255, uint16(i+1)&255
	a, b := grain[row|left], grain[row|right]
	c, d := grain[next|left], grain[next|right]
	u, v = u*u*(3-2*u), v*v*(3-2*v)
	a += u * (b - a)
	c += u * (d - c)
	return a + v*(c-a)
}

// groundTint is the wash of a place: slope is the tangent, foot the size of a pixel there.
func (p *painter) groundTint(x, y, z float64, slope, foot float32) rgb {
	wide := grainAt(x*(1./61)+3.7, y*(1./61))
	fine := float32(0)
	if foot < 8 {
		fine = grainAt(x*(1/6.3), y*(1/6.3)) * (1 - foot*(1./8))
	}
	high := float32((z - p.f.low) * p.perHeight) // share of the site's range
	c := washMeadow.mix(washPasture, smoothstep(0.25, 0.75, high+0.25*wide))
	ragged := 0.12*wide + 0.08*fine
	if steep, high := slope+ragged, high+ragged; steep > screeFrom || high > 0.75 {
		c = c.mix(washScree, max(smoothstep(screeFrom, screeTo, steep), 0.75*smoothstep(0.75, 0.95, high)))
		if steep > rockFrom {
			c = c.mix(washRock, smoothstep(rockFrom, rockTo, steep))
		}
	}
	strata := float32(0)
	if slope > 0.35 && foot < 14 {
		strata = smoothstep(0.35, 0.9, slope) * (1 - foot*(1./14)) * grainAt(z*(1/2.6)+0.02*x, (x+y)*(1./47))
	}
	c = c.scale(1 + 0.07*wide + 0.07*fine + 0.13*strata)
	if p.scene.marks != nil {
		road, rail, wet := p.scene.marks.cover(x, y, float64(foot))
		c = c.mix(washWater, wet).mix(washRail, 0.8*rail).mix(washRoad, 0.9*road)
	}
	return c
}

// Form lines run level along the slopes, as a draughtsman draws relief: formLinePx apart or up to twice that, never closer
// than formLineM in height.
const (
	formLinePx = 11.0
	formLineM  = 0.25
)

// formLine is how strong the pencil is at a height where a pixel spans risePx metres of height.
func formLine(z, risePx float64) float64 {
	if risePx < 1e-6 {
		return 0
	}
	dense := max(formLineM, formLinePx*risePx)
	power := math.Float64bits(dense) &^ (1<<52 - 1) // the power of two below: the lines' distance
	apart, rate := math.Float64frombits(power), math.Float64frombits(2*1023<<52-power)
	fade := 2 - dense*rate // 1 for a set just begun, 0 for one too dense
	thick := 1.1 * apart / risePx
	near := func(k, thick float64) float64 {
		return max(0, 0.95-math.Abs(k-math.Floor(k+0.5))*thick)
	}
	k := z * rate
	return max(fade*near(k, thick), near(k/2, 2*thick))
}

// lit is the light on a surface with the unit normal n, sunlit or not.
func (p *painter) lit(n geo.Vec3, share float32) rgb {
	l := p.light
	up := float32(0.5 + 0.5*n.Z)
	c := l.above.scale(up * (1 + float32(n.X*l.leanX+n.Y*l.leanY))).add(l.ground.scale(0.5 * (1 - up)))
	if share > 0 {
		if facing := float32(n.Dot(l.sun)); facing > 0 {
			c = c.add(l.beam.scale(facing * share))
		}
	}
	return c
}

// craftShare is how much of the sun the aircraft leaves at a place: rotors, arms and body seen against the disc.
func (p *painter) craftShare(at geo.Vec3) float32 {
	c := p.craft
	d := c.Pos.Sub(at)
	along := d.Dot(p.light.sun)
	if along <= 0.5 {
		return 1
	}
	miss := d.Sub(p.light.sun.Scale(along))
	blur := along * p.craftBlur // radius of the penumbra
	reach := c.SizeM/2 + blur
	if miss.Dot(miss) > reach*reach {
		return 1
	}
	// Back along the light to the level of the rotors, then into the airframe's axes.
	sun := p.light.sun
	if sun.Z < 0.05 {
		return 1
	}
	k := d.Z / sun.Z
	x, y := at.X+sun.X*k-c.Pos.X, at.Y+sun.Y*k-c.Pos.Y
	sin, cos := math.Sincos(c.Heading)
	ahead, right := x*sin+y*cos, x*cos-y*sin
	covered := 0
	for _, o := range discPoints {
		if c.covers(ahead+o[0]*blur, right+o[1]*blur) {
			covered++
		}
	}
	return 1 - 0.92*float32(covered)/float32(len(discPoints))
}

// covers reports whether the aircraft, seen from above, fills a place in its own axes.
func (c *Craft) covers(ahead, right float64) bool {
	r := math.Hypot(ahead, right)
	if r < 0.16*c.SizeM {
		return true
	}
	arm := (c.SizeM - c.RotorDiameterM) / 2
	step := 2 * math.Pi / float64(c.Rotors)
	bearing := math.Atan2(right, ahead)
	nearest := (math.Round(bearing/step-0.5) + 0.5) * step
	off := bearing - nearest
	if along, across := r*math.Cos(off), r*math.Sin(off); along > 0 && along < arm && math.Abs(across) < 0.02*c.SizeM {
		return true
	}
	return r*r+arm*arm-2*r*arm*math.Cos(off) < c.RotorDiameterM*c.RotorDiameterM/4
}

// discPoints sample the sun's disc, unit radius.
var discPoints = func() (out [13][2]float64) {
	for i := range 12 {
		r := 0.85
		if i%2 == 1 {
			r = 0.5
		}
		s, c := math.Sincos(float64(i) * math.Pi / 6)
		out[i+1] = [2]float64{r * c, r * s}
	}
	return out
}()
