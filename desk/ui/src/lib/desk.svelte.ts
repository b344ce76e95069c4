// The shared desk: one version of the shoot, one clock, one selected slate, one address.
import * as client from './client'
import * as clock from './clock'
import type { Measures } from './measure'
import * as route from './route'

export type Theme = 'day' | 'dark'
export type News = { kind: string; version?: number; text?: string; job?: string; done?: number; of?: number }

/** News that is not about the work on the plan. */
const aside = new Set(['log', 'joined', 'progress', 'film'])

const keep = {
  get: (name: string) => {
    try {
      return localStorage.getItem(name)
    } catch {
      return null // a browser that keeps nothing
    }
  },
  set: (name: string, value: string) => {
    try {
      localStorage.setItem(name, value)
    } catch {
      /* as above */
    }
  },
}

class Desk {
  snap = $state.raw<client.Snapshot | null>(null)
  trouble = $state('') // why the newest state could not be fetched
  online = $state(true)
  busy = $state('') // what the server is at
  lastNews = $state.raw<News>({ kind: '' })

  role = $state('lead') // what the server lets this page do
  shared = $state(false)
  who = $state('')
  got = $state.raw<string[]>([]) // slates with a circled take in the log
  logged = $state(0) // grows whenever the logbook does

  room = $state<route.Room>('slates')
  slate = $state('')
  part = $state('')
  at = $state(0)
  theme = $state<Theme>('day')
  measures = $state<Measures>('metric')

  zone = $derived(this.snap?.check?.zone ?? 'UTC')
  dates = $derived(this.snap?.check?.dates ?? [])
  date = $derived(clock.dateOf(this.at, this.zone))
  slates = $derived(this.snap?.check?.slates ?? [])
  chosen = $derived(this.slates.find((x) => x.slate === this.slate) ?? null)
  version = $derived(this.snap?.version ?? 0)
  /** Numbers on the page belong to an older file than the one on disk. */
  old = $derived((this.snap?.mistakes.length ?? 0) > 0)

  #wanted: route.Place = { room: 'slates', slate: '', date: '', time: '', part: '' }
  #fetching = 0

  start() {
    const theme = keep.get('theme')
    this.theme = theme === 'dark' || theme === 'day' ? theme : matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'day'
    document.documentElement.dataset.theme = this.theme
    const measures = keep.get('measures')
    if (measures === 'metric' || measures === 'imperial') this.measures = measures
    this.#read()
    addEventListener('popstate', () => this.#read())
    void this.enter()
  }

  /** Asks who we are, and takes the state when we may. A code in the address joins first. */
  async enter(): Promise<void> {
    const code = /^#join=(\w+)$/.exec(location.hash)?.[1]
    if (code) {
      this.code = code
      history.replaceState(null, '', location.pathname + location.search)
    }
    try {
      const session = await client.get('/api/session')
      this.role = session.role
      this.shared = session.shared
      this.who = session.name
    } catch {
      /* out of reach: what is kept on this device is used */
    }
    if (this.role === '') return
    this.code = ''
    await this.fetch()
    if (!this.#source) this.#listen()
  }

  async join(code: string, name: string): Promise<void> {
    await client.post('/api/join', { code, name })
    await this.enter()
  }
  code = $state('')
  #source: EventSource | null = null

  #read() {
    this.#wanted = route.read(new URL(location.href))
    this.room = this.#wanted.room
    this.part = this.#wanted.part
    this.#settle()
  }

  /** Fits what the address asks for to what the shoot has. */
  #settle() {
    const c = this.snap?.check
    if (!c) return
    const slates = c.slates ?? []
    const w = this.#wanted
    if (w.slate && slates.some((x) => x.slate === w.slate)) this.slate = w.slate
    else if (!slates.some((x) => x.slate === this.slate)) this.slate = slates[0]?.slate ?? ''
    if (w.date && w.time) this.at = clock.instant(w.date, w.time, c.zone)
    else if (this.at === 0) this.at = Date.parse(slates.find((x) => x.slate === this.slate)?.at ?? c.dates?.[0] ?? '')
  }

