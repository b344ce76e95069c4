// Makes reports.jsonl and forecasts.jsonl: aerodrome reports in the forms of WMO-No. 306
// FM 15 and FM 51 and FMH-1, with what npm metar-taf-parser decodes from each. The
// published examples stand first; the others are composed from every group of the code
// with a seeded generator. Stations and values are invented.
//
//   cd bench/peers && npm ci && cd - && node make.mjs
import { readFileSync, writeFileSync } from 'node:fs'
const here = new URL('.', import.meta.url)
const peers = new URL('../../../../bench/peers/node_modules/metar-taf-parser/', here)
const { parseMetar, parseTAF } = await import(new URL('metar-taf-parser.js', peers))
const version = JSON.parse(readFileSync(new URL('package.json', peers))).version

let state = 20260621
const random = () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 4294967296
const int = (a, b) => a + Math.floor(random() * (b - a + 1))
const pick = (...a) => a[int(0, a.length - 1)]
const some = (p, f) => (random() < p ? f() : '')
const pad = (n, w) => String(n).padStart(w, '0')

const station = us => (us ? 'K' : pick('L', 'E', 'S', 'Y', 'U', 'R')) + Array.from({ length: 3 }, () => String.fromCharCode(65 + int(0, 25))).join('')
const day = () => pad(int(1, 28), 2)
const stamp = () => day() + pad(int(0, 23), 2) + pad(pick(0, 20, 30, 50, 53, 55), 2) + 'Z'
function wind(us, always) {
  const unit = us ? 'KT' : pick('KT', 'KT', 'KT', 'MPS')
  const top = unit === 'KT' ? 35 : 18
  const kind = random()
  if (kind < 0.08) return '00000' + unit
  if (kind < 0.16) return 'VRB' + pad(int(1, 5), 2) + unit
  if (kind < 0.18 && !always) return '/////' + unit
  const d = 10 * int(1, 36), m = int(2, top)
  let g = d === 0 ? '' : pad(d, 3) + pad(m, 2)
  if (random() < 0.3) g += 'G' + pad(m + int(unit === 'KT' ? 10 : 5, 15), 2)
  g += unit
  if (!always && random() < 0.2) { const a = ((d + 300) % 360 + 10) % 370, b = (d + 40) % 360 + 10; g += ' ' + pad(Math.floor(a / 10) * 10, 3) + 'V' + pad(Math.floor(b / 10) * 10, 3) }
  return g
}
const usVisibility = () => pick('10SM', '10SM', '7SM', '5SM', '3SM', '1SM', '1/2SM', '1 1/2SM', '2 1/2SM', '1 3/4SM', '3/4SM', 'M1/4SM', '9SM', '1/4SM', '15SM')
const visibility = () => pick('9999', '9999', '9999', '8000', '6000', '4500', '3000', '1500', '0800', '0300', '0050', '9000', '7000')
function layers() {
  const n = int(1, 4); let h = int(3, 20); const out = []
  for (let i = 0; i < n; i++) { out.push(pick('FEW', 'SCT', 'BKN', 'OVC') + pad(h, 3) + some(0.12, () => pick('CB', 'TCU'))); h += int(4, 60) }
  return out.join(' ')
}
const cloud = us => { const k = random(); return k < 0.7 ? layers() : us ? pick('CLR', 'SKC', 'VV002') : pick('NSC', 'NCD', 'VV001', 'VV///', 'SKC', 'VV003') }
const weather = () => pick('-RA', 'RA', '+RA', '-SHRA', 'SHRA', '+SHRA', 'TSRA', '-TSRA', '+TSRA', 'TS', 'BR', 'FG', 'HZ', 'DZ', '-DZ', '-SN', 'SN', '+SN', '-RASN', 'SHSN', '-SHSN', 'FZRA', '-FZRA', '-FZDZ', 'FZFG', 'MIFG', 'BCFG', 'PRFG', 'VCSH', 'VCTS', 'VCFG', 'FU', 'DU', 'SA', 'BLSN', 'DRSN', 'BLDU', 'SQ', 'PO', 'FC', 'SS', 'DS', '+DS', 'VA', 'GR', 'SHGR', 'TSGR', '+TSRAGR', 'GS', 'SHGS', 'PL', '-PL', 'IC', 'SG', 'UP', '-UP', 'SNRA', '-RADZ', 'RADZ', 'VCBLDU', 'BLSA', 'PY', 'FZUP')
const weathers = () => some(0.5, () => weather() + some(0.25, () => ' ' + pick('BR', 'FG', 'HZ')))
const rvr = us => some(0.15, () => us ? pick('R11/P6000FT', 'R04R/4500VP6000FT', 'R22L/1200FT', 'R09/M0600FT', 'R36C/2400V4000FT/U') : pick('R12/1000U', 'R24L/0600D', 'R06/P2000N', 'R31/M0050N', 'R18/0800', 'R27/0450V0900U', 'R09C/1500N R27C/P2000'))
const temperature = t => (t < 0 ? 'M' + pad(-t, 2) : pad(t, 2))
function temperatures(us) { const t = int(-15, 34), d = Math.max(t - int(0, 14), -25); return temperature(t) + '/' + temperature(d) }
const hPa = () => 'Q' + pad(int(975, 1042), 4)
const inches = () => 'A' + int(2890, 3075)
const least = () => some(0.08, () => pick('1200NE', '0900NW', '1500S', '2000SW', '0600E'))
const trend = () => pick('NOSIG', 'NOSIG', 'BECMG 9999 NSW', 'TEMPO 3000 -RA', 'TEMPO FM1030 TL1130 25018G33KT', 'BECMG FM1100 24015KT', 'TEMPO TL1200 0600 FG', 'BECMG AT1800 9999 NSW NSC', 'TEMPO SHRA BKN012CB', 'BECMG TL1700 0800 FG BECMG AT1800 9999 NSW', 'TEMPO 1500 +TSRA SCT010CB BKN020', 'BECMG CAVOK', 'TEMPO VRB15G28KT 4000 TSRA')
const tidy = a => a.filter(Boolean).join(' ')

