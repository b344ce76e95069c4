// The terrain as numbers: heights by place, and which places the sun does not reach.
import type { Full, Schema } from '../lib/client'

export type Info = Full<Schema['TerrainInfo']>

export class Ground {
  constructor(
    public info: Info,
    public z: Float32Array,
  ) {}

  /** Height at a place of the site frame, bilinear; NaN where nothing is known. */
  heightAt(x: number, y: number): number {
    const { x0_m, y0_m, cell_m, columns, rows } = this.info
    const u = (x - x0_m) / cell_m
    const v = (y - y0_m) / cell_m
    const i = Math.min(columns - 2, Math.max(0, Math.floor(u)))
    const j = Math.min(rows - 2, Math.max(0, Math.floor(v)))
    if (u < 0 || v < 0 || u > columns - 1 || v > rows - 1) return NaN
    const a = u - i
    const b = v - j
    const k = j * columns + i
    const z = this.z
    return (z[k] * (1 - a) + z[k + 1] * a) * (1 - b) + (z[k + columns] * (1 - a) + z[k + columns + 1] * a) * b
  }

  /** The height, or that of the nearest edge: for drawing only. */
  near(x: number, y: number): number {
    const { x0_m, y0_m, cell_m, columns, rows, low_m } = this.info
    const h = this.heightAt(Math.max(x0_m, Math.min(x0_m + (columns - 1) * cell_m, x)), Math.max(y0_m, Math.min(y0_m + (rows - 1) * cell_m, y)))
    return Number.isNaN(h) ? low_m : h
  }

  /** Longitude and latitude of a place, from the lattice that the server sent. */
  lonLat(x: number, y: number): [number, number] {
    const { x0_m, y0_m, cell_m, columns, rows, lattice } = this.info
    const n = lattice.length - 1
    const u = Math.max(0, Math.min(n, ((x - x0_m) / ((columns - 1) * cell_m)) * n))
    const v = Math.max(0, Math.min(n, ((y - y0_m) / ((rows - 1) * cell_m)) * n))
    const i = Math.min(n - 1, Math.floor(u))
    const j = Math.min(n - 1, Math.floor(v))
    const at = (k: 0 | 1) => {
      const p = lattice[j]![i]![k] * (1 - (u - i)) + lattice[j]![i + 1]![k] * (u - i)
      const q = lattice[j + 1]![i]![k] * (1 - (u - i)) + lattice[j + 1]![i + 1]![k] * (u - i)
      return p * (1 - (v - j)) + q * (v - j)
    }
    return [at(0), at(1)]
  }
}

/** The direction toward the sun: x east, y north, z up. */
export function sunDirection(azimuthDeg: number, altitudeDeg: number): [number, number, number] {
  const a = (azimuthDeg * Math.PI) / 180
  const h = (altitudeDeg * Math.PI) / 180
  return [Math.sin(a) * Math.cos(h), Math.cos(a) * Math.cos(h), Math.sin(h)]
}

/** A solid that throws a shadow: an outline at the foot, and heights. */
export type Solid = { ring: [number, number][]; foot: number; top: number }

