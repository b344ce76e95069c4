import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { createHash } from 'node:crypto'
import { accessible, close, expect, looks, root, serve, test as base, type Served } from './desk'

// These change the shoot: they have a server to themselves.
const test = base.extend<object, { desk: Served }>({
  desk: [
    // eslint-disable-next-line no-empty-pattern
    async ({}, use) => {
      const s = await serve()
      await use(s)
      close(s)
    },
    { scope: 'worker' },
  ],
})
const file = (desk: Served) => join(desk.dir, 'shoot.yaml')
const pristine = readFileSync(join(root, 'examples/last-milk-run/shoot.yaml'), 'utf8')
type Check = { slates: { slate: string; windows: { from: string; to: string }[] | null }[] }

/** Local time of the site in the demo's September, two hours ahead of UTC. */
const local = (at: number) => new Date(at + 2 * 3600e3).toISOString().slice(0, 16)

// Each test starts from the demo as it is, whatever the one before left.
test.beforeEach(async ({ desk }) => {
  if (readFileSync(file(desk), 'utf8') !== pristine) writeFileSync(file(desk), pristine)
  await expect.poll(async () => ((await (await fetch(desk.url + '/api/state')).json()) as { hash: string; sheet: object | null; mistakes: object[] }), { timeout: 30_000 }).toMatchObject({ hash: hashOf(pristine), sheet: {}, mistakes: [] })
})
const hashOf = (text: string) => createHash('sha256').update(text).digest('hex').slice(0, 24)
const settled = (desk: Served) => expect.poll(async () => ((await (await fetch(desk.url + '/api/state')).json()) as { sheet: object | null }).sheet !== null, { timeout: 30_000 }).toBe(true)

test('drag the hour and everything follows', async ({ page, desk }) => {
  const check = (await (await fetch(desk.url + '/api/check')).json()) as Check
  const w = check.slates.find((x) => x.slate === '2C')!.windows![0]!
  const middle = Math.round((Date.parse(w.from) + Date.parse(w.to)) / 120000) * 60000
  await page.goto(`/light?slate=2C&at=${local(middle)}`)
  const hand = page.getByRole('slider', { name: 'hour of the day' })
  const clock = page.locator('header time')
  await expect(page.locator('.verdict')).toContainText(`${local(middle).slice(11)}: everything`)
  await hand.focus()
  for (let k = 0; k < 3; k++) await page.keyboard.press('PageDown')
  await page.keyboard.press('ArrowLeft')
  await expect(clock).toHaveText(local(middle + 29 * 60000).slice(11))
  await expect(page).toHaveURL(new RegExp('at=' + local(middle + 29 * 60000)))
  const box = (await hand.boundingBox())!
  await page.mouse.move(box.x + box.width * 0.5, box.y + 20)
  await page.mouse.down()
  await page.mouse.move(box.x + box.width * 0.96, box.y + 20, { steps: 8 })
  await page.mouse.up()
  const now = (await clock.textContent())!
  expect(now > '20:30' && now < '22:00').toBe(true)
  await expect(page.locator('.verdict')).toContainText(`${now}: not now`)
  await page.getByRole('link', { name: 'slates' }).click()
  await expect(page.locator('section h3', { hasText: 'findings' })).toContainText(now)
  await page.goBack()
  await expect(page.locator('nav a[aria-current]')).toHaveText('light')
  await expect(clock).toHaveText(now)
})

test('slates are walked by keyboard', async ({ page }) => {
  await page.goto('/slates?slate=1A&at=2026-09-22T10:30')
  await page.getByRole('link', { name: /^1A/ }).focus()
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('Enter')
  await expect(page.locator('article h2')).toContainText('1C')
  await expect(page).toHaveURL(/slate=1C/)
})

test('measures change everywhere', async ({ page }) => {
  await page.goto('/slates?slate=2C&at=2026-09-22T10:30')
  await expect(page.locator('.groups')).toContainText('m/s')
  await page.getByRole('button', { name: 'imperial' }).click()
  await expect(page.locator('.groups')).toContainText(' ft')
  await expect(page.locator('.groups')).not.toContainText('m/s')
})