function metar() {
  const us = random() < 0.35
  const head = tidy([pick('METAR', 'METAR', 'SPECI', ''), some(0.04, () => 'COR'), station(us), stamp(), some(0.25, () => 'AUTO')])
  if (us) {
    return tidy([head, wind(us), usVisibility(), rvr(us), weathers(), cloud(us), temperatures(us), inches(), some(0.6, () => 'RMK AO2 SLP' + pad(int(0, 299), 3) + ' T0' + pad(int(0, 300), 3) + '0' + pad(int(0, 200), 3) + some(0.3, () => ' TSNO') + some(0.3, () => ' $'))])
  }
  const clear = random() < 0.2
  const v = visibility()
  return tidy([head, wind(us), clear ? 'CAVOK' : tidy([v, v < '5000' ? least() : '', rvr(us), weathers(), cloud(us)]), temperatures(us), hPa(), some(0.08, () => pick('RERA', 'RETS', 'RESHRA', 'REFZRA')), some(0.04, () => pick('WS R24', 'WS ALL RWY')), some(0.05, () => pick('R24/CLRD70', 'R88/290155', 'W15/S4')), some(0.4, trend), some(0.05, () => pick('RMK QFE742', 'RMK BLU'))])
}

function taf() {
  const us = random() < 0.35
  const d0 = int(1, 27), h0 = pick(0, 6, 12, 18)
  const hours = pick(9, 24, 30)
  const at = h => pad(d0 + Math.floor((h0 + h) / 24), 2) + pad((h0 + h) % 24, 2)
  const end = h => { const s = at(h); return s.endsWith('00') && random() < 0.5 ? pad(Number(s.slice(0, 2)) - 1, 2) + '24' : s }
  const conditions = tempo => {
    if (!us && random() < 0.15) return 'CAVOK'
    return tidy([tempo && random() < 0.4 ? '' : wind(us, true), us ? pick('P6SM', 'P6SM', '5SM', '3SM', '2SM', '1 1/2SM', '1/2SM') : visibility(), weathers(), tempo && random() < 0.3 ? '' : (us ? pick(layers(), layers(), 'SKC') : pick(layers(), layers(), 'NSC'))])
  }
  const groups = []
  let h = 2
  while (h < hours - 4 && groups.length < 4) {
    const k = random(), span = int(2, 4)
    if (k < 0.3) groups.push('FM' + at(h) + pick('00', '30') + ' ' + conditions(false))
    else if (k < 0.55) groups.push(`BECMG ${at(h)}/${end(h + span)} ` + conditions(true))
    else if (k < 0.8) groups.push(`TEMPO ${at(h)}/${end(h + span)} ` + conditions(true))
    else if (k < 0.92) groups.push(`${pick('PROB30', 'PROB40')} ${at(h)}/${end(h + span)} ` + conditions(true))
    else groups.push(`${pick('PROB30', 'PROB40')} TEMPO ${at(h)}/${end(h + span)} ` + conditions(true))
    h += span + int(0, 4)
  }
  const extremes = some(0.25, () => `TX${temperature(int(5, 34))}/${at(3)}Z TN${temperature(int(-12, 4))}/${at(8)}Z`)
  return tidy(['TAF', some(0.08, () => 'AMD'), station(us), pad(d0, 2) + pad(h0 === 0 ? 0 : h0 - 1, 2) + pick('00', '20', '40') + 'Z', at(0) + '/' + end(hours), conditions(false), some(0.06, () => 'WS020/24045KT'), extremes, ...groups])
}

const published = readFileSync(new URL('published.txt', here), 'utf8').split('\n').filter(l => l && !l.startsWith('#'))
const reports = published.filter(l => !l.startsWith('TAF')), forecasts = published.filter(l => l.startsWith('TAF'))
while (reports.length < 420) { const m = metar(); if (!reports.includes(m)) reports.push(m) }
while (forecasts.length < 160) { const t = taf(); if (!forecasts.includes(t)) forecasts.push(t) }

