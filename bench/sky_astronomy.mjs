// Sun by astronomy-engine over one list of times, for bench/sky.sh.
// Usage: node sky_astronomy.mjs TIMES.csv REFERENCE.csv
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
const require = createRequire(new URL('./peers/package.json', import.meta.url))
const A = require('astronomy-engine')
const version = require('./package.json').dependencies['astronomy-engine']

const table = (name) => readFileSync(name, 'utf8').trim().split('\n').map((l) => l.split(',').map(Number))
const times = table(process.argv[2]).map(([ut]) => ut)
const reference = table(process.argv[3])
const observer = new A.Observer(46.6, 10.3, 1800)
const look = (body, ut) => {
  const t = new A.AstroTime(ut)
  const e = A.Equator(body, t, observer, true, true)
  return A.Horizon(t, observer, e.ra, e.dec)
}
const rate = (body) => {
  for (const ut of times) look(body, ut)
  let n = 0
  const start = performance.now()
  while (performance.now() - start < 1500) {
    for (const ut of times) look(body, ut)
    n += times.length
  }
  return (n / (performance.now() - start)) * 1000
}
let worst = 0
const rad = Math.PI / 180
times.forEach((ut, i) => {
  const h = look(A.Body.Sun, ut)
  const [az, alt] = reference[i]
  const x = Math.sin(((h.altitude - alt) * rad) / 2) ** 2 +
    Math.cos(h.altitude * rad) * Math.cos(alt * rad) * Math.sin(((h.azimuth - az) * rad) / 2) ** 2
  worst = Math.max(worst, (2 * Math.asin(Math.sqrt(x))) / rad)
})
console.log(`sun  astronomy-engine ${version} Equator + Horizon|${rate(A.Body.Sun).toFixed(0)}|${worst.toFixed(6)}`)
console.log(`moon astronomy-engine ${version} Equator + Horizon|${rate(A.Body.Moon).toFixed(0)}|`)
