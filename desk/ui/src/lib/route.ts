// Addresses of the page: /ROOM?slate=4B&at=2026-09-22T07:41, local time of the site.

export const rooms = ['slates', 'site', 'frame', 'light', 'kit', 'day', 'papers', 'log', 'field'] as const
export type Room = (typeof rooms)[number]

export type Place = { room: Room; slate: string; date: string; time: string; part: string }

export function read(url: URL): Place {
  const word = url.pathname.split('/')[1] as Room
  const [date = '', time = ''] = (url.searchParams.get('at') ?? '').split('T')
  return {
    room: rooms.includes(word) ? word : 'slates',
    slate: url.searchParams.get('slate') ?? '',
    date: /^\d{4}-\d\d-\d\d$/.test(date) ? date : '',
    time: /^\d\d:\d\d$/.test(time) ? time : '',
    part: url.searchParams.get('part') ?? '',
  }
}

export function write(p: Place): string {
  const query = new URLSearchParams()
  if (p.slate) query.set('slate', p.slate)
  if (p.date && p.time) query.set('at', `${p.date}T${p.time}`)
  if (p.part) query.set('part', p.part)
  const text = query.toString().replaceAll('%3A', ':')
  return `/${p.room}${text ? '?' + text : ''}`
}
