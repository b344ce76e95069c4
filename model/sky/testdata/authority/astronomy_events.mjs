// Rise, set, transit and twilights by astronomy-engine, for events_grid_test.go.
// Run: node astronomy_events.mjs > astronomy_events.csv (packages of bench/peers).
// Each row is one UT day at one place. Times are seconds from 0h UT, empty if the day has none.
import { createRequire } from 'node:module'
const require = createRequire(new URL('../../../../bench/peers/package.json', import.meta.url))
const A = require('astronomy-engine')
const version = require('./package.json').dependencies['astronomy-engine']

let state = 271828183
const random = () => {
  state = (Math.imul(state, 1664525) + 1013904223) >>> 0
  return state / 4294967296
}
const day = 86400000
const events = (body, direction, observer, start, altitude) => {
  const found = []
  let from = start
  for (;;) {
    const left = (start.getTime() + day - from.getTime()) / day
    if (left <= 0) break
    const hit = altitude === undefined
      ? A.SearchRiseSet(body, observer, direction, from, left)
      : A.SearchAltitude(body, observer, direction, from, left, altitude)
    if (!hit || hit.date.getTime() >= start.getTime() + day) break
    found.push(((hit.date.getTime() - start.getTime()) / 1000).toFixed(2))
    from = new Date(hit.date.getTime() + 60000)
  }
  return found.join(' ')
}
const transit = (body, observer, start) => {
  const hit = A.SearchHourAngle(body, observer, 0, start)
  const s = (hit.time.date.getTime() - start.getTime()) / 1000
  return s < 86400 ? s.toFixed(2) : ''
}
console.log(`# astronomy-engine ${version}, 600 days at sea level; made by astronomy_events.mjs`)
console.log('# unix_day,latitude,longitude,sunrise,sunset,transit,civil_dawn,civil_dusk,nautical_dawn,nautical_dusk,astronomical_dawn,astronomical_dusk,moonrise,moonset,moon_transit,noon: sun azimuth,altitude,moon azimuth,altitude (no air)')
for (let n = 0; n < 600; n++) {
  const unixDay = Math.floor(-7304 + random() * (47480 + 7304))
  const polar = n % 3 === 2
  const latitude = +(polar ? (random() < 0.5 ? -1 : 1) * (65 + random() * 25) : -65 + random() * 130).toFixed(4)
  const longitude = +(-180 + random() * 360).toFixed(4)
  const start = new Date(unixDay * day)
  const o = new A.Observer(latitude, longitude, 0)
  const row = [unixDay, latitude, longitude,
    events(A.Body.Sun, +1, o, start), events(A.Body.Sun, -1, o, start), transit(A.Body.Sun, o, start)]
  for (const altitude of [-6, -12, -18]) {
    row.push(events(A.Body.Sun, +1, o, start, altitude), events(A.Body.Sun, -1, o, start, altitude))
  }
  row.push(events(A.Body.Moon, +1, o, start), events(A.Body.Moon, -1, o, start), transit(A.Body.Moon, o, start))
  const noon = new Date(start.getTime() + day / 2)
  for (const body of [A.Body.Sun, A.Body.Moon]) {
    const e = A.Equator(body, noon, o, true, true)
    const h = A.Horizon(noon, o, e.ra, e.dec)
    row.push(h.azimuth.toFixed(6), h.altitude.toFixed(6))
  }
  console.log(row.join(','))
}
