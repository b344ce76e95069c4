// What follows a landing, on the page: a recording comes in with its questions, the sortie is laid beside its plan,
// and the log teaches.
import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from '@playwright/test'
import { accessible, bin, expect, looks, test, type Served } from './desk'

const at = 'slate=4B&at=2026-09-22T11:00'
const cue = Date.parse('2026-09-22T09:00:00Z')

type Sample = { time_s: number; latitude_deg: number; longitude_deg: number; height_above_sea_m: number; yaw_deg: number; pan_deg: number; tilt_deg: number }

/** The solved path of a slate, as the command line prints it. */
function path(desk: Served, slate: string): Sample[] {
  const text = execFileSync(bin, ['path', desk.dir, slate, '--json'], { encoding: 'utf8', maxBuffer: 1 << 26 })
  return JSON.parse(text).samples
}

/** The slate as a recorder would write it: two metres high, its clock an hour behind, hover before and after. */
function recording(samples: Sample[], head: string): string {
  const rows = [head]
  const last = samples[samples.length - 1]!.time_s
  for (let t = -30; t <= last + 30; t += 0.2) {
    const s = samples.findLast((x) => x.time_s <= t) ?? samples[0]!
    const when = new Date(cue + t * 1000 - 3600e3).toISOString()
    rows.push([when, s.latitude_deg.toFixed(8), s.longitude_deg.toFixed(8), (s.height_above_sea_m + 2).toFixed(2), s.yaw_deg.toFixed(2), s.pan_deg.toFixed(2), s.tilt_deg.toFixed(2), '44.4', '20'].join(','))
  }
  return rows.join('\n')
}

async function log(desk: Served, entries: { id: string; kind: string; body: Record<string, unknown>; at?: string }[]) {
  const r = await fetch(desk.url + '/api/log', { method: 'POST', headers: { 'Content-Type': 'application/json', 'Fieldfare-Page': '1' }, body: JSON.stringify({ entries: entries.map((e) => ({ at: new Date(cue).toISOString(), by: 'MF', ...e })) }) })
  const out = (await r.json()) as { results: { refused: string }[] }
  expect(out.results.map((x) => x.refused).filter(Boolean)).toEqual([])
}

async function initials(page: Page) {
  await page.getByLabel('initials').fill('MF')
}

const parts = (page: Page) => page.getByRole('navigation', { name: 'parts of the log' })

