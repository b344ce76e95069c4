import { describe, expect, it } from 'vitest'
import { contours, Ground, shade, sunDirection, type Info } from '../scene/ground'
import { poseAt, sunAt, type Path } from '../scene/data'
import { horizon } from '../scene/lens'
import * as clock from './clock'
import { desk, Inquiry } from './desk.svelte'
import { asText, valueAt } from './edit.svelte'
import * as m from './measure'
import { moves } from './moves'
import { read, write } from './route'
import { en, de } from './catalogues'

describe('clock', () => {
  it('knows the zone, on both sides of a clock change (IANA: Europe/Zurich leaves summer time on 2026-10-25)', () => {
    expect(clock.instant('2026-09-22', '07:41', 'Europe/Zurich')).toBe(Date.parse('2026-09-22T05:41:00Z'))
    expect(clock.instant('2026-10-25', '12:00', 'Europe/Zurich')).toBe(Date.parse('2026-10-25T11:00:00Z'))
    expect(clock.instant('2026-10-26', '00:00', 'Europe/Zurich') - clock.instant('2026-10-25', '00:00', 'Europe/Zurich')).toBe(25 * 3600e3)
    expect(clock.hhmm(Date.parse('2026-09-22T05:41:00Z'), 'Europe/Zurich')).toBe('07:41')
    expect(clock.dateOf(Date.parse('2026-09-22T22:30:00Z'), 'Europe/Zurich')).toBe('2026-09-23')
  })
  it('writes durations', () => expect([5, 75, 3700].map(clock.duration)).toEqual(['5 s', '1:15 min', '1:01 h']))
})

describe('measures', () => {
  it('turns units by their definitions (1 ft = 0.3048 m, 1 kt = 1852 m/h, 1 lb = 0.45359237 kg)', () => {
    expect(m.length(121.92, 'imperial')).toBe('400 ft')
    expect(m.wind(10, 'imperial')).toBe('19 kt')
    expect(m.mass(0.45359237, 'imperial')).toBe('16.0 oz')
    expect(m.temperature(-40, 'imperial')).toBe('−40 °F')
    expect(m.length(120, 'metric')).toBe('120 m')
    expect([0.04, -0.04, 8.12, -3].map(m.signedPercent)).toEqual(['0.0 %', '0.0 %', '+8.1 %', '−3.0 %'])
  })
  it('writes shutters, stops and compass points', () => {
    expect([m.shutter(0.02), m.fstop(5.6), m.fstop(8), m.compass(209.9), m.compass(-10)]).toEqual(['1/50', 'f/5.6', 'f/8', 'SSW', 'N'])
  })
})

describe('a long question', () => {
  it('is let go when it is asked anew or dropped, and a late answer is not taken', async () => {
    const put: { signal: AbortSignal; say: (v: { version: number; of: number }) => void }[] = []
    const inquiry = new Inquiry<{ version: number; of: number }>(() => 0)
    const ask = () => inquiry.ask((signal) => new Promise((say) => put.push({ signal, say })))
    ask()
    ask()
    expect(put.map((x) => x.signal.aborted)).toEqual([true, false])
    put[0]!.say({ version: desk.version, of: 1 })
    await Promise.resolve()
    expect([inquiry.value, inquiry.asking]).toEqual([null, true])
    put[1]!.say({ version: desk.version, of: 2 })
    await Promise.resolve()
    expect([inquiry.value?.of, inquiry.asking]).toEqual([2, false])
    ask()
    inquiry.drop()
    put[2]!.say({ version: desk.version, of: 3 })
    await Promise.resolve()
    expect([put[2]!.signal.aborted, inquiry.value, inquiry.asking]).toEqual([true, null, false])
  })
  it('answered for another version is not shown', async () => {
    const inquiry = new Inquiry<{ version: number }>(() => 0)
    inquiry.ask(() => Promise.resolve({ version: desk.version + 1 }))
    await Promise.resolve()
    expect([inquiry.value, inquiry.asking]).toEqual([null, false])
  })
})

describe('addresses', () => {
  it('come back as they went', () => {
    const p = { room: 'frame' as const, slate: '4B', date: '2026-09-22', time: '07:41', part: '' }
    expect(read(new URL('http://x' + write(p)))).toEqual(p)
    expect(read(new URL('http://x/nowhere?at=rubbish')).room).toBe('slates')
  })
})

describe('places of the shoot file', () => {
  const doc = { house: { wind: '8 m/s' }, slates: [{ slate: '4A' }, { slate: '4B', light: ['daylight', 'soft'], moves: [{ height: '14 m' }] }] }
  it('are found by name or number', () => {
    expect(valueAt(doc, 'house/wind')).toBe('8 m/s')
    expect(valueAt(doc, 'slates/4B/moves/0/height')).toBe('14 m')
    expect(valueAt(doc, 'slates/9Z/lens')).toBeUndefined()
    expect(asText(valueAt(doc, 'slates/4B/light'))).toBe('daylight, soft')
  })
})