  #place(): route.Place {
    return { room: this.room, slate: this.slate, date: this.date, time: clock.hhmm(this.at, this.zone), part: this.part }
  }

  #timer = 0
  /** The address of where we are, before we leave it: back must lead here. */
  #settleAddress() {
    if (!this.#timer) return
    clearTimeout(this.#timer)
    this.#timer = 0
    history.replaceState(null, '', route.write(this.#place()))
  }
  #write(push: boolean) {
    if (push) {
      history.pushState(null, '', route.write(this.#place()))
    } else {
      clearTimeout(this.#timer)
      this.#timer = window.setTimeout(() => this.#settleAddress(), 200)
    }
  }

  go(room: route.Room, part = '') {
    this.#settleAddress()
    this.room = room
    this.part = part
    this.#write(true)
  }

  choose(slate: string, at?: number) {
    this.#settleAddress()
    this.slate = slate
    if (at !== undefined) this.at = at
    this.#write(true)
  }

  setTime(at: number) {
    this.at = Math.round(at / 60000) * 60000
    this.#write(false)
  }

  href(room: route.Room, slate = this.slate, part = ''): string {
    return route.write({ ...this.#place(), room, slate, part })
  }

  setTheme(theme: Theme) {
    document.documentElement.dataset.theme = theme // before anything reads its colours
    this.theme = theme
    keep.set('theme', theme)
  }

  setMeasures(m: Measures) {
    this.measures = m
    keep.set('measures', m)
  }

  /** Takes the newest state; an answer older than what stands is thrown away. */
  async fetch(): Promise<void> {
    const turn = ++this.#fetching
    try {
      const got = (await client.get('/api/state')) as unknown as client.Snapshot
      if (turn !== this.#fetching || (this.snap && got.version < this.snap.version && got.version > this.snap.version - 1e6)) return
      const first = this.snap === null
      this.snap = got
      this.trouble = ''
      this.online = true
      if (first && keep.get('measures') === null && got.document.measures === 'imperial') this.measures = 'imperial'
      this.#settle()
      this.#wanted = { ...this.#wanted, slate: '', date: '', time: '' }
    } catch (e) {
      if (turn === this.#fetching) this.trouble = e instanceof Error ? e.message : String(e)
    }
  }

  #listen() {
    const source = (this.#source = new EventSource('/api/events'))
    source.onopen = () => (this.online = true)
    source.onerror = () => (this.online = false)
    source.onmessage = (m) => {
      const news = JSON.parse(m.data) as News
      if (news.kind === 'state') {
        if (news.version !== this.snap?.version) void this.fetch()
      } else if (news.kind === 'rest') this.busy = ''
      else if (news.kind === 'log') this.logged++
      else if (!aside.has(news.kind)) this.busy = news.kind
      this.lastNews = news
    }
  }
}

export const desk = new Desk()

/**
 * Follows a question whose answer depends on the version, slate and hour. What is shown is only
 * ever the answer to the question that stands: an older one is thrown away. Made by a component, with
 * which it ends.
 */
export class Follow<T> {
  value = $state.raw<T | null>(null)
  trouble = $state('')
  #abort: AbortController | null = null
  #key = ''

  constructor() {
    $effect(() => () => this.#abort?.abort())
  }

  /** Asks when the key is new. With hold, the last answer stays while the next is under way. */
  ask(key: string, question: (signal: AbortSignal) => Promise<T>, hold = false) {
    if (key === this.#key) return
    this.#key = key
    this.#abort?.abort()
    if (!hold) this.value = null
    const abort = (this.#abort = new AbortController())
    question(abort.signal)
      .then((value) => {
        if (!abort.signal.aborted) {
          this.value = value
          this.trouble = ''
        }
      })
      .catch((e) => {
        if (!abort.signal.aborted) {
          this.value = null
          this.trouble = e instanceof Error ? e.message : String(e)
        }
      })
  }
}

/**
 * A long question, asked by hand. What it is about is watched: as soon as that is another, or the component that made it
 * is left, the question is let go, so that the server stops working on it, and the answer with it.
 */
export class Inquiry<T extends { version: number }> {
  trouble = $state('')
  asking = $state(false)
  #got = $state.raw<T | null>(null)
  /** The answer, where it is about the version that the page shows. */
  value = $derived(this.#got?.version === desk.version ? this.#got : null)
  #abort: AbortController | null = null

  constructor(about: () => unknown) {
    $effect(() => {
      about()
      return () => this.drop()
    })
  }

  ask(question: (signal: AbortSignal) => Promise<T>) {
    this.drop()
    this.asking = true
    const abort = (this.#abort = new AbortController())
    const ended = (then: () => void) => {
      if (abort.signal.aborted) return
      this.asking = false
      then()
    }
    question(abort.signal).then(
      (answer) => ended(() => (this.#got = answer)),
      (e) => ended(() => (this.trouble = e instanceof Error ? e.message : String(e))),
    )
  }

  /** Lets go of the question and of what came of it. */
  drop() {
    this.#abort?.abort()
    this.asking = false
    this.#got = null
    this.trouble = ''
  }
}
