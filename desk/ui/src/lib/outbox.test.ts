import { describe, expect, it } from 'vitest'
import { Memory, Outbox, type Entry, type Result } from './outbox'

/** A book that takes an entry once, whatever the line between does. */
class Book {
  entries: Entry[] = []
  take(entries: Entry[]): Result[] {
    return entries.map((e) => {
      if (e.body.bad) return { id: e.id, seq: 0, repeat: false, refused: 'not an entry' }
      const k = this.entries.findIndex((x) => x.id === e.id)
      if (k < 0) this.entries.push(e)
      return { id: e.id, seq: k < 0 ? this.entries.length : k + 1, repeat: k >= 0, refused: '' }
    })
  }
}

/** A random number with a seed, so that a failure can be repeated (mulberry32). */
function random(seed: number) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

describe('outbox', () => {
  it('loses and doubles nothing on a line that fails before or after the book has written', async () => {
    for (let seed = 1; seed <= 40; seed++) {
      const rnd = random(seed)
      const book = new Book()
      const store = new Memory()
      let up = false
      const box = new Outbox(
        store,
        async (entries) => {
          if (!up || rnd() < 0.3) throw new Error('out of reach')
          const results = book.take(entries.slice(0, 1 + Math.floor(rnd() * entries.length)))
          if (rnd() < 0.3) throw new Error('the answer got lost')
          return results
        },
        'phone',
      )
      const written: number[] = []
      for (let k = 0; k < 30; k++) {
        up = rnd() < 0.5
        const kept = await box.write('remark', new Date(1e12 + k * 1000), 'MF', { text: `n${k}` })
        written.push(kept.ordinal)
        await box.flush()
      }
      up = true
      for (let k = 0; k < 60 && store.kept.length; k++) await box.flush()
      expect(store.kept).toEqual([])
      expect(book.entries.map((e) => e.ordinal)).toEqual(written)
      expect(new Set(book.entries.map((e) => e.id)).size).toBe(30)
    }
  })

  it('keeps what the book can never take, and lets the rest pass', async () => {
    const book = new Book()
    const store = new Memory()
    const box = new Outbox(store, async (e) => book.take(e), 'phone')
    await box.write('remark', new Date(0), 'MF', { bad: true })
    await box.write('remark', new Date(1), 'MF', { text: 'good' })
    await box.flush()
    await box.flush()
    expect(book.entries.map((e) => e.body.text)).toEqual(['good'])
    expect(store.kept.map((k) => k.refused)).toEqual(['not an entry'])
  })
})