test('an edit shows new numbers, takes units as typed, tells mistakes at the field, and can be undone', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.goto('/kit?slate=2C&at=2026-09-22T10:30')
  const wind = page.getByLabel('wind', { exact: true })
  await wind.fill('12')
  await wind.press('Enter')
  await expect(page.locator('.field [role=alert]')).toContainText('unit')
  expect(readFileSync(file(desk), 'utf8')).toBe(before)
  await wind.fill('12 kt')
  await wind.press('Enter')
  await expect(page.locator('.field [role=alert]')).toHaveCount(0)
  await expect.poll(() => readFileSync(file(desk), 'utf8')).toContain('wind: 12 kt')
  expect(readFileSync(file(desk), 'utf8').split('\n').length).toBe(before.split('\n').length)
  await page.getByRole('button', { name: 'undo' }).click()
  await expect.poll(() => readFileSync(file(desk), 'utf8')).toBe(before)
  await expect(wind).toHaveValue('8 m/s')
  await settled(desk)
})

test('two who save at once both keep their words', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.goto('/kit?slate=2C&at=2026-09-22T10:30')
  const gust = page.getByLabel('gusts', { exact: true })
  await expect(gust).toHaveValue('11 m/s')
  await gust.focus()
  await gust.fill('13 m/s')
  writeFileSync(file(desk), before.replace('gust: 11 m/s', 'gust: 9 m/s'))
  await gust.press('Enter')
  const alert = page.locator('.field [role=alert]')
  // Whether or not the page had heard of the other's save: nothing is written over unasked.
  await expect(alert).toContainText('13 m/s', { timeout: 20_000 })
  await expect(alert).toContainText('9 m/s')
  expect(readFileSync(file(desk), 'utf8')).toContain('gust: 9 m/s')
  await alert.getByRole('button', { name: 'save yours' }).click()
  await expect.poll(() => readFileSync(file(desk), 'utf8')).toContain('gust: 13 m/s')
  await expect(alert).toHaveCount(0)
  await settled(desk)
})

test('the page follows the file and says its mistakes', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.goto('/slates?slate=2B&at=2026-09-22T10:30')
  await expect(page.locator('article h2')).toContainText('Around the tower')
  writeFileSync(file(desk), before.replace('title: Around the tower', 'title: All around the tower'))
  await expect(page.locator('article h2')).toContainText('All around the tower', { timeout: 20_000 })
  writeFileSync(file(desk), before.replace('radius: 60 m', 'radius: 60'))
  await expect(page.getByRole('alert')).toContainText('radius: 60', { timeout: 20_000 })
  writeFileSync(file(desk), before)
  await expect(page.getByRole('alert')).toHaveCount(0, { timeout: 20_000 })
  await settled(desk)
})

test('fix a stop', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.goto('/slates?slate=3C&at=2026-09-22T11:00')
  const stop = page.locator('li[data-severity=stop]').first()
  await expect(stop).toContainText('distance to people')
  await expect(page.getByText('barred whatever the hour')).toBeVisible()
  await page.getByText('change 3C').click()
  // The mend says to move the path away from the hamlet.
  for (const [field, value] of [
    ['distance', '330 m'],
    ['to distance', '270 m'],
  ] as const) {
    const input = page.getByLabel(field, { exact: true })
    await input.fill(value)
    await input.press('Enter')
    await expect.poll(() => readFileSync(file(desk), 'utf8')).toContain(`distance: ${value}`)
  }
  await expect(page.locator('li[data-severity=stop]')).toHaveCount(0, { timeout: 20_000 })
  await expect(page.locator('article .windows li').first()).toBeVisible()
  writeFileSync(file(desk), before)
  await expect(stop).toBeVisible({ timeout: 20_000 })
  await settled(desk)
})

test('make a shot by framing it', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.goto('/frame?slate=2C&at=2026-09-22T10:30')
  await page.getByRole('button', { name: 'frame a new shot' }).click()
  const form = page.locator('form.framing')
  await form.getByLabel('subject').selectOption('chapel')
  await form.getByLabel('distance').fill('120')
  await form.getByLabel('height').fill('25')
  await page.waitForTimeout(500)
  await page.screenshot({ path: `${looks}/frame-new.png` })
  await form.getByLabel('title').fill('Across the meadow')
  await form.getByRole('button', { name: 'write 2D' }).click()
  await expect(page.locator('article h2')).toContainText('2D Across the meadow', { timeout: 30_000 })
  expect(readFileSync(file(desk), 'utf8')).toContain('distance: 120 m')
  await page.getByRole('button', { name: 'undo' }).click()
  await expect.poll(() => readFileSync(file(desk), 'utf8')).toBe(before)
  await settled(desk)
})

