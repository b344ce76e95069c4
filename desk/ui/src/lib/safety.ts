// The safety case of one slate, as /api/safety sends it: only what the page shows of it.
export type Rule = { profile: string; outcome: string; severity: string; what: string; value: string; limit: string; basis: string; mend?: string }
export type Inside = { kind: string; name: string; level_distance_m: number; volume: string; from_s: number; to_s: number }
export type Band = { band: { name: string; accept: string } }
export type Risk = { id: string; hazard: string; before: Band; residual: Band; missing?: string[] | null; worse?: string[] | null; controls?: { text: string; owner: string; state: string }[] | null }
export type Case = {
  slate: string
  at: string
  rules?: Rule[] | null
  in_volumes?: Inside[] | null
  lost_link?: { height_above_launch_m: number; least_clearance_m: number; action: string } | null
  emergency_landing?: { points?: { t_s: number; left_percent: number; reached?: { spot: string; left_at_landing_percent: number }[] | null }[] | null } | null
  fly_away?: { reach_m: number; duration_s: number } | null
  risks?: Risk[] | null
}
export type Whole = { caution: string; slates: Case[] }

/** Asks for a part of the case of a version once; the question about an older version is let go. */
function asker<T>(address: string): (version: number) => Promise<T> {
  let last: { version: number; got: Promise<T>; abort: AbortController } | null = null
  return (version) => {
    if (last?.version === version) return last.got
    last?.abort.abort()
    const abort = new AbortController()
    const got = fetch(address, { signal: abort.signal }).then(async (r) => {
      if (!r.ok) throw new Error((await r.text()).trim() || `${r.status}`)
      return (await r.json()) as T
    })
    got.catch(() => {
      if (last?.version === version) last = null
    })
    last = { version, got, abort }
    return got
  }
}

/** The safety case of a version of the shoot. */
export const caseOf = asker<Whole>('/api/safety')

/** The map of the safety case of a version: paths, volumes, falls, ways home, pilots, each with its slate and layer. */
export const layersOf = asker<GeoJSON.FeatureCollection>('/api/safety/layers')

/** Rules that are not met come first, then those that nobody could check. */
export function sorted(rules: Rule[]): Rule[] {
  const rank = (r: Rule) => (r.outcome === 'met' ? 2 : r.outcome === 'unknown' ? 1 : 0)
  return [...rules].sort((a, b) => rank(a) - rank(b))
}

/** The mark that a rule's outcome deserves: one that was not met weighs as its profile says. */
export const markOf = (r: Rule) => (r.outcome === 'met' ? '' : r.outcome === 'unknown' ? 'unknown' : r.severity)

/** The moment from which the nearest emergency spot leaves least in the pack. */
export function worstLanding(c: Case): { t: number; spot: string; left: number } | null {
  let out: { t: number; spot: string; left: number } | null = null
  for (const p of c.emergency_landing?.points ?? []) {
    const best = (p.reached ?? []).reduce<{ spot: string; left: number } | null>((b, r) => (!b || r.left_at_landing_percent > b.left ? { spot: r.spot, left: r.left_at_landing_percent } : b), null)
    if (best && (!out || best.left < out.left)) out = { t: p.t_s, ...best }
  }
  return out
}
