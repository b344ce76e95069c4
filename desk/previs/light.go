package previs

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

func angle(radians float64) unit.Angle { return unit.Angle(radians) }

// rgb is a colour in linear light, sRGB primaries, 1 for paper white.
type rgb struct{ r, g, b float32 }

func (c rgb) scale(k float32) rgb { return rgb{c.r * k, c.g * k, c.b * k} }
func (c rgb) add(d rgb) rgb       { return rgb{c.r + d.r, c.g + d.g, c.b + d.b} }
func (c rgb) times(d rgb) rgb     { return rgb{c.r * d.r, c.g * d.g, c.b * d.b} }
func (c rgb) mix(d rgb, k float32) rgb {
	return rgb{c.r + k*(d.r-c.r), c.g + k*(d.g-c.g), c.b + k*(d.b-c.b)}
}

// luminance is by the weights of ITU-R BT.709.
func (c rgb) luminance() float32 { return 0.2126*c.r + 0.7152*c.g + 0.0722*c.b }

// hex is a colour as written for a screen, 0xRRGGBB.
func hex(v uint32) rgb {
	part := func(shift uint) float32 { return float32(linear(float64(v>>shift&255) / 255)) }
	return rgb{part(16), part(8), part(0)}
}

// linear undoes the sRGB transfer curve (IEC 61966-2-1).
func linear(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// display holds the sRGB curve for linear values in steps of 1/4096.
var display = func() (table [4097]uint8) {
	for i := range table {
		v := float64(i) / 4096
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		table[i] = uint8(math.Round(255 * v))
	}
	return table
}()

func encode(v float32) uint8 {
	if !(v > 0) {
		return 0
	}
	if v >= 1 {
		return 255
	}
	return display[int(v*4096+0.5)]
}

// toned holds the display's levels of tones from 0 to tonedTo, in steps of 1/4096.
const tonedTo = 4

var toned = func() (table [tonedTo*4096 + 1]uint8) {
	const knee = 0.7
	for i := range table {
		v := float32(i) / 4096
		if v > knee { // highlights roll off toward paper white
			v = knee + (1-knee)*(1-1/(1+(v-knee)/(1-knee)))
		}
		table[i] = encode(v)
	}
	return table
}()

// tone is the display's level for a brightness, its highlights rolled off.
func tone(v float32) uint8 { return toned[int(max(0, min(tonedTo, v))*4096+0.5)] }

// light is the sun and sky of a moment as the painter wants them.
type light struct {
	sun          geo.Vec3 // toward it
	sunX, sunY   float64  // its level direction, unit
	beam         rgb      // on a surface that faces the sun; zero when it is down
	above        rgb      // from the whole sky on a level surface
	ground       rgb      // thrown back by the ground
	leanX, leanY float64  // how much more light comes from the sun's half of the sky, by the IES practice
	cosDisc      float64
	disc         rgb
	glow         rgb
	fade         float64           // haze per metre
	away, to     [skySteps + 1]rgb // sky colours by elevation, away from and toward the sun
	brightness   float32
	sunUp        bool
}

// skySteps is how finely the sky's colours are kept from the horizon to the zenith, even in the
// square root of the sine of the elevation.
const skySteps = 128

// A picture's brightness follows the light as an eye's does, by a weak power of it; 60 klx is full day.
const (
	fullDayLx  = 60000.0
	adaptation = 0.11
	nightLx    = 0.01
)

// skyTint is the sky for one altitude of the sun: overhead, at the horizon away from the sun and toward it.
type skyTint struct {
	altitude        float64 // deg
	zenith, far, by rgb
}

var skyTints = []skyTint{
	{-18, hex(0x131a2e), hex(0x232b40), hex(0x272d42)},
	{-10, hex(0x24325a), hex(0x4a5574), hex(0x7d6a74)},
	{-5, hex(0x3d5687), hex(0x848fa9), hex(0xd9a184)},
	{-1, hex(0x6583b0), hex(0xb9b6c2), hex(0xf4c290)},
	{3, hex(0x7b9fc9), hex(0xd6d3d0), hex(0xfbdfb4)},
	{12, hex(0x7fa9d4), hex(0xdde4e6), hex(0xf6ead2)},
	{35, hex(0x77a5d6), hex(0xdfe9ee), hex(0xeef0ea)},
	{90, hex(0x6d9fd4), hex(0xdfe9ee), hex(0xe8eef0)},
}

var (
	cloudZenith  = hex(0xb9bfc6)
	cloudHorizon = hex(0xdcdedd)
)

func newLight(m *Moment) *light {
	l := &light{sun: m.Sun.Direction()}
	l.sunX, l.sunY = math.Sin(float64(m.Sun.Azimuth)), math.Cos(float64(m.Sun.Azimuth))
	l.sunUp = float64(m.Sun.Altitude+m.Sun.Semidiameter) > 0
	visibility := m.VisibilityM
	if visibility == 0 {
		visibility = defaultVisibilityM
	}
	l.fade = 3.912 / visibility

	d := m.Daylight
	direct, sky := d.DirectNormalLx, max(d.SkyHorizontalLx, nightLx)
	if !l.sunUp {
		direct = 0
	}
	level := direct*max(0, l.sun.Z) + sky
	l.brightness = float32(min(1.05, math.Pow(level/fullDayLx, adaptation)))
	k := float64(l.brightness) / (0.62*direct + 0.85*sky)
	sunTint, skyTint := tints(&m.Daylight)
	l.beam, l.above = sunTint.scale(float32(direct*k)), skyTint.scale(float32(sky*k))
	l.ground = hex(0xb0a88a).scale(float32(level * k * 0.5))
	if d.Altitude > 0 {
		front, back := d.HalfSkyLx(1), d.HalfSkyLx(-1)
		lean := (front - back) / (front + back)
		l.leanX, l.leanY = lean*l.sunX, lean*l.sunY
	}
	l.paintSky(m)
	return l
}

// tints are the colours of sunlight and skylight, of equal luminance, drawn paler than they are,
// as an eye does.
func tints(d *sky.Daylight) (sun, above rgb) {
	c := d.Colour(d.On(geo.Vec3{Z: 1}, false, 0))
	const sunFull, skyFull = 0.55, 0.9 // how saturated each is drawn
	sun, above = whitish(5600, sunFull), whitish(9500, skyFull)
	if c.Sun.Known {
		sun = whitish(float64(c.Sun.Mid), sunFull)
	}
	if c.Sky.Known {
		above = whitish(min(12000, float64(c.Sky.Mid)), skyFull)
	}
	if d.Altitude < 0 {
		above = whitish(11000, skyFull)
	}
	return sun, above
}

// whitish is the colour of a black body beside one of 5600 K, at luminance 1, as saturated as full says. The
// locus is the cubic of Kim and others (2002), from memory.
func whitish(kelvin, full float64) rgb {
	a, b := planckian(kelvin), planckian(5600)
	part := func(i int) float32 { return float32(math.Pow(max(0.02, a[i])/b[i], full)) }
	c := rgb{part(0), part(1), part(2)}
	return c.scale(1 / c.luminance())
}

func planckian(kelvin float64) [3]float64 {
	t := max(1667, min(25000, kelvin))
	var x, y float64
	if t < 4000 {
		x = -0.2661239e9/(t*t*t) - 0.2343589e6/(t*t) + 0.8776956e3/t + 0.179910
	} else {
		x = -3.0258469e9/(t*t*t) + 2.1070379e6/(t*t) + 0.2226347e3/t + 0.240390
	}
	switch {
	case t < 2222:
		y = -1.1063814*x*x*x - 1.34811020*x*x + 2.18555832*x - 0.20219683
	case t < 4000:
		y = -0.9549476*x*x*x - 1.37418593*x*x + 2.09137015*x - 0.16748867
	default:
		y = 3.0817580*x*x*x - 5.87338670*x*x + 3.75112997*x - 0.37001483
	}
	X, Z := x/y, (1-x-y)/y
	return [3]float64{
		3.2406*X - 1.5372 - 0.4986*Z,
		-0.9689*X + 1.8758 + 0.0415*Z,
		0.0557*X - 0.2040 + 1.0570*Z,
	}
}

// paintSky mixes the sky of the sun's altitude and keeps it by elevation.
func (l *light) paintSky(m *Moment) {
	altitude := m.Sun.Altitude.Deg()
	i := 0
	for i < len(skyTints)-2 && skyTints[i+1].altitude < altitude {
		i++
	}
	a, b := &skyTints[i], &skyTints[i+1]
	k := float32(clamp01((altitude - a.altitude) / (b.altitude - a.altitude)))
	zenith, far, by := a.zenith.mix(b.zenith, k), a.far.mix(b.far, k), a.by.mix(b.by, k)
	cloud := map[sky.Class]float32{sky.PartlyCloudy: 0.35, sky.Overcast: 1}[m.Daylight.Class]
	grey := l.brightness * l.brightness
	zenith, far, by = zenith.mix(cloudZenith.scale(grey), cloud), far.mix(cloudHorizon.scale(grey), cloud), by.mix(cloudHorizon.scale(grey), cloud)
	for n := range l.away {
		s := float64(n) / skySteps // √ of the sine of elevation
		rise := float32(1 - math.Exp(-2.6*s*s*1.6))
		warm := float32(1 - math.Exp(-4.5*s*s))
		l.away[n] = far.mix(zenith, rise)
		l.to[n] = by.mix(zenith, warm*rise)
	}
	clear := 1 - cloud
	l.cosDisc = math.Cos(float64(m.Sun.Semidiameter))
	l.disc = rgb{1.3, 1.25, 1.1}.scale(clear)
	l.glow = by.mix(rgb{1, 1, 1}, 0.4).scale(0.55 * clear)
	if !l.sunUp {
		l.disc, l.glow = rgb{}, rgb{}
	}
}

// skyAt is the sky's colour in a direction, given as a unit vector.
func (l *light) skyAt(d geo.Vec3) rgb {
	s := math.Sqrt(max(0, d.Z)) * skySteps
	n := min(int(s), skySteps-1)
	f := float32(s - float64(n))
	level := math.Sqrt(d.X*d.X + d.Y*d.Y)
	toward := 0.5
	if level > 1e-9 {
		toward = 0.5 + 0.5*(d.X*l.sunX+d.Y*l.sunY)/level
	}
	w := float32(toward * toward)
	c := l.away[n].mix(l.away[n+1], f)
	c = c.mix(l.to[n].mix(l.to[n+1], f), w)
	if l.disc.r > 0 {
		if cos := d.Dot(l.sun); cos > 0.9 {
			// A veil around the sun, then its disc.
			g := float32((cos - 0.9) / 0.1)
			g *= g
			g *= g
			c = c.mix(rgb{1, 1, 1}.times(l.glow.scale(1.9)), 0.5*g*g)
			if edge := (cos - l.cosDisc) / (1 - l.cosDisc); edge > -0.6 {
				c = c.mix(l.disc, float32(clamp01(edge/0.6+1)))
			}
		}
	}
	return c
}

// haze is the colour that distance takes on in a level direction, unit: the sky just over the horizon.
func (l *light) haze(x, y float64) rgb {
	toward := 0.5 + 0.5*(x*l.sunX+y*l.sunY)
	const n = skySteps / 5
	return l.away[n].mix(l.to[n], float32(toward*toward))
}

// decays holds e^-x in steps of 1/256 up to 8.
var decays = func() (t [2050]float32) {
	for i := range t {
		t[i] = float32(math.Exp(-float64(i) / 256))
	}
	return t
}()

// decay is e^-x for x ≥ 0, to 2e-6.
func decay(x float64) float32 {
	x *= 256
	if !(x < 2048) {
		return 0
	}
	i := int(x)
	f := float32(x - float64(i))
	return decays[i] + f*(decays[i+1]-decays[i])
}