test('lock a slate, plan again, see what changed', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.goto('/day?slate=2C&at=2026-09-22T09:00')
  await page.getByRole('button', { name: 'lock 2C' }).click()
  await expect.poll(() => readFileSync(file(desk), 'utf8')).toMatch(/fixed: "?2026-09-2/)
  await settled(desk)
  await expect(page.getByRole('button', { name: 'lock 2C' })).toHaveAttribute('aria-pressed', 'true', { timeout: 20_000 })
  await page.getByRole('button', { name: 'plan again from' }).click()
  await expect(page.locator('.changed li').first()).toBeVisible({ timeout: 30_000 })
  await page.screenshot({ path: `${looks}/day-again.png`, fullPage: true })
  writeFileSync(file(desk), before)
  await expect(page.getByRole('button', { name: 'lock 2C' })).toHaveAttribute('aria-pressed', 'false', { timeout: 30_000 })
  await settled(desk)
})

test('how likely the day is, asked for by hand', async ({ page }) => {
  await page.goto('/day?slate=2C&at=2026-09-22T09:00')
  await page.getByRole('button', { name: 'how likely is this day?' }).click()
  await page.getByRole('button', { name: 'stop', exact: true }).click()
  await page.getByRole('button', { name: 'how likely is this day?' }).click()
  await expect(page.getByText('Every must of this day is got on')).toBeVisible({ timeout: 60_000 })
  await expect(page.getByText('A guess, no source.')).toBeVisible()
  await expect(page.locator('tr.chance')).toHaveCount(await page.locator('tr.take').count())
  await accessible(page)
  await page.screenshot({ path: `${looks}/day-odds.png`, fullPage: true })
})

test('a slate is dragged along the day', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto('/day?slate=2C&at=2026-09-22T09:00')
  const block = page.locator('.shot.mine .touch').first()
  await block.scrollIntoViewIfNeeded()
  const box = (await block.boundingBox())!
  await page.mouse.move(box.x + 10, box.y + box.height / 2)
  await page.mouse.down()
  await page.mouse.move(box.x - 60, box.y + box.height / 2, { steps: 6 })
  await page.mouse.up()
  await expect.poll(() => readFileSync(file(desk), 'utf8')).toMatch(/fixed: "?2026-09-2/)
  await settled(desk)
  writeFileSync(file(desk), before)
  await settled(desk)
})

test('out of reach a take, ticks and a remark are kept, and merged once when back', async ({ page, context, desk }) => {
  await page.setViewportSize({ width: 390, height: 844 })
  await page.goto('/field?slate=2C&at=2026-09-22T10:30')
  await expect(page.locator('dl.large dd').first()).toBeVisible()
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null, null, { timeout: 20_000 })
  await page.waitForTimeout(2500) // cards, lists and meter of the day are fetched ahead

  await context.setOffline(true)
  await page.reload()
  await expect(page.locator('.reach')).toContainText('OUT OF REACH', { timeout: 20_000 })
  const slate = (await page.locator('.huge .id').first().textContent())!
  await expect(page.locator('dl.large dd').first()).toBeVisible()
  await page.getByLabel('initials').fill('MF')
  await page.locator('summary', { hasText: 'Before each take' }).click()
  await page.locator('details[open] .tick').nth(0).click()
  await page.locator('details[open] .tick').nth(1).click()
  await expect(page.locator('details[open] .tick[aria-pressed=true]')).toHaveCount(2)
  await page.getByRole('button', { name: `start ${slate}` }).click()
  await page.waitForTimeout(1100)
  await page.getByLabel('notes').fill('goat in the frame')
  await page.getByLabel('circle it').check()
  await page.getByRole('button', { name: `stop ${slate}` }).click()
  await page.getByRole('button', { name: 'landed P1' }).click()
  await expect(page.locator('.reach')).toContainText('4 to send')
  await expect(page.locator('.huge .id').first()).not.toHaveText(slate)
  await expect(page.locator('dl.large dd').first()).toBeVisible() // the next card was fetched ahead
  await page.reload() // what was written outlives the page
  await expect(page.locator('.reach')).toContainText('4 to send', { timeout: 20_000 })
  await page.screenshot({ path: `${looks}/field-out-of-reach.png`, fullPage: true })

  await context.setOffline(false)
  await expect(page.locator('.reach')).not.toContainText('to send', { timeout: 30_000 })
  const book = (await (await fetch(desk.url + '/api/log')).json()) as { entries: { kind: string; ordinal: number; by: string; body: Record<string, unknown> }[] }
  expect(book.entries.map((e) => e.kind).sort()).toEqual(['remark', 'remark', 'remark', 'take'])
  expect(book.entries.map((e) => e.ordinal).sort()).toEqual([1, 2, 3, 4])
  const take = book.entries.find((e) => e.kind === 'take')!
  expect(take.by).toBe('MF')
  expect(take.body).toMatchObject({ slate, take: 1, circled: true, notes: 'goat in the frame' })
  await expect(page.locator('.huge .id').first()).not.toHaveText(slate) // it is got: the next one comes
})

