// Local time of the site. Instants are milliseconds since 1970 UTC.

const formats = new Map<string, Intl.DateTimeFormat>()

function format(zone: string, options: Intl.DateTimeFormatOptions, lang = 'en-GB'): Intl.DateTimeFormat {
  const key = lang + zone + JSON.stringify(options)
  let f = formats.get(key)
  if (!f) formats.set(key, (f = new Intl.DateTimeFormat(lang, { timeZone: zone, hourCycle: 'h23', ...options })))
  return f
}

/** "07:41" */
export const hhmm = (at: number, zone: string) => format(zone, { hour: '2-digit', minute: '2-digit' }).format(at)

/** "07:41:05" */
export const hhmmss = (at: number, zone: string) => format(zone, { hour: '2-digit', minute: '2-digit', second: '2-digit' }).format(at)

/** "2026-09-22" */
export const dateOf = (at: number, zone: string) => format(zone, { year: 'numeric', month: '2-digit', day: '2-digit' }, 'sv-SE').format(at)

/** "Tue 22 Sep" in the page's language */
export const dayName = (date: string, lang: string) => new Intl.DateTimeFormat(lang === 'en' ? 'en-GB' : lang, { weekday: 'short', day: 'numeric', month: 'short', timeZone: 'UTC' }).format(Date.parse(date + 'T12:00Z'))

/** How far local time is ahead of UTC, in milliseconds. */
function offset(at: number, zone: string): number {
  const parts = Object.fromEntries(format(zone, { year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric', second: 'numeric' }).formatToParts(at).map((p) => [p.type, Number(p.value)]))
  return Date.UTC(parts.year, parts.month - 1, parts.day, parts.hour, parts.minute, parts.second) - Math.floor(at / 1000) * 1000
}

/** The instant of a local date and time, "2026-09-22" and "07:41". A time that the clock change skips gives the instant after it. */
export function instant(date: string, time: string, zone: string): number {
  const wall = Date.parse(`${date}T${time.length === 5 ? time : '00:00'}:00Z`)
  const first = wall - offset(wall, zone)
  return wall - offset(first, zone)
}

/** RFC 3339 in UTC, to the second. */
export const rfc3339 = (at: number) => new Date(Math.round(at / 1000) * 1000).toISOString().replace('.000Z', 'Z')

/** Seconds as "1:23" or "12 s". */
export function duration(seconds: number): string {
  const s = Math.round(seconds)
  if (s < 60) return `${s} s`
  const m = Math.floor(s / 60)
  return m < 60 ? `${m}:${String(s % 60).padStart(2, '0')} min` : `${Math.floor(m / 60)}:${String(m % 60).padStart(2, '0')} h`
}
