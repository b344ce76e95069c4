import { describe, expect, test } from 'vitest'
import type { Path } from '../scene/data'
import { extremes, panels, reach, stands, valueAt } from './profile'

const second = (at_s: number, more: object) => ({ at_s, speed_m_s: 3, nearest_m: 20, nearest: 'mast', pilot_m: 100, ...more })
const path = {
  t_s: [0, 1, 2],
  xyz: [[0, 0, 110], [0, 0, 104], [0, 0, 130]],
  ground_m: [100, 100, null],
  speed_m_s: [0, 4, 2],
  acceleration_m_s2: [0, 1, 1],
  steps: [],
  seconds: [second(0, { nearest_m: null, nearest: '' }), second(1, {}), second(2, { nearest_m: 4, pilot_m: 500 })],
  limits: [{ of: 'above_ground', at_least: 5, at_most: null, basis: 'house rule' }, { of: 'above_ground', at_least: null, at_most: 120, basis: 'permit' }, { of: 'nearest', at_least: 5, at_most: null, basis: 'house rule' }, { of: 'speed', at_least: null, at_most: 15, basis: 'craft' }],
} as unknown as Path
const of = (name: string, sight: number | null = 400) => panels(path, sight).find((x) => x.of === name)!

describe('numbers along a take', () => {
  test('between two seconds they are linear, beside an unknown one they are unknown', () => {
    const x = of('above_ground')
    expect(valueAt(x, x.v, 0.5)).toBeCloseTo(7)
    expect(valueAt(x, x.v, 1.5)).toBeNull()
    expect(valueAt(x, x.v, 1)).toBeCloseTo(4)
    const n = of('nearest')
    expect(valueAt(n, n.v, 0)).toBeNull()
    expect(valueAt(n, n.v, 1.5)).toBeCloseTo(12)
    expect(valueAt(n, n.v, 9)).toBe(4)
  })
  test('unknown is never within a limit', () => {
    expect(stands(of('above_ground'), 0)).toBe('within')
    expect(stands(of('above_ground'), 1)).toBe('past')
    expect(stands(of('above_ground'), 2)).toBe('unknown')
    expect(stands(of('nearest'), 2)).toBe('past')
    expect(stands(of('from_pilot'), 2)).toBe('past')
    expect(stands(of('from_pilot', null), 2)).toBe('within') // no limit is known: the panel says so
    expect(of('from_pilot', null).limits).toEqual([])
  })
  test('a stand-off that grows is held moment by moment', () => {
    const moving = { ...path, seconds: [second(0, { moving_subject_m: 20, stand_off_m: 12 }), second(1, { moving_subject_m: 14, stand_off_m: 15 })] } as unknown as Path
    const x = panels(moving, null).find((y) => y.of === 'moving_subject')!
    expect(stands(x, 0)).toBe('within')
    expect(stands(x, 1)).toBe('past')
  })
  test('extremes say when, and what is missing', () => {
    expect(extremes(of('above_ground'))).toEqual({ low: 4, lowAt: 1, high: 10, highAt: 0, unknown: 1 })
    expect(extremes({ ...of('nearest'), v: [null, null] })).toBeNull()
  })
  test('a limit far off does not squeeze the numbers', () => {
    expect(reach(of('speed'))[1]).toBeLessThan(5)
    expect(reach(of('above_ground'))[1]).toBeGreaterThan(10)
    expect(reach(of('above_ground'))[1]).toBeLessThan(12)
  })
})
