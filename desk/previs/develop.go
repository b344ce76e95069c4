package previs

import (
	"image"
	"math"
)

// greyShare is where the mean of a frame is exposed to, for full day.
const greyShare = 0.47

// expose sets the gain so that the frame's mean falls at the brightness of the hour; a fixed gain is taken as it is.
func (p *painter) expose(fixed float64) {
	if fixed > 0 {
		p.gain = float32(fixed)
		return
	}
	sum, n := 0.0, 0
	for y := p.h / 64; y < p.h; y += max(1, p.h/32) {
		for x := p.w / 128; x < p.w; x += max(1, p.w/64) {
			if k := y*p.w + x; p.buffers.what[k] >= groundSeen {
				c := p.buffers.colour[k]
				sum += math.Log(1e-4 + float64(c.luminance()))
				n++
			}
		}
	}
	p.gain = 1
	if n > 0 {
		p.gain = float32(max(0.6, min(1.9, greyShare*float64(p.light.brightness)/math.Exp(sum/float64(n)))))
	}
}

// tone rolls the highlights off toward paper white.
func tone(v float32) float32 {
	const knee = 0.7
	if v <= knee {
		return v
	}
	return knee + (1-knee)*(1-1/(1+(v-knee)/(1-knee)))
}

// subsamples refine a pixel at an edge: a rotated grid.
var subsamples = [4][2]float64{{0.375, 0.125}, {0.875, 0.375}, {0.125, 0.625}, {0.625, 0.875}}

// develop smooths edges, draws them in ink and writes the pixels.
func (p *painter) develop(out *image.RGBA) {
	b := p.buffers
	parallel(p.h, func(y int) {
		up, down := max(0, y-1)*p.w, min(p.h-1, y+1)*p.w
		row := y * p.w
		for x := range p.w {
			k := row + x
			left, right := row+max(0, x-1), row+min(p.w-1, x+1)
			above, below := up+x, down+x
			c := b.colour[k]
			what := b.what[k]
			n := b.near[k]
			line := float32(0)
			edge := what != b.what[left] || what != b.what[right] || what != b.what[above] || what != b.what[below]
			if n > 0 {
				// 1/depth is linear over a plane: its second difference finds where one thing stands before another.
				across := 2*n - b.near[left] - b.near[right]
				along := 2*n - b.near[above] - b.near[below]
				line = max(across, along) / n
				edge = edge || line > 0.05
			}
			if edge {
				c = p.refine(x, y)
			}
			if line > 0 && !p.noInk {
				c = c.mix(ink.scale(p.light.brightness*0.8), p.inkOf(line, what, n, edge && seam(what, b.what[left], b.what[above])))
			} else if edge && !p.noInk && seam(what, b.what[left], b.what[above]) {
				c = c.mix(ink.scale(p.light.brightness*0.8), p.inkOf(0, what, n, true))
			}
			if what >= groundSeen {
				c = c.scale(p.gain)
			}
			o := out.PixOffset(x, y)
			out.Pix[o], out.Pix[o+1], out.Pix[o+2], out.Pix[o+3] = encode(tone(c.r)), encode(tone(c.g)), encode(tone(c.b)), 255
		}
	})
}

// seam reports whether two faces of one solid meet here.
func seam(what, left, above uint32) bool {
	what, left, above = what&^shadedBit, left&^shadedBit, above&^shadedBit
	if what < solidSeen {
		return false
	}
	id := (what - solidSeen) / 16
	same := func(o uint32) bool { return o >= solidSeen && o != what && (o-solidSeen)/16 == id }
	return same(left) || same(above)
}

// inkOf is how strong the line is: strongest where a near thing stands before a far one, fading with
// distance as a draughtsman lets it.
func (p *painter) inkOf(line float32, what uint32, near float32, seam bool) float32 {
	k := float32(clamp01(float64(line-0.05) / 0.30))
	if seam {
		k = max(k, 0.45)
	}
	distance := 1 / max(near, 1e-6)
	air := decay(1.6 * p.light.fade * float64(distance))
	if what&^shadedBit >= solidSeen {
		return 0.75 * k * air
	}
	return 0.55 * k * air
}