test('a sortie is logged, its recording brought in with its questions, and reviewed', async ({ page, desk }) => {
  test.slow()
  const samples = path(desk, '4B')
  const last = samples[samples.length - 1]!.time_s
  await log(desk, [{ id: 'take-from-phone', kind: 'take', body: { slate: '4B', take: 1, circled: true, from: new Date(cue).toISOString(), to: new Date(cue + last * 1000).toISOString(), planned: new Date(cue - 1800e3).toISOString() } }])
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/log?${at}`)
  await initials(page)
  await parts(page).getByRole('link', { name: 'sorties' }).click()
  await expect(page).toHaveURL(/part=sorties/)
  await page.getByLabel('take-off').fill('10:59:00')
  await page.getByLabel('landing').fill('11:02:00')
  await page.getByLabel('pack').selectOption({ index: 1 })
  await page.getByLabel('class of shot').selectOption('near objects')
  await page.getByRole('button', { name: 'log it' }).click()
  const open = page.getByRole('link', { name: 'open sortie 2026-09-22/1' })
  await expect(open).toBeVisible()
  await expect(page.getByRole('row', { name: /2026-09-22\/1/ })).toContainText('4B') // the phone's take found its sortie
  await accessible(page)
  await page.screenshot({ path: `${looks}/sorties-laptop-paper.png`, fullPage: true })
  await open.click()

  // Headers that nobody could guess wholly: the unit of the height is asked.
  const text = recording(samples, 'time,latitude,longitude,altitude,heading,gimbal pan,gimbal tilt,voltage (V),current (A)')
  await page.getByLabel('file').setInputFiles({ name: 'flight.csv', mimeType: 'text/csv', buffer: Buffer.from(text) })
  await page.getByRole('button', { name: 'read it' }).click()
  const ask = page.getByRole('group', { name: 'The file leaves something open' })
  await expect(ask).toContainText('units are missing for height=altitude')
  const again = page.getByRole('button', { name: 'read it again with these answers' })
  await expect(again).toBeDisabled()
  await accessible(page)
  await page.screenshot({ path: `${looks}/recording-laptop-paper.png`, fullPage: true })
  await page.getByLabel('height, unit').selectOption('m')
  await again.click()
  await expect(page.getByText(/In the book: \d+ points/)).toBeVisible()
  await expect(page.getByText('3600.0 s')).toBeVisible() // its clock, found from the take
  await expect(page.getByText(/another zone, \+1 h/)).toBeVisible()

  // The review: what the printed page holds.
  await expect(page.getByRole('heading', { name: 'Sortie 2026-09-22/1: planned against flown' })).toBeVisible()
  await expect(page.locator('.map svg')).toBeVisible()
  await expect(page.locator('.change')).toContainText('2.0 m above the plan')
  await expect(page.getByRole('row', { name: /top speed/ }).first()).toBeVisible()
  await expect(page.locator('.profiles [data-drawn] canvas').first()).toBeVisible()
  await expect(page.locator('.profiles figure')).toHaveCount(6)
  await expect(page.getByText('it does not prove that a limit was kept', { exact: false })).toBeVisible()
  await accessible(page)
  await page.screenshot({ path: `${looks}/review-laptop-paper.png`, fullPage: true })
  const pdf = await page.request.get((await page.getByRole('link', { name: 'this page as PDF' }).getAttribute('href'))!)
  expect((await pdf.body()).subarray(0, 5).toString()).toBe('%PDF-')
  const original = await page.request.get((await page.getByRole('link', { name: 'the original' }).getAttribute('href'))!)
  expect((await original.body()).toString()).toBe(text)

  await page.getByRole('button', { name: 'dark' }).click()
  await accessible(page)
  await page.setViewportSize({ width: 390, height: 844 })
  await page.waitForTimeout(400)
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth), 'no sideways scroll').toBeLessThanOrEqual(0)
  await page.screenshot({ path: `${looks}/review-phone-dark.png`, fullPage: true })
  await page.reload() // a deep link
  await expect(page.getByRole('heading', { name: 'Sortie 2026-09-22/1: planned against flown' })).toBeVisible()
  await page.goBack()
  await expect(page.getByRole('heading', { name: 'Log a sortie' })).toBeVisible()
})

test('ladder: what is held, what is lacking, and a practice shoot written from the page', async ({ page, desk }) => {
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/log?${at}&part=ladder`)
  const rung = page.getByRole('row', { name: /^wide and open/ })
  await expect(rung).toContainText('not yet')
  await expect(rung).toContainText('h more in all')
  await expect(page.getByText('common practice, no source').first()).toBeVisible()
  await accessible(page)
  await page.screenshot({ path: `${looks}/ladder-laptop-paper.png`, fullPage: true })
  await page.getByLabel('day', { exact: true }).last().fill('2026-09-20')
  await page.getByRole('button', { name: 'what would be written?' }).click()
  await expect(page.locator('pre').first()).toContainText('fieldfare practice ')
  await page.getByRole('button', { name: 'write the practice shoot' }).click()
  const said = await page.getByText(/^Written: /).textContent()
  const dir = said!.replace('Written: ', '')
  expect(dir.startsWith(tmpdir())).toBe(true)
  expect(readFileSync(join(dir, 'shoot.yaml'), 'utf8')).toContain('title: "Practice: ')
  execFileSync('rm', ['-r', dir])
  await accessible(page)
  void desk
})