/** How much of the sun reaches each texel of a square over the ground: 255 lit, 0 in shadow. */
export function shade(ground: Ground, solids: Solid[], sun: readonly [number, number, number], x0: number, y0: number, size: number, n: number, reach: number): Uint8Array {
  const out = new Uint8Array(n * n)
  if (sun[2] <= 0.004) return out
  const level = Math.hypot(sun[0], sun[1])
  if (level < 1e-6) return out.fill(255)
  const [dx, dy] = [sun[0] / level, sun[1] / level]
  const rise = sun[2] / level
  const cell = ground.info.cell_m
  const top = ground.info.high_m
  const near = solids.map((s) => {
    const cx = s.ring.reduce((a, p) => a + p[0], 0) / s.ring.length
    const cy = s.ring.reduce((a, p) => a + p[1], 0) / s.ring.length
    return { ...s, cx, cy, r: Math.max(...s.ring.map((p) => Math.hypot(p[0] - cx, p[1] - cy))) }
  })
  for (let j = 0; j < n; j++)
    for (let i = 0; i < n; i++) {
      const x = x0 + ((i + 0.5) * size) / n
      const y = y0 + ((j + 0.5) * size) / n
      const z = ground.near(x, y)
      let lit = true
      for (let d = cell; d < reach; d += d < 40 * cell ? cell : 2 * cell) {
        const ray = z + d * rise
        if (ray > top) break
        const g = ground.heightAt(x + dx * d, y + dy * d)
        if (Number.isNaN(g)) break
        if (g > ray + 0.3) {
          lit = false
          break
        }
      }
      if (lit)
        for (const s of near) {
          const along = (s.cx - x) * dx + (s.cy - y) * dy
          if (along < -s.r || Math.abs((s.cx - x) * dy - (s.cy - y) * dx) > s.r) continue
          if (z + Math.max(0, along - s.r) * rise > s.top) continue
          if (hits(s, x, y, z, dx, dy, rise)) {
            lit = false
            break
          }
        }
      out[j * n + i] = lit ? 255 : 0
    }
  return out
}

/** Whether a ray from a place meets an upright solid. */
function hits(s: Solid, x: number, y: number, z: number, dx: number, dy: number, rise: number): boolean {
  const crossings: number[] = []
  const n = s.ring.length
  for (let i = 0; i < n; i++) {
    const [ax, ay] = s.ring[i]!
    const [bx, by] = s.ring[(i + 1) % n]!
    const ex = bx - ax
    const ey = by - ay
    const det = dx * ey - dy * ex
    if (Math.abs(det) < 1e-12) continue
    const d = ((ax - x) * ey - (ay - y) * ex) / det
    const u = ((ax - x) * dy - (ay - y) * dx) / det
    if (u >= 0 && u < 1) crossings.push(d)
  }
  crossings.sort((a, b) => a - b)
  for (let i = 0; i + 1 < crossings.length; i += 2) {
    const [a, b] = [Math.max(0, crossings[i]!), crossings[i + 1]!]
    if (b > a && z + a * rise <= s.top && z + b * rise >= s.foot) return true
  }
  return false
}

/** Lines of equal height over the grid, as pairs of points of the site frame; every nth node is used. */
export function contours(ground: Ground, levels: number[], every = 1): [number, number, number, number][][] {
  const { columns, rows, cell_m, x0_m, y0_m } = ground.info
  const out: [number, number, number, number][][] = levels.map(() => [])
  const z = ground.z
  for (let j = 0; j + every < rows; j += every)
    for (let i = 0; i + every < columns; i += every) {
      const c = [z[j * columns + i]!, z[j * columns + i + every]!, z[(j + every) * columns + i + every]!, z[(j + every) * columns + i]!]
      const lo = Math.min(...c)
      const hi = Math.max(...c)
      if (!(hi > lo)) continue
      for (let k = 0; k < levels.length; k++) {
        const v = levels[k]!
        if (v <= lo || v > hi) continue
        const cut: [number, number][] = []
        for (let e = 0; e < 4; e++) {
          const a = c[e]!
          const b = c[(e + 1) % 4]!
          if (a < v === b < v) continue
          const t = (v - a) / (b - a)
          const [px, py] = corner[e]!
          const [qx, qy] = corner[(e + 1) % 4]!
          cut.push([x0_m + (i + (px + (qx - px) * t) * every) * cell_m, y0_m + (j + (py + (qy - py) * t) * every) * cell_m])
        }
        if (cut.length >= 2) out[k]!.push([...cut[0]!, ...cut[1]!])
        if (cut.length === 4) out[k]!.push([...cut[2]!, ...cut[3]!])
      }
    }
  return out
}

const corner = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
] as const
