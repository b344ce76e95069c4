// Changes to the shoot file from the page: one value at a time, with what stood there before.
import * as client from './client'
import { desk } from './desk.svelte'

export type Outcome = client.Full<client.Schema['Edited']>

/** What stands at a place of the shoot file, as slates/4B/lens; undefined for nothing. */
export function valueAt(document: unknown, at: string): unknown {
  let v = document
  for (const key of at.split('/')) {
    if (Array.isArray(v)) {
      v = v.find((x) => x && typeof x === 'object' && (String(x.slate) === key || String(x.name) === key)) ?? v[Number(key)]
    } else if (v && typeof v === 'object') v = (v as Record<string, unknown>)[key]
    else return undefined
  }
  return v
}

/** A value as a person reads it in a field. */
export const asText = (v: unknown): string => (v === undefined || v === null ? '' : Array.isArray(v) ? v.map(asText).join(', ') : String(v))

export async function save(at: string, was: unknown, value: unknown): Promise<Outcome> {
  const out = (await client.post('/api/edit', { edits: [{ at, was: was ?? null, value: value ?? null }] })) as Outcome
  return out
}

export async function add(list: 'slates', item: string): Promise<Outcome> {
  return (await client.post('/api/add', { list, item })) as Outcome
}

class Walk {
  trouble = $state('')
  count = $state(0) // fields that wait for their value to come forget it when it was taken back
  async go(way: 'undo' | 'redo') {
    this.trouble = ''
    try {
      const out = (await client.post(way === 'undo' ? '/api/undo' : '/api/redo', {} as never)) as Outcome
      if (out.conflict) this.trouble = `${out.conflict.at}: ${asText(out.conflict.theirs).slice(0, 60)}`
      else if (out.mistakes.length) this.trouble = out.mistakes[0]!.what
      this.count++
      await desk.fetch()
    } catch (e) {
      this.trouble = e instanceof Error ? e.message : String(e)
    }
  }
}
export const walk = new Walk()
