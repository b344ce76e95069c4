// What became of each slate between one day sheet and the next.
import type { Snapshot } from './client'
import { list } from './list'

export type Placed = { slate: string; start: number; end: number; rig: string; pack: string }
export type Moved = { slate: string; kind: 'moved' | 'added' | 'dropped'; from?: number; to?: number; reason?: string }

export function placed(sheet: Snapshot['sheet']): Placed[] {
  return list(sheet?.days).flatMap((d) => list(d.sorties).flatMap((s) => list(s.slates).map((x) => ({ slate: x.slate, start: Date.parse(x.start), end: Date.parse(x.end), rig: s.rig, pack: s.pack }))))
}

/** Slates that moved by a minute or more, came in, or fell out, in order of time. */
export function moves(before: Snapshot['sheet'], after: Snapshot['sheet']): Moved[] {
  const a = new Map(placed(before).map((p) => [p.slate, p.start]))
  const b = new Map(placed(after).map((p) => [p.slate, p.start]))
  const reasons = new Map(list(after?.left_out).map((l) => [l.slate, l.reason]))
  const out: Moved[] = []
  for (const [slate, to] of b) {
    const from = a.get(slate)
    if (from === undefined) out.push({ slate, kind: 'added', to })
    else if (Math.abs(from - to) >= 60000) out.push({ slate, kind: 'moved', from, to })
  }
  for (const [slate, from] of a) if (!b.has(slate)) out.push({ slate, kind: 'dropped', from, reason: reasons.get(slate) })
  return out.sort((x, y) => (x.to ?? x.from ?? 0) - (y.to ?? y.from ?? 0))
}
