import { describe, expect, it } from 'vitest'
import { entry, forms, typed } from './forms'

const zone = 'Europe/Zurich'

describe('entries from forms', () => {
  it('asks what is needed and reads numbers, times of the site and lists', () => {
    expect(entry('pack', { pack: 'P1', cycles: 'many' }, {}, zone).wrong).toEqual(['cycles'])
    expect(entry('pack', {}, {}, zone).wrong).toEqual(['pack', 'cycles'])
    expect(entry('pack', { pack: ' P1 ', cycles: '12', capacity_ah: '21,4' }, {}, zone)).toEqual({ body: { pack: 'P1', cycles: 12, capacity_ah: 21.4 }, wrong: [] })
    expect(entry('permit', { permit: 'V-1', from: '2026-09-22T08:00', to: '2026-09-22T09:30' }, {}, zone).body).toEqual({ permit: 'V-1', from: '2026-09-22T06:00:00.000Z', to: '2026-09-22T07:30:00.000Z' })
    expect(entry('upkeep', { aircraft: 'H', work: 'rotors', serviceable: 'yes' }, {}, zone).body).toEqual({ aircraft: 'H', work: 'rotors', serviceable: true })
    expect(entry('incident', { severity: 'near-miss', what: 'x', place: 'p', aircraft: 'a', pilot: 'b', witnesses: 'Ana, Ben' }, {}, zone).body.witnesses).toEqual(['Ana', 'Ben'])
  })
  it('keeps what no field shows and what nobody touched, to the second', () => {
    const was = { slate: '4B', take: 2, circled: false, from: '2026-09-22T06:00:17.250Z', to: '2026-09-22T06:00:41Z', planned: '2026-09-22T05:00:00Z' }
    const shown = typed('take', was, zone)
    expect(shown.from).toBe('2026-09-22T08:00')
    expect(entry('take', { ...shown, circled: 'yes' }, was, zone)).toEqual({ body: { ...was, circled: true }, wrong: [] })
    expect(entry('take', { ...shown, slate: '' }, was, zone).wrong).toEqual(['slate'])
    expect(entry('take', { ...shown, from: '' }, was, zone).body.from).toBeUndefined()
  })
  it('has a form for each kind that a person writes', () => expect(Object.keys(forms).sort()).toEqual(['hours', 'incident', 'pack', 'permit', 'remark', 'sortie', 'take', 'upkeep']))
})