test('lessons stand old beside new with their uncertainty, and are taken by a person', async ({ page, desk }) => {
  await log(
    desk,
    Array.from({ length: 7 }, (_, i) => {
      const off = cue + (i + 1) * 1500e3
      return { id: `lesson-sortie-${i}`, kind: 'sortie', at: new Date(off).toISOString(), body: { sortie: `L${i}`, aircraft: 'HB-9', pilot: 'Ana', pack: `P${i % 2}`, take_off: new Date(off).toISOString(), landing: new Date(off + 720e3).toISOString(), energy_planned_wh: 50, energy_used_wh: 55 + 0.3 * (i % 3) } }
    }),
  )
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/log?${at}&part=lessons`)
  await initials(page)
  const row = page.getByRole('row', { name: /energy used for energy predicted/ })
  await expect(row).toContainText('×1.000')
  await expect(row).toContainText('×1.10')
  await expect(row).toContainText('–')
  await accessible(page)
  await page.screenshot({ path: `${looks}/lessons-laptop-paper.png`, fullPage: true })
  await row.getByRole('button', { name: /accept/ }).click()
  await expect(row).toContainText('written down')
  await expect(row.getByRole('cell').nth(2)).toContainText('×1.10') // it is the old value now
  const gap = page.getByRole('row', { name: /time between sorties/ })
  await gap.getByRole('button', { name: /plan with/ }).click()
  await expect.poll(() => readFileSync(join(desk.dir, 'shoot.yaml'), 'utf8')).toMatch(/setup_time: 7\d\d s/)
})

test('a rig that is planned with a factor is offered the next one, on top of it', async ({ page, desk }) => {
  // FF-W402 is the rig wren. Six sorties planned without a factor draw 1.1 times their plan; six planned with the
  // 112 % that came of it draw 0.5 % more than planned: 1.12 times 1.005 is 1.126.
  const fly = (from: number, planned: number, used: (i: number) => number) =>
    Array.from({ length: 6 }, (_, i) => {
      const off = cue + (from + i) * 86400e3
      return { id: `factor-sortie-${from + i}`, kind: 'sortie', at: new Date(off).toISOString(), body: { sortie: `F${from + i}`, aircraft: 'FF-W402', pilot: 'Ana', take_off: new Date(off).toISOString(), landing: new Date(off + 720e3).toISOString(), energy_planned_wh: planned, energy_used_wh: used(i), ...(from ? { power_factor: 1.12 } : {}) } }
    })
  await log(desk, fly(0, 50, (i) => 55 + 0.5 * ((i % 3) - 1)))
  const inFile = () => /name: wren[\s\S]*?power_factor: (\d+ %)/.exec(readFileSync(join(desk.dir, 'shoot.yaml'), 'utf8'))?.[1]
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/log?${at}&part=lessons`)
  await initials(page)
  const row = page.getByRole('row', { name: /FF-W402/ })
  await expect(row).toContainText('6 sorties drew ×1.100 the energy planned with the old factor: ×1.000 ×1.100 = ×1.100')
  await row.getByRole('button', { name: 'plan with 112 %' }).click()
  await expect.poll(inFile).toBe('112 %')
  await expect(row).toContainText('planned with 112 % already') // and the same sorties do not count twice
  await expect(row).toContainText('×1.120 ×0.982 = ×1.100')
  await log(desk, fly(10, 56, (i) => 56 * 1.005 + 0.5 * ((i % 3) - 1)))
  await page.reload()
  await initials(page)
  await expect(row).toContainText('12 sorties drew')
  await expect(row).toContainText('×1.120')
  await accessible(page)
  await page.screenshot({ path: `${looks}/factor-laptop-paper.png`, fullPage: true })
  const offered = row.getByRole('button', { name: /plan with 11\d %/ })
  const want = (await offered.textContent())!.replace('plan with ', '').trim()
  expect(want).not.toBe('112 %')
  await offered.click()
  await expect.poll(inFile).toBe(want)
  await page.setViewportSize({ width: 390, height: 844 })
  await page.getByRole('button', { name: 'dark' }).click()
  await page.waitForTimeout(300)
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth), 'no sideways scroll').toBeLessThanOrEqual(0)
  await accessible(page)
  await page.screenshot({ path: `${looks}/factor-phone-dark.png`, fullPage: true })
})

