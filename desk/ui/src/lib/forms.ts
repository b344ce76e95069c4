// What each kind of entry holds, as a form asks it. The server checks every entry again.
import { dateOf, hhmm, instant } from './clock'

export type Ask = 'text' | 'long' | 'number' | 'time' | 'yes' | 'list' | readonly string[]
export type Field = { key: string; ask: Ask; needed?: boolean }

const f = (key: string, ask: Ask = 'text', needed = false): Field => ({ key, ask, needed })
const classes = ['', 'trainer', 'wide and open', 'near objects', 'between objects', 'close to moving subjects', 'two operators'] as const

export const forms: Record<string, Field[]> = {
  incident: [f('severity', ['near-miss', 'damage', 'injury', 'loss'], true), f('what', 'long', true), f('place', 'text', true), f('aircraft', 'text', true), f('pilot', 'text', true), f('sortie'), f('registration'), f('certificate'), f('mass_kg', 'number'), f('phase', ['', 'take-off', 'take', 'return', 'landing', 'on the ground']), f('height_m', 'number'), f('lat_deg', 'number'), f('lon_deg', 'number'), f('weather'), f('wind_ms', 'number'), f('light'), f('injuries'), f('damage'), f('third_parties'), f('other_traffic'), f('actions', 'long'), f('cause', 'long'), f('reported_to'), f('reference'), f('witnesses', 'list')],
  pack: [f('pack', 'text', true), f('cycles', 'number', true), f('rated_ah', 'number'), f('capacity_ah', 'number'), f('resistance_ohm', 'number'), f('temperature_k', 'number'), f('method'), f('notes', 'long')],
  upkeep: [f('aircraft', 'text', true), f('work', 'text', true), f('serviceable', 'yes'), f('airframe_s', 'number'), f('next_after_s', 'number'), f('next_by', 'time'), f('notes', 'long')],
  permit: [f('permit', 'text', true), f('from', 'time', true), f('to', 'time', true), f('sortie'), f('kept', 'long'), f('notes', 'long')],
  hours: [f('person', 'text', true), f('role', ['pilot', 'operator'], true), f('flown_s', 'number', true), f('aircraft_class'), f('shot_class', classes), f('last_flown', 'time'), f('source', 'text', true)],
  sortie: [f('sortie', 'text', true), f('aircraft', 'text', true), f('pilot', 'text', true), f('take_off', 'time', true), f('landing', 'time', true), f('slates', 'list'), f('aircraft_class'), f('operator'), f('observer'), f('shot_class', classes), f('pack'), f('energy_planned_wh', 'number'), f('energy_used_wh', 'number'), f('power_factor', 'number'), f('permits', 'list'), f('notes', 'long')],
  take: [f('slate', 'text', true), f('take', 'number', true), f('circled', 'yes'), f('sortie'), f('from', 'time'), f('to', 'time'), f('card'), f('clip'), f('notes', 'long')],
  remark: [f('text', 'long', true)],
}

/** What a form shows of an entry. */
export function typed(kind: string, body: Record<string, unknown>, zone: string): Record<string, string> {
  const out: Record<string, string> = {}
  for (const { key, ask } of forms[kind] ?? []) {
    const v = body[key]
    if (v === undefined || v === null) out[key] = ''
    else if (ask === 'time') out[key] = local(Date.parse(String(v)), zone)
    else if (ask === 'yes') out[key] = v ? 'yes' : ''
    else out[key] = Array.isArray(v) ? v.join(', ') : String(v)
  }
  return out
}

const local = (at: number, zone: string) => (Number.isFinite(at) ? `${dateOf(at, zone)}T${hhmm(at, zone)}` : '')

/**
 * The entry that a form makes, on top of what stood there: what no field shows is kept, and so are the seconds of
 * a time that nobody touched. wrong lists the keys that cannot be read or are needed.
 */
export function entry(kind: string, fields: Record<string, string>, was: Record<string, unknown>, zone: string): { body: Record<string, unknown>; wrong: string[] } {
  const body: Record<string, unknown> = { ...was }
  const wrong: string[] = []
  const before = typed(kind, was, zone)
  for (const { key, ask, needed } of forms[kind] ?? []) {
    const text = (fields[key] ?? '').trim()
    if (text === (before[key] ?? '').trim() && (text !== '' || !needed) && ask !== 'yes') {
      if (text === '') delete body[key]
      continue
    }
    if (text === '' && ask !== 'yes') {
      delete body[key]
      if (needed) wrong.push(key)
      continue
    }
    if (ask === 'number') {
      const v = Number(text.replace(',', '.'))
      if (!Number.isFinite(v)) wrong.push(key)
      body[key] = v
    } else if (ask === 'time') {
      const at = instant(text.slice(0, 10), text.slice(11, 16), zone)
      if (!Number.isFinite(at)) wrong.push(key)
      else body[key] = new Date(at).toISOString()
    } else if (ask === 'yes') body[key] = text === 'yes'
    else if (ask === 'list') body[key] = text.split(',').map((s) => s.trim()).filter(Boolean)
    else body[key] = text
  }
  return { body, wrong }
}
