import { accessible, expect, looks, test } from './desk'

const at = 'slate=2C&at=2026-09-22T10:30'

/** What shows that a room has drawn itself. */
const drawn: Record<string, (page: import('@playwright/test').Page) => Promise<unknown>> = {
  slates: (p) => expect(p.locator('.groups dd').first()).toBeVisible(),
  site: (p) => expect(p.locator('.plan-label').first()).toBeVisible(),
  frame: (p) => expect(p.locator('canvas[data-drawn]')).toBeVisible(),
  light: (p) => expect(p.locator('.strip svg')).toBeVisible(),
  kit: (p) => expect(p.getByLabel('reserve at landing')).toHaveValue('25 %'),
  day: (p) => expect(p.locator('.strip .sun').first()).toBeVisible(),
  papers: (p) => expect(p.locator('.lists li').first()).toBeVisible(),
  log: (p) => expect(p.getByRole('button', { name: 'write' })).toBeVisible(),
  field: (p) => expect(p.locator('dl.large dd').first()).toBeVisible(),
}

for (const room of Object.keys(drawn)) {
  test(`${room}: opens by its address, can be used by all, says what it is not`, async ({ page }) => {
    await page.setViewportSize({ width: 1366, height: 860 })
    await page.goto(`/${room}?${at}`)
    await drawn[room]!(page)
    await expect(page.getByText('Planning aid only.', { exact: false }).first()).toBeAttached()
    await expect(page.getByRole('navigation', { name: 'rooms' }).locator('a[aria-current]')).toHaveText(room)
    await page.waitForTimeout(room === 'site' ? 2500 : 300)
    await page.screenshot({ path: `${looks}/${room}-laptop-paper.png`, fullPage: true })
    await accessible(page, room === 'field' ? ['color-contrast-enhanced'] : [])
    await page.getByRole('button', { name: 'dark' }).click()
    await page.waitForTimeout(room === 'site' ? 1200 : 200)
    await accessible(page, room === 'field' ? ['color-contrast-enhanced'] : [])
    await page.setViewportSize({ width: 390, height: 844 })
    await page.waitForTimeout(300)
    await page.screenshot({ path: `${looks}/${room}-phone-dark.png`, fullPage: true })
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
    expect(wide, 'the phone page does not scroll sideways').toBeLessThanOrEqual(0)
  })
}

test('relief of the site turns by keyboard', async ({ page }) => {
  await page.goto(`/site?${at}&part=relief`)
  const model = page.getByRole('application')
  await expect(page.locator('.wait')).toHaveCount(0, { timeout: 30_000 })
  await page.waitForTimeout(1500)
  const before = await model.screenshot({ path: `${looks}/relief-laptop-paper.png` })
  await model.focus()
  for (let k = 0; k < 3; k++) await page.keyboard.press('ArrowLeft')
  await page.waitForTimeout(800)
  expect((await model.screenshot()).equals(before)).toBe(false)
  await accessible(page)
})

test('reduced motion is honoured', async ({ page }) => {
  await page.emulateMedia({ reducedMotion: 'reduce' })
  await page.goto(`/slates?${at}`)
  await drawn.slates!(page)
  const moving = await page.evaluate(() => [...document.querySelectorAll('*')].filter((e) => parseFloat(getComputedStyle(e).transitionDuration) > 0 || getComputedStyle(e).animationName !== 'none').length)
  expect(moving).toBe(0)
})

test('the first view is light: at most 400 kB of compressed script', async ({ page }) => {
  const { gzipSync } = await import('node:zlib')
  const scripts: Promise<Buffer>[] = []
  page.on('response', (r) => {
    if (/\.js$/.test(new URL(r.url()).pathname) && !r.url().endsWith('/sw.js') && !r.fromServiceWorker()) scripts.push(r.body())
  })
  await page.goto(`/slates?${at}`)
  await drawn.slates!(page)
  const total = (await Promise.all(scripts)).reduce((sum, body) => sum + gzipSync(body).length, 0)
  console.log(`first view: ${(total / 1024).toFixed(0)} kB of compressed script`)
  expect(total).toBeGreaterThan(10_000)
  expect(total).toBeLessThan(400_000)
})

test('a second language is the same page in other words', async ({ page, desk }) => {
  const { execFileSync } = await import('node:child_process')
  const { existsSync, mkdtempSync, readFileSync } = await import('node:fs')
  const { tmpdir } = await import('node:os')
  const { extname, join } = await import('node:path')
  const out = mkdtempSync(join(tmpdir(), 'fieldfare-de-'))
  execFileSync('npx', ['vite', 'build', '--logLevel', 'error'], { cwd: join(import.meta.dirname, '..'), env: { ...process.env, FIELDFARE_WORDS: 'de', FIELDFARE_OUT: out } })
  const types: Record<string, string> = { '.html': 'text/html', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml', '.woff2': 'font/woff2' }
  await page.route(`${desk.url}/**`, (route) => {
    const path = new URL(route.request().url()).pathname
    if (path.startsWith('/api/')) return route.continue()
    const file = join(out, extname(path) ? path : 'index.html')
    return existsSync(file) ? route.fulfill({ body: readFileSync(file), contentType: types[extname(file)] ?? 'application/octet-stream' }) : route.fulfill({ status: 404, body: '' })
  })
  await page.goto(`/light?${at}`)
  await expect(page.locator('html')).toHaveAttribute('lang', 'de')
  await expect(page.getByRole('link', { name: 'Klappen' })).toBeVisible()
  await expect(page.getByText('Was zugleich stimmen muss').first()).toBeVisible()
  await page.screenshot({ path: `${looks}/light-laptop-de.png` })
})