test('reports are shown, and kept as CSV and PDF; packs have their forecast', async ({ page, desk }) => {
  await log(
    desk,
    Array.from({ length: 6 }, (_, i) => ({ id: `pack-reading-${i}`, kind: 'pack', at: new Date(cue - (7 - i) * 30 * 86400e3).toISOString(), body: { pack: 'P9', cycles: 20 * i + 40, rated_ah: 22, capacity_ah: 21.5 - 0.7 * i - 0.05 * (i % 2), temperature_k: 295 } })),
  )
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/log?${at}&part=reports`)
  await expect(page.getByRole('heading', { name: 'Hours by person' })).toBeVisible()
  await accessible(page)
  await page.getByRole('button', { name: 'production report of the day' }).click()
  await expect(page.getByRole('heading', { name: /Production report for 2026-09-22/ })).toBeVisible()
  await page.screenshot({ path: `${looks}/reports-laptop-paper.png`, fullPage: true })
  const csv = await (await page.request.get((await page.getByRole('link', { name: 'as CSV' }).getAttribute('href'))!)).text()
  expect(csv.split('\r\n')[0]).toBe('table,row,column,value,caution')
  const pdf = await (await page.request.get((await page.getByRole('link', { name: 'as PDF' }).getAttribute('href'))!)).body()
  expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
  await page.goto(`/kit?${at}`)
  const row = page.getByRole('row', { name: /P9/ })
  await expect(row).toContainText('caution')
  await expect(row).toContainText('cautious forecast')
  await accessible(page)
})

test.describe('as crew', () => {
  test.use({ serviceWorkers: 'block' }) // so that the answer below is not asked around
  test('crew see what a lead may do, and are not offered it', async ({ page }) => {
    // The doors themselves are tested in guard_test.go.
    await page.route('**/api/session', (route) => route.fulfill({ json: { role: 'crew', name: 'Maud', shared: true } }))
    await page.goto(`/log?${at}&part=ladder`)
    await expect(page.getByText('A lead writes practice shoots.')).toBeVisible()
    await expect(page.getByRole('button', { name: 'write the practice shoot' })).toHaveCount(0)
    await page.goto(`/log?${at}&part=lessons`)
    await expect(page.getByText('A lead accepts.')).toBeVisible()
    await expect(page.getByRole('button', { name: /accept|plan with/ })).toHaveCount(0)
    await page.goto(`/log?${at}&part=sorties`)
    await expect(page.getByRole('button', { name: 'log it' })).toBeVisible() // crew log
    await page.goto(`/papers?${at}`)
    await expect(page.getByText('A lead draws films.')).toBeVisible()
    await expect(page.getByRole('heading', { name: 'Bring things in' })).toHaveCount(0)
    await expect(page.getByRole('link', { name: 'print the book' })).toBeVisible()
    await accessible(page)
  })
})

test('an incident is written by hand, corrected with a reason, and struck; nothing leaves the book', async ({ page, desk }) => {
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/log?${at}`)
  await initials(page)
  await page.getByText('Write an entry').click()
  const form = page.getByRole('form', { name: 'Write an entry' })
  await form.getByRole('button', { name: 'write it' }).click()
  await expect(form.getByRole('alert')).toContainText('needed: severity, what happened, in order, place, aircraft, pilot')
  await form.getByLabel('severity').selectOption('near-miss')
  await form.getByLabel(/what happened/).fill('a kite passed above the meadow')
  await form.getByLabel(/^place/).fill('hay meadow')
  await form.getByLabel(/^aircraft/).fill('FF-H801')
  await form.getByLabel(/^pilot\s*\(/).fill('Ines Aldrow')
  await accessible(page)
  await page.screenshot({ path: `${looks}/entry-laptop-paper.png`, fullPage: true })
  await form.getByRole('button', { name: 'write it' }).click()
  const row = page.getByRole('row', { name: /kite passed/ })
  await expect(row).toBeVisible()
  await row.getByRole('button', { name: /^correct/ }).click()
  const mend = page.getByRole('form', { name: 'correct' })
  await mend.getByLabel('wind, m/s').fill('4,5')
  await mend.getByRole('button', { name: 'write the correction' }).click()
  await expect(mend.getByRole('alert')).toContainText('reason')
  await mend.getByLabel(/^reason/).fill('read from the mast')
  await page.waitForTimeout(11_000) // the book is read anew meanwhile, and what is typed stays
  await expect(mend.getByLabel('wind, m/s')).toHaveValue('4,5')
  await mend.getByRole('button', { name: 'write the correction' }).click()
  await expect(row).toContainText('version 2')
  await row.getByRole('button', { name: /^strike/ }).click()
  await page.getByLabel('reason').fill('entered twice')
  await page.getByRole('button', { name: 'strike', exact: true }).click()
  await expect(row).toHaveCount(0)
  const book = execFileSync(bin, ['log', '--log', join(desk.dir, 'logbook.db'), 'list', '--kind', 'incident', '--kind', 'strike', '--json'], { encoding: 'utf8' })
  expect(JSON.parse(book)).toEqual([]) // struck: it stands nowhere any more
  const verified = execFileSync(bin, ['log', '--log', join(desk.dir, 'logbook.db'), 'verify', '--json'], { encoding: 'utf8' })
  expect(JSON.parse(verified).entries).toBeGreaterThanOrEqual(3) // and all three are in the book
})