const info = (n: number, cell: number): Info => ({ x0_m: 0, y0_m: 0, cell_m: cell, columns: n, rows: n, low_m: 0, high_m: 100, datum: '', lattice: [] })

describe('ground', () => {
  it('is bilinear between nodes', () => {
    const g = new Ground(info(2, 10), new Float32Array([0, 10, 20, 30]))
    expect(g.heightAt(5, 5)).toBe(15)
    expect(g.heightAt(10, 0)).toBe(10)
    expect(g.heightAt(-1, 0)).toBeNaN()
  })
  it('draws contours of a plane as straight lines where they belong', () => {
    const n = 11
    const g = new Ground(info(n, 1), Float32Array.from({ length: n * n }, (_, k) => (k % n) * 10))
    const [line] = contours(g, [35])
    expect(line!.length).toBe(10)
    for (const [a, , c] of line!) expect([a, c]).toEqual([3.5, 3.5])
  })
  it('throws a shadow as long as height over the tangent of the sun’s altitude', () => {
    const n = 101
    const g = new Ground({ ...info(n, 2), high_m: 20 }, new Float32Array(n * n))
    const wall: [number, number][] = [[20, 100], [180, 100], [180, 101], [20, 101]]
    // A wall 20 m high, the sun in the south 30° up: the shadow lies 20 / tan 30° = 34.6 m to the north.
    const lit = shade(g, [{ ring: wall, foot: 0, top: 20 }], sunDirection(180, 30), 0, 0, 200, 200, 200)
    let edge = 0
    for (let y = 102; y < 200; y++) if (lit[y * 200 + 100] === 0) edge = y
    expect(edge - 101).toBeGreaterThan(33)
    expect(edge - 101).toBeLessThan(36)
    expect(lit[60 * 200 + 100]).toBe(255)
  })
})

describe('camera', () => {
  const path = { t_s: [0, 2], xyz: [[0, 0, 10], [4, 0, 10]], azimuth_deg: [350, 10], tilt_deg: [0, -10], roll_deg: [0, 0], yaw_deg: [0, 0], vfov_deg: [20, 20], speed_m_s: [2, 2], ground_m: [0, 0] } as unknown as Path
  it('moves evenly between samples and turns the short way through north', () => {
    const p = poseAt(path, 1)
    expect([p.x, ((p.azimuth % 360) + 360) % 360, p.tilt]).toEqual([2, 0, -5])
  })
  it('sees the horizon in the middle when level, and at the top edge when tilted down by half its view', () => {
    const level = poseAt(path, 0)
    expect(horizon(level, 16 / 9)).toEqual([0.5, 0.5])
    expect(horizon({ ...level, tilt: -10 }, 16 / 9)[0]).toBeCloseTo(0, 9)
  })
  it('lets the sun pass north without a jump', () => {
    const h = { from: '2026-06-01T00:00:00Z', step_s: 600, sun_altitude_deg: [1, 2], sun_azimuth_deg: [359, 1], skyline_deg: [0, null] }
    const s = sunAt(h as never, Date.parse(h.from) + 300e3)
    expect([((s.azimuth % 360) + 360) % 360, s.altitude, s.skyline]).toEqual([0, 1.5, null])
  })
})

describe('what a new plan changed', () => {
  const sheet = (...shots: [string, string][]) => ({ days: [{ sorties: [{ rig: 'r', pack: 'p', slates: shots.map(([slate, start]) => ({ slate, start, end: start })) }] }], left_out: [{ slate: 'B', reason: 'no window' }] }) as never
  it('names what moved, came and went', () => {
    const out = moves(sheet(['A', '2026-01-01T10:00:00Z'], ['B', '2026-01-01T11:00:00Z']), sheet(['A', '2026-01-01T10:30:00Z'], ['C', '2026-01-01T12:00:00Z']))
    expect(out.map((x) => `${x.slate} ${x.kind}`)).toEqual(['A moved', 'B dropped', 'C added'])
    expect(out[1]!.reason).toBe('no window')
  })
})

describe('words', () => {
  const keys = (v: unknown, at = ''): string[] => (v && typeof v === 'object' ? Object.entries(v).flatMap(([k, x]) => keys(x, `${at}.${k}`)) : [at])
  it('has every word in both languages', () => expect(keys(de)).toEqual(expect.arrayContaining(keys(en))))
  it('translates most of them', () => {
    const flat = (v: unknown): string[] => (typeof v === 'string' ? [v] : v && typeof v === 'object' ? Object.values(v).flatMap(flat) : [])
    const [a, b] = [flat(en), flat(de)]
    expect(a.filter((x, i) => x === b[i]).length / a.length).toBeLessThan(0.2)
  })
})