const metres = v => v.unit === 'SM' ? v.value * 1609.344 : v.value >= 9999 ? 10000 : v.value
const knots = { KT: 1852 / 3600, MPS: 1, 'KM/H': 1 / 3.6 }
const fixed = n => n.toFixed(2)
function conditions(c, o, at = '') {
  if (c.wind) {
    o[at + 'wind'] = (c.wind.degrees === undefined ? c.wind.direction : c.wind.degrees) + ' ' + fixed(c.wind.speed * knots[c.wind.unit]) + (c.wind.gust === undefined ? '' : ' G' + fixed(c.wind.gust * knots[c.wind.unit]))
    if (c.wind.minVariation !== undefined) o[at + 'sector'] = c.wind.minVariation + '-' + c.wind.maxVariation
  }
  if (c.visibility) {
    const v = c.visibility
    o[at + 'visibility'] = (v.indicator === 'M' ? '<' : v.indicator === 'P' || c.cavok ? '>' : '') + fixed(metres(v))
    if (v.min) o[at + 'least'] = fixed(v.min.value) + v.min.direction
  }
  if (c.cavok) o[at + 'cavok'] = 'yes'
  const w = c.weatherConditions.map(w => (w.intensity ?? '') + (w.descriptive ?? '') + w.phenomenons.join(''))
  if (w.length) o[at + 'weather'] = w.join(' ')
  if (c.clouds.length) o[at + 'cloud'] = c.clouds.map(l => l.quantity + (l.height === undefined ? '' : pad(l.height / 100, 3)) + (l.type ?? '')).join(' ')
  if (c.verticalVisibility !== undefined) o[at + 'vertical'] = String(c.verticalVisibility)
}
const clock = (d, h, m = 0) => pad(d, 2) + pad(h, 2) + pad(m, 2)
function decode(text) {
  const o = {}
  try {
    if (text.startsWith('TAF')) {
      const t = parseTAF(text)
      o.station = t.station
      o.issued = clock(t.day, t.hour, t.minute)
      o.from = clock(t.validity.startDay, t.validity.startHour); o.until = clock(t.validity.endDay, t.validity.endHour)
      if (t.amendment) o.amended = 'yes'
      conditions(t, o)
      if (t.maxTemperature) o.maximum = t.maxTemperature.temperature + ' ' + clock(t.maxTemperature.day, t.maxTemperature.hour)
      if (t.minTemperature) o.minimum = t.minTemperature.temperature + ' ' + clock(t.minTemperature.day, t.minTemperature.hour)
      t.trends.forEach((c, i) => {
        const at = `change${i}.`
        o[at + 'kind'] = c.type + (c.probability ?? '')
        o[at + 'from'] = clock(c.validity.startDay, c.validity.startHour, c.validity.startMinutes)
        if (c.validity.endDay !== undefined) o[at + 'until'] = clock(c.validity.endDay, c.validity.endHour)
        conditions(c, o, at)
      })
      return o
    }
    const m = parseMetar(text)
    o.station = m.station
    o.kind = m.type ?? 'METAR'
    o.time = clock(m.day, m.hour, m.minute)
    if (m.auto) o.auto = 'yes'
    if (m.corrected) o.corrected = 'yes'
    conditions(m, o)
    if (m.temperature !== undefined) o.temperature = String(m.temperature)
    if (m.dewPoint !== undefined) o.dew = String(m.dewPoint)
    if (m.altimeter) o.pressure = (m.altimeter.unit === 'inHg' ? m.altimeter.value * 33.86389 : m.altimeter.value).toFixed(1)
    if (m.nosig) o.nosig = 'yes'
    m.runwaysInfo.forEach((r, i) => { if (r.minRange !== undefined) o[`runway${i}`] = r.name + ' ' + (r.indicator ?? '') + fixed(r.minRange * (r.unit === 'FT' ? 0.3048 : 1)) + (r.maxRange === undefined ? '' : ' ' + fixed(r.maxRange * (r.unit === 'FT' ? 0.3048 : 1))) })
    m.trends.forEach((c, i) => {
      const at = `change${i}.`
      o[at + 'kind'] = c.type
      for (const t of c.times) o[at + t.type] = pad(t.hour, 2) + pad(t.minute, 2)
      conditions(c, o, at)
    })
  } catch (e) { o.error = String(e.message ?? e) }
  return o
}
const write = (name, texts) => writeFileSync(new URL(name, here), JSON.stringify({ tool: 'npm metar-taf-parser', version, script: 'make.mjs' }) + '\n' + texts.map(text => JSON.stringify({ text, peer: decode(text) })).join('\n') + '\n')
write('reports.jsonl', reports)
write('forecasts.jsonl', forecasts)
