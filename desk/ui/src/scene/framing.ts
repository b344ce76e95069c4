// A camera placed by what it should see: a subject, from a side, at a distance and a height. The same
// words as the shoot file's: bearing from the subject to the camera, distance from its middle, height above its foot.
import type { Pose, Site } from './data'

export type Framing = { subject: string; bearing: number; distance: number; height: number }

export function poseOf(f: Framing, site: Site, vfov: number): Pose | null {
  const s = site.subjects.find((x) => x.name === f.subject)
  if (!s) return null
  const [x, y, z] = s.foot_xyz as [number, number, number]
  const middle = z + s.height_m / 2
  const up = z + f.height - middle
  const level = Math.sqrt(Math.max(1, f.distance * f.distance - up * up))
  const a = (f.bearing * Math.PI) / 180
  return {
    x: x + Math.sin(a) * level,
    y: y + Math.cos(a) * level,
    z: z + f.height,
    azimuth: (f.bearing + 180) % 360,
    tilt: (Math.atan2(-up, level) * 180) / Math.PI,
    roll: 0,
    yaw: 0,
    vfov,
    speed: 0,
    ground: null,
  }
}

/** The next free letter of a slate's scene: 4D after 4A, 4B, 4C. */
export function nextSlate(all: string[], scene: string): string {
  for (let k = 0; k < 26; k++) {
    const name = scene + String.fromCharCode(65 + k)
    if (!all.includes(name)) return name
  }
  return scene + 'Z1'
}

/** The lines of a new slate for the shoot file; the rest is taken from another slate of the same rig. */
export function slateLines(slate: string, title: string, f: Framing, from: Record<string, unknown>): string {
  const quote = (v: unknown) => JSON.stringify(String(v))
  const kept = ['rig', 'lens', 'launch', 'format', 'rate'].filter((k) => from[k] !== undefined).map((k) => `${k}: ${quote(from[k])}`)
  return [
    `slate: ${quote(slate)}`,
    `title: ${quote(title)}`,
    ...kept,
    `subject: ${quote(f.subject)}`,
    'light: [daylight]',
    'moves:',
    `  - {move: static, subject: ${quote(f.subject)}, bearing: ${f.bearing.toFixed(0)} deg, distance: ${f.distance.toFixed(0)} m, height: ${f.height.toFixed(0)} m, duration: 10 s}`,
  ].join('\n')
}
