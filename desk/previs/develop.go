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

// subsamples refine a pixel at an edge: a rotated grid.
var subsamples = [4][2]float64{{0.375, 0.125}, {0.875, 0.375}, {0.125, 0.625}, {0.625, 0.875}}

// develop smooths edges, draws them in ink and writes the pixels.
func (p *painter) develop(out *image.RGBA) {
	b := p.buffers
	pencil := ink.scale(p.light.brightness * 0.8)
	parallel(p.h, func(y int) {
		row, up, down := y*p.w, max(0, y-1)*p.w, min(p.h-1, y+1)*p.w
		colour, near, what := b.colour[row:][:p.w], b.near[row:][:p.w], b.what[row:][:p.w]
		nearUp, nearDown, whatUp, whatDown := b.near[up:][:p.w], b.near[down:][:p.w], b.what[up:][:p.w], b.what[down:][:p.w]
		pix := out.Pix[y*out.Stride:][:4*p.w]
		for x := range colour {
			left, right := max(0, x-1), min(p.w-1, x+1)
			c, id, n := colour[x], what[x], near[x]
			// 1/depth is linear over a plane: its second difference finds where one thing stands before another.
			line := max(2*n-near[left]-near[right], 2*n-nearUp[x]-nearDown[x])
			if line > edgeShare*n || id != what[left] || id != what[right] || id != whatUp[x] || id != whatDown[x] {
				c = p.refine(x, y)
				if !p.noInk {
					c = c.mix(pencil, p.inkOf(line, id, n, seam(id, what[left], whatUp[x])))
				}
			}
			if id >= groundSeen {
				c = c.scale(p.gain)
			}
			pix[4*x], pix[4*x+1], pix[4*x+2], pix[4*x+3] = tone(c.r), tone(c.g), tone(c.b), 255
		}
	})
}

// edgeShare is the second difference of 1/depth, as a share of it, from which on a pixel lies at an edge.
const edgeShare = 0.05

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
	k := float32(0)
	if near > 0 {
		k = max(0, min(1, (line/near-edgeShare)/0.30))
	}
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
