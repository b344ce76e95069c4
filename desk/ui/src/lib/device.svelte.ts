// This device's part of the log: who writes, what waits, what the book says.
import * as client from './client'
import { desk } from './desk.svelte'
import { Database, Memory, Outbox, type Kept, type Store } from './outbox'

type LogPage = client.Full<client.Schema['LogPage']>

function remembered(name: string, make: () => string): string {
  try {
    const had = localStorage.getItem(name)
    if (had) return had
    const fresh = make()
    localStorage.setItem(name, fresh)
    return fresh
  } catch {
    return make()
  }
}

class Device {
  id = remembered('device', () => 'd' + Array.from(crypto.getRandomValues(new Uint8Array(9)), (b) => b.toString(36).padStart(2, '0')).join('').slice(0, 14))
  initials = $state(remembered('initials', () => ''))
  waiting = $state.raw<Kept[]>([])
  page = $state.raw<LogPage | null>(null)
  #store: Store = typeof indexedDB === 'undefined' ? new Memory() : new Database()
  box = new Outbox(
    this.#store,
    async (entries) => (await client.post('/api/log', { entries } as never)).results as never,
    this.id,
    () => void this.#count(),
  )
  #started = false

  start() {
    if (this.#started) return
    this.#started = true
    void this.#count()
    addEventListener('online', () => void this.flush())
    setInterval(() => void this.flush(), 10_000)
    void this.flush()
  }
  async #count() {
    const before = this.waiting.length
    this.waiting = await this.#store.all()
    if (this.waiting.length < before) void this.read()
  }
  async flush() {
    await this.box.flush()
    await this.read()
  }
  async read() {
    try {
      this.page = (await client.get('/api/log')) as LogPage
      desk.got = this.page.entries.filter((e) => e.kind === 'take' && (e.body as { circled?: boolean }).circled).map((e) => (e.body as { slate: string }).slate)
    } catch {
      /* out of reach: what was read last stays */
    }
  }
  setInitials(text: string) {
    this.initials = text.toUpperCase().slice(0, 4)
    try {
      localStorage.setItem('initials', this.initials)
    } catch {
      /* as above */
    }
  }
  write(kind: string, body: Record<string, unknown>, at = new Date(), corrects?: { corrects: string; why: string }) {
    return this.box.write(kind, at, this.initials || desk.who || '?', body, corrects)
  }
  /** Everything written, in the book or still on this device. A correction that waits stands in the place of what it corrects. */
  get lines(): { id: string; kind: string; at: string; by: string; body: Record<string, unknown>; waiting: boolean; refused: string; versions: number; contested: boolean }[] {
    const book = (this.page?.entries ?? []).map((e) => ({ id: e.id, kind: e.kind, at: e.at, by: e.by, body: e.body as Record<string, unknown>, waiting: false, refused: '', versions: e.versions, contested: e.contested }))
    const mends = new Map(this.waiting.filter((k) => k.entry.corrects && !k.refused).map((k) => [k.entry.corrects!, k.entry]))
    const inBook = book.map((e) => {
      const mend = mends.get(e.id)
      return mend ? { ...e, kind: mend.kind, by: mend.by, body: mend.kind === 'strike' ? e.body : mend.body, waiting: true } : e
    })
    const have = new Set(book.map((e) => e.id))
    const here = this.waiting.filter((k) => !have.has(k.entry.id) && (k.refused || !have.has(k.entry.corrects ?? ''))).map((k) => ({ ...k.entry, waiting: true, refused: k.refused ?? '', versions: 1, contested: false }))
    return [...inBook, ...here].sort((a, b) => Date.parse(a.at) - Date.parse(b.at))
  }
}
export const device = new Device()
