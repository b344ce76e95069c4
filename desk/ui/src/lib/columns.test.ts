import { describe, expect, it } from 'vitest'
import { columnMap, open, picks, type Role } from './columns'

const roles: Role[] = [
  { name: 'time', units: ['iso', 's'] },
  { name: 'lat', units: ['deg'] },
  { name: 'lon', units: ['deg'] },
  { name: 'height', units: ['m', 'ft'] },
]
const header = ['UTC', 'Latitude', 'Longitude ', 'Alt, msl', 'Alt, msl']

describe('column map of a CSV recording', () => {
  const map = picks(header, [{ role: 'time', header: 'UTC', unit: 'iso' }, { role: 'lat', header: 'Latitude', unit: 'deg' }, { role: 'lon', header: 'Longitude', unit: 'deg' }, { role: 'height', header: '#4', unit: '' }], roles)
  it('takes the guess, by name or by number', () => {
    expect(Object.fromEntries(Object.entries(map).map(([k, p]) => [k, p.column]))).toEqual({ time: 0, lat: 1, lon: 2, height: 3 })
  })
  it('is open while a unit or a position is missing', () => {
    expect(open(map)).toEqual(['height'])
    expect(open({ ...map, height: { column: 3, unit: 'ft' } })).toEqual([])
    expect(open({ ...map, lat: { column: -1, unit: 'deg' } })).toEqual(['height', 'lat'])
  })
  it('is written so that the server cannot misread it: headers with marks or twice the same go by number', () => {
    expect(columnMap(header, { ...map, height: { column: 4, unit: 'ft' } })).toBe('time=UTC:iso,lat=Latitude:deg,lon=Longitude:deg,height=#5:ft')
    expect(columnMap(['a=b', 'x:deg', '#1'], { lat: { column: 0, unit: 'deg' }, lon: { column: 1, unit: 'deg' }, time: { column: 2, unit: 's' } })).toBe('lat=#1:deg,lon=#2:deg,time=#3:s')
  })
})
