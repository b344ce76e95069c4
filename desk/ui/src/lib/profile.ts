// What stands along a take, ready to be drawn: numbers by the second with the limits that they are held against.
import type { Path } from '../scene/data'

export type Kind = 'length' | 'speed' | 'acceleration'
export type Limit = { at_least?: number | null; at_most?: number | null; basis: string }
export type Panel = {
  of: 'above_ground' | 'nearest' | 'speed' | 'acceleration' | 'from_pilot' | 'moving_subject'
  kind: Kind
  t: number[]
  v: (number | null)[]
  /** A second line that the first is held against, moment by moment. */
  needed?: (number | null)[]
  limits: Limit[]
  /** What the number is about at a time: the nearest thing's name. */
  about?: (string | null)[]
}

const none = (v: number | null | undefined) => (v === undefined || v === null || Number.isNaN(v) ? null : v)

/** The panels of a path; sight is how far the pilot may be from the aircraft, where that is known. */
export function panels(p: Path, sight: number | null): Panel[] {
  const limits = (of: string) => p.limits.filter((l) => l.of === of)
  const at = p.seconds.map((s) => s.at_s)
  const out: Panel[] = [
    { of: 'above_ground', kind: 'length', t: p.t_s, v: p.xyz.map((q, i) => (none(p.ground_m[i]) === null ? null : q[2]! - p.ground_m[i]!)), limits: limits('above_ground') },
    { of: 'nearest', kind: 'length', t: at, v: p.seconds.map((s) => none(s.nearest_m)), limits: limits('nearest'), about: p.seconds.map((s) => s.nearest || null) },
    { of: 'speed', kind: 'speed', t: p.t_s, v: p.speed_m_s, limits: limits('speed') },
    { of: 'acceleration', kind: 'acceleration', t: p.t_s, v: p.acceleration_m_s2, limits: limits('acceleration') },
    { of: 'from_pilot', kind: 'length', t: at, v: p.seconds.map((s) => none(s.pilot_m)), limits: sight === null ? [] : [{ at_most: sight, basis: '' }] },
  ]
  const moving = p.seconds.map((s) => none(s.moving_subject_m))
  // A subject that never comes near is not worth a panel.
  if (moving.some((v) => v !== null && v < 150)) out.push({ of: 'moving_subject', kind: 'length', t: at, v: moving, needed: p.seconds.map((s) => none(s.stand_off_m)), limits: limits('moving_subject') })
  return out.filter((x) => x.t.length > 1)
}

/** The number at a time, linear between neighbours; null where either is unknown. */
export function valueAt(x: Pick<Panel, 't'>, v: (number | null)[], t: number): number | null {
  const n = x.t.length
  if (n === 0) return null
  let [a, b] = [0, n - 1]
  while (b - a > 1) {
    const m = (a + b) >> 1
    if (x.t[m]! <= t) a = m
    else b = m
  }
  const [p, q] = [none(v[a]), none(v[b])]
  if (t >= x.t[b]!) return q
  if (p === null || q === null) return t === x.t[a] ? p : null
  const span = x.t[b]! - x.t[a]!
  return span > 0 ? p + ((q - p) * Math.max(0, t - x.t[a]!)) / span : p
}

/** Whether a number breaks one of its limits at a time; unknown is told apart. */
export function stands(x: Panel, t: number): 'within' | 'past' | 'unknown' {
  const v = valueAt(x, x.v, t)
  if (v === null) return 'unknown'
  const need = x.needed ? valueAt(x, x.needed, t) : null
  const slack = 1e-6
  if (need !== null && v < need - slack) return 'past'
  return x.limits.some((l) => (none(l.at_least) !== null && v < l.at_least! - slack) || (none(l.at_most) !== null && v > l.at_most! + slack)) ? 'past' : 'within'
}

/** The least and the most with their times, for those who read and do not look. */
export function extremes(x: Panel): { low: number; lowAt: number; high: number; highAt: number; unknown: number } | null {
  let out: { low: number; lowAt: number; high: number; highAt: number; unknown: number } | null = null
  let unknown = 0
  x.v.forEach((v, i) => {
    if (v === null) return void unknown++
    if (!out) out = { low: v, lowAt: x.t[i]!, high: v, highAt: x.t[i]!, unknown: 0 }
    if (v < out.low) [out.low, out.lowAt] = [v, x.t[i]!]
    if (v > out.high) [out.high, out.highAt] = [v, x.t[i]!]
  })
  if (out) (out as { unknown: number }).unknown = unknown
  return out
}

/** How high the paper reaches: all values, and limits that are near enough to matter. */
export function reach(x: Panel): [number, number] {
  const known = [...x.v, ...(x.needed ?? [])].filter((v): v is number => v !== null)
  const most = Math.max(1e-3, ...known)
  const near = x.limits.flatMap((l) => [none(l.at_least), none(l.at_most)]).filter((v): v is number => v !== null && v <= most * 2)
  return [0, Math.max(most, ...near) * 1.12]
}
