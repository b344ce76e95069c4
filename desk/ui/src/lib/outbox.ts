// What was written on this device and has not reached the logbook yet. An entry leaves only when the server has
// said that the book holds it; sending twice writes once, because each entry carries its own id.

export type Entry = { id: string; kind: string; at: string; by: string; device: string; ordinal: number; body: Record<string, unknown>; corrects?: string; why?: string }
export type Result = { id: string; seq: number; repeat: boolean; refused: string }
export type Kept = { ordinal: number; entry: Entry; refused?: string }

/** Where entries are kept between two visits. */
export interface Store {
  /** Keeps an entry under the next ordinal, both or neither. */
  add(make: (ordinal: number) => Entry): Promise<Kept>
  all(): Promise<Kept[]>
  remove(ordinal: number): Promise<void>
  refuse(ordinal: number, why: string): Promise<void>
}

export type Send = (entries: Entry[]) => Promise<Result[]>

const batch = 100

export class Outbox {
  #flushing: Promise<void> | null = null
  #again = false
  constructor(
    private store: Store,
    private send: Send,
    private device: string,
    private changed: () => void = () => {},
  ) {}

  async write(kind: string, at: Date, by: string, body: Record<string, unknown>, corrects?: { corrects: string; why: string }): Promise<Kept> {
    const kept = await this.store.add((ordinal) => ({ id: `${this.device}-${ordinal}`, kind, at: at.toISOString(), by, device: this.device, ordinal, body, ...corrects }))
    this.changed()
    void this.flush()
    return kept
  }

  /** Sends what is waiting, oldest first. Stops at the first failure and keeps the rest. */
  flush(): Promise<void> {
    if (this.#flushing) {
      this.#again = true
      return this.#flushing
    }
    this.#flushing = this.#run().finally(() => {
      this.#flushing = null
      if (this.#again) {
        this.#again = false
        void this.flush()
      }
    })
    return this.#flushing
  }

  async #run() {
    for (;;) {
      const waiting = (await this.store.all()).filter((k) => !k.refused).sort((a, b) => a.ordinal - b.ordinal)
      if (waiting.length === 0) return
      const part = waiting.slice(0, batch)
      let results: Result[]
      try {
        results = await this.send(part.map((k) => k.entry))
      } catch {
        return // out of reach: later
      }
      const by = new Map(results.map((r) => [r.id, r]))
      let settled = 0
      for (const k of part) {
        const r = by.get(k.entry.id)
        if (!r) break // the server stopped here
        if (r.refused) await this.store.refuse(k.ordinal, r.refused)
        else if (r.seq > 0) await this.store.remove(k.ordinal)
        else break
        settled++
      }
      this.changed()
      if (settled === 0) return
    }
  }
}

/** A store for tests and for browsers that keep nothing. */
export class Memory implements Store {
  kept: Kept[] = []
  next = 1
  async add(make: (ordinal: number) => Entry) {
    const ordinal = this.next++
    const k = { ordinal, entry: make(ordinal) }
    this.kept.push(k)
    return k
  }
  async all() {
    return [...this.kept]
  }
  async remove(ordinal: number) {
    this.kept = this.kept.filter((k) => k.ordinal !== ordinal)
  }
  async refuse(ordinal: number, why: string) {
    this.kept = this.kept.map((k) => (k.ordinal === ordinal ? { ...k, refused: why } : k))
  }
}

/** The browser's own database. The ordinal is its key, given and kept in one transaction. */
export class Database implements Store {
  #db: Promise<IDBDatabase>
  constructor(name = 'fieldfare') {
    this.#db = new Promise((done, fail) => {
      const open = indexedDB.open(name, 1)
      open.onupgradeneeded = () => open.result.createObjectStore('outbox', { keyPath: 'ordinal', autoIncrement: true })
      open.onsuccess = () => done(open.result)
      open.onerror = () => fail(open.error)
    })
  }
  async #in<T>(mode: IDBTransactionMode, work: (s: IDBObjectStore) => IDBRequest<T>): Promise<T> {
    const db = await this.#db
    return new Promise((done, fail) => {
      const tx = db.transaction('outbox', mode, { durability: 'strict' })
      const request = work(tx.objectStore('outbox'))
      tx.oncomplete = () => done(request.result)
      tx.onerror = tx.onabort = () => fail(tx.error)
    })
  }
  async add(make: (ordinal: number) => Entry) {
    const db = await this.#db
    return new Promise<Kept>((done, fail) => {
      const tx = db.transaction('outbox', 'readwrite', { durability: 'strict' })
      const s = tx.objectStore('outbox')
      const request = s.add({})
      let kept: Kept
      request.onsuccess = () => {
        const ordinal = Number(request.result)
        kept = { ordinal, entry: make(ordinal) }
        s.put(kept)
      }
      tx.oncomplete = () => done(kept)
      tx.onerror = tx.onabort = () => fail(tx.error)
    })
  }
  async all() {
    return ((await this.#in('readonly', (s) => s.getAll())) as Kept[]).filter((k) => k.entry)
  }
  async remove(ordinal: number) {
    await this.#in('readwrite', (s) => s.delete(ordinal))
  }
  async refuse(ordinal: number, why: string) {
    const k = ((await this.#in('readonly', (s) => s.get(ordinal))) as Kept | undefined) ?? null
    if (k) await this.#in('readwrite', (s) => s.put({ ...k, refused: why }))
  }
}
