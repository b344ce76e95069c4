// What the pictures are drawn from, asked once for each version of the shoot.
import * as client from '../lib/client'
import { Ground } from './ground'

export type Site = client.Full<client.Schema['Site']>
export type Path = client.Full<client.Schema['TakePath']>
export type SiteData = { site: Site; ground: Ground }

let last: { version: number; data: Promise<SiteData> } | null = null

/** The site of a version. Terrain is kept from version to version while its description is the same. */
export function siteOf(version: number): Promise<SiteData> {
  if (last?.version === version) return last.data
  const before = last?.data ?? null
  const data = (async () => {
    const site = (await client.get('/api/site')) as Site
    const old = await before?.catch(() => null)
    if (old && JSON.stringify(old.site.terrain) === JSON.stringify(site.terrain)) return { site, ground: old.ground }
    const response = await fetch('/api/heights.f32')
    if (!response.ok) throw new Error(`terrain: ${response.status}`)
    return { site, ground: new Ground(site.terrain, new Float32Array(await response.arrayBuffer())) }
  })()
  data.catch(() => {
    if (last?.version === version) last = null
  })
  last = { version, data }
  return data
}

export type Pose = { x: number; y: number; z: number; azimuth: number; tilt: number; roll: number; yaw: number; vfov: number; speed: number; ground: number | null }

/** The camera at a time of the take, between the samples that were sent. */
export function poseAt(p: Path, t: number): Pose {
  const n = p.t_s.length
  let k = 0
  while (k < n - 2 && p.t_s[k + 1]! < t) k++
  const a = p.t_s[k]!
  const b = p.t_s[Math.min(n - 1, k + 1)]!
  const u = b > a ? Math.max(0, Math.min(1, (t - a) / (b - a))) : 0
  const at = (all: number[]) => all[k]! + (all[Math.min(n - 1, k + 1)]! - all[k]!) * u
  const turn = (all: number[]) => {
    const from = all[k]!
    const d = ((((all[Math.min(n - 1, k + 1)]! - from + 180) % 360) + 360) % 360) - 180
    return from + d * u
  }
  const [x, y, z] = [0, 1, 2].map((c) => p.xyz[k]![c]! + (p.xyz[Math.min(n - 1, k + 1)]![c]! - p.xyz[k]![c]!) * u) as [number, number, number]
  return { x, y, z, azimuth: turn(p.azimuth_deg), tilt: at(p.tilt_deg), roll: at(p.roll_deg), yaw: turn(p.yaw_deg), vfov: at(p.vfov_deg), speed: at(p.speed_m_s), ground: p.ground_m[k] ?? null }
}

/** Sun by linear steps between the hours that were sent. */
export function sunAt(h: client.Hours, at: number): { altitude: number; azimuth: number; skyline: number | null } {
  const u = (at - Date.parse(h.from)) / 1000 / h.step_s
  const n = h.sun_altitude_deg.length
  const i = Math.max(0, Math.min(n - 2, Math.floor(u)))
  const f = Math.max(0, Math.min(1, u - i))
  const a0 = h.sun_azimuth_deg[i]!
  const d = ((((h.sun_azimuth_deg[i + 1]! - a0 + 180) % 360) + 360) % 360) - 180
  const s0 = h.skyline_deg[i]
  const s1 = h.skyline_deg[i + 1]
  return { altitude: h.sun_altitude_deg[i]! * (1 - f) + h.sun_altitude_deg[i + 1]! * f, azimuth: a0 + d * f, skyline: s0 == null || s1 == null ? null : s0 * (1 - f) + s1 * f }
}
