// A log entry in words.
import { words } from '#words'
import { duration, hhmm } from './clock'

type Line = { kind: string; body: Record<string, unknown> }

/** A tick is a remark of this form, so that any reader of the book understands it. */
export const tickText = (list: string, item: string) => `checked, ${list}: ${item}`

export function say(e: Line, zone: string): string {
  const b = e.body
  const text = (k: string) => (typeof b[k] === 'string' ? (b[k] as string) : '')
  switch (e.kind) {
    case 'remark':
      return text('text')
    case 'take': {
      const from = Date.parse(text('from'))
      const to = Date.parse(text('to'))
      return [`${text('slate')} ${words.log.take} ${b.take}`, b.circled ? words.log.circled : '', Number.isFinite(from) ? `${hhmm(from, zone)}, ${duration((to - from) / 1000)}` : '', text('card'), text('notes')].filter(Boolean).join(' · ')
    }
    case 'sortie':
      return [text('sortie'), text('aircraft'), text('pilot'), text('notes')].filter(Boolean).join(' · ')
    default:
      return Object.entries(b)
        .filter(([, v]) => v !== '' && v !== null && typeof v !== 'object')
        .map(([k, v]) => `${k.replaceAll('_', ' ')} ${v}`)
        .join(', ')
  }
}