test('the meter makes a new card, the wind says what still flies', async ({ page }) => {
  await page.goto('/field?slate=2C&at=2026-09-22T10:00')
  const iris = page.locator('dl.large')
  await expect(iris).toBeVisible()
  const before = await iris.textContent()
  await page.getByRole('button', { name: 'one stop more' }).click()
  await expect(page.locator('.meter output')).toHaveText('+1')
  await expect(page.locator('.way')).toContainText('→')
  expect(await iris.textContent()).not.toBe(before)
  await page.getByLabel('wind', { exact: true }).fill('30 kt')
  await page.getByRole('button', { name: 'what still flies?' }).click()
  await expect(page.locator('.flies li')).not.toHaveCount(0)
  expect(await page.locator('.flies li [data-severity=stop]').count()).toBe(await page.locator('.flies li').count())
  await page.getByLabel('wind', { exact: true }).fill('30')
  await page.getByRole('button', { name: 'what still flies?' }).click()
  await expect(page.locator('.bad')).toContainText('unit')
})

test('speed of recompute and of scrubbing, for the record', async ({ page, desk }) => {
  const before = readFileSync(file(desk), 'utf8')
  await page.setViewportSize({ width: 1290, height: 860 })
  await page.goto('/frame?slate=2C&at=2026-09-22T10:30')
  await expect(page.locator('canvas[data-drawn]')).toBeVisible()
  await page.waitForTimeout(1500)
  const canvas = page.locator('.gate canvas')
  const size = await canvas.evaluate((c: HTMLCanvasElement) => [c.width, c.height])
  const a = Number(await canvas.getAttribute('data-drawn'))
  await page.getByRole('button', { name: 'run' }).click()
  await page.waitForTimeout(4000)
  const b = Number(await canvas.getAttribute('data-drawn'))
  console.log(`scrubbing: ${((b - a) / 4).toFixed(1)} frames/s at ${size.join(' × ')}`)
  expect(b).toBeGreaterThan(a)
  await page.getByRole('button', { name: 'hold' }).click()
  await page.goto('about:blank') // nothing else is to be worked on
  const version = async () => ((await (await fetch(desk.url + '/api/source')).json()) as { version: number }).version // the cheapest answer with a version
  const was = await version()
  const start = Date.now()
  const r = await fetch(desk.url + '/api/edit', { method: 'POST', headers: { 'Content-Type': 'application/json', 'Fieldfare-Page': '1' }, body: JSON.stringify({ edits: [{ at: 'slates/2B/moves/0/radius', was: '60 m', value: '62 m' }] }) })
  expect(((await r.json()) as { saved: boolean }).saved).toBe(true)
  while ((await version()) === was) await new Promise((r) => setTimeout(r, 5))
  console.log(`recompute after an edit: ${Date.now() - start} ms`)
  writeFileSync(file(desk), before)
  await settled(desk)
})
