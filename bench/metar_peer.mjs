// Texts a second of npm metar-taf-parser, best of five passes after one to warm up.
import { readFileSync } from 'node:fs'
import { parseMetar, parseTAF } from './peers/node_modules/metar-taf-parser/metar-taf-parser.js'
for (const [name, parse] of [['reports', parseMetar], ['forecasts', parseTAF]]) {
  const texts = readFileSync(new URL(`../model/metar/testdata/authority/${name}.jsonl`, import.meta.url), 'utf8').trim().split('\n').slice(1).map(l => JSON.parse(l).text)
  let best = 0
  for (let pass = 0; pass < 6; pass++) {
    const start = performance.now()
    for (let i = 0; i < 10; i++) for (const t of texts) parse(t)
    if (pass > 0) best = Math.max(best, 10000 * texts.length / (performance.now() - start))
  }
  console.log(`metar-taf-parser, ${name}`.padEnd(34) + String(Math.round(best)).padStart(12) + ' a second')
}
