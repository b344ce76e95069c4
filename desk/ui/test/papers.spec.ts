// Papers that leave the laptop: parts of the book, answer, travel papers, the authority's zip, open formats, and films.
import { accessible, expect, looks, test } from './desk'

const at = 'slate=4B&at=2026-09-22T14:35'

test('every paper and format can be had from the papers room', async ({ page }) => {
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/papers?${at}`)
  await page.getByRole('group', { name: 'Parts of the book' }).getByLabel('day').check()
  await page.getByRole('group', { name: 'Parts of the book' }).getByLabel('4B').check()
  const book = (await page.getByRole('link', { name: 'print these' }).getAttribute('href'))!
  expect(book).toContain('only=day&only=4B')
  for (const [href, head] of [
    [book, '%PDF-'],
    ['/api/travel.pdf', '%PDF-'],
    ['/api/export/geojson', '{'],
    ['/api/export/kml', '<?xml'],
    ['/api/export/kmz', 'PK'],
    ['/api/export/gpx', '<?xml'],
    ['/api/export/csv', 'slate,state'],
    ['/api/export/ics', 'BEGIN:VCALENDAR'],
    ['/api/export/json', '{'],
    ['/api/export/gltf?slate=4B', 'glTF'],
    ['/api/bundle.zip', 'PK'],
  ] as const) {
    await expect(page.locator(`a[href="${href}"]`).first(), href).toBeVisible()
    const r = await page.request.get(href)
    expect(r.status(), href).toBe(200)
    expect((await r.body()).subarray(0, head.length).toString(), href).toBe(head)
  }
  await page.getByRole('button', { name: 'show them' }).click()
  await expect(page.getByRole('heading', { name: 'Packs by air' })).toBeVisible()
  await expect(page.getByRole('heading', { name: 'General list for temporary import' })).toBeVisible()
  await accessible(page)
})

test('the feasibility answer is worked out with progress, and printed', async ({ page }) => {
  test.slow()
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/papers?${at}`)
  await page.getByLabel('light from').fill('2026-09-18')
  await page.getByLabel('to', { exact: true }).fill('2026-09-26')
  await page.getByLabel('days that weather costs').fill('30 %')
  await page.getByRole('button', { name: 'work it out' }).click()
  await expect(page.getByRole('columnheader', { name: 'what would make it so' })).toBeVisible({ timeout: 60_000 })
  await expect(page.getByRole('row', { name: /^3C/ })).toContainText(/not as asked|with a change|not on these dates/)
  await expect(page.getByRole('heading', { name: 'What it rests on' })).toBeVisible()
  await page.screenshot({ path: `${looks}/answer-laptop-paper.png`, fullPage: true })
  await accessible(page)
  const pdf = await page.request.get((await page.getByRole('link', { name: 'print it' }).getAttribute('href'))!)
  expect((await pdf.body()).subarray(0, 5).toString()).toBe('%PDF-')
  await page.getByLabel('days that weather costs').fill('often')
  await page.getByRole('button', { name: 'work it out' }).click()
  await expect(page.getByRole('alert').filter({ hasText: 'often' })).toBeVisible()
})

test('a film is drawn with progress, stopped without a trace, drawn again and kept', async ({ page }) => {
  test.slow()
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto('/papers?slate=5A&at=2026-09-22T07:22')
  const part = page.locator('section', { has: page.getByRole('heading', { name: 'The shot, drawn' }) })
  await part.getByLabel(/^as\b/).selectOption('apng')
  await page.getByLabel('largest size').selectOption('1920x1080')
  await page.getByRole('button', { name: 'draw 5A' }).click()
  await expect(page.getByText(/drawing 5A: frame [1-9]\d* of \d+/)).toBeVisible()
  await accessible(page)
  await part.getByRole('button', { name: 'stop' }).click()
  await expect(page.getByText('nothing is left of it')).toBeVisible()
  await page.getByLabel('largest size').selectOption('640x360')
  await part.getByLabel(/^as\b/).selectOption('frames')
  await page.getByLabel('mark the subject').check()
  await page.getByRole('button', { name: 'draw 5A' }).click()
  const keep = page.getByRole('link', { name: 'keep the film of 5A' })
  await expect(keep).toBeVisible({ timeout: 200_000 })
  const got = await page.request.get((await keep.getAttribute('href'))!)
  expect((await got.body()).subarray(0, 2).toString()).toBe('PK')
  await accessible(page)
})

test('site features and a track are brought in, and refused with the reason', async ({ page, desk }) => {
  await page.setViewportSize({ width: 1366, height: 900 })
  await page.goto(`/papers?${at}`)
  const part = page.locator('section', { has: page.getByRole('heading', { name: 'Bring things in' }) })
  const barn = { type: 'FeatureCollection', features: [{ type: 'Feature', geometry: { type: 'Polygon', coordinates: [[[10.302, 46.602], [10.3021, 46.602], [10.3021, 46.6021], [10.302, 46.602]]] }, properties: { name: 'new barn' } }] }
  await part.getByLabel('file').setInputFiles({ name: 'barn.geojson', mimeType: 'application/geo+json', buffer: Buffer.from(JSON.stringify(barn)) })
  await part.getByLabel(/^kind/).selectOption('building')
  await part.getByRole('button', { name: 'bring it in' }).click()
  await expect(part.getByRole('alert')).toContainText('nothing was written')
  await part.getByLabel('height').fill('9 m')
  await part.getByRole('button', { name: 'bring it in' }).click()
  await expect(part.getByText('1 into site.geojson:')).toBeVisible()
  await accessible(page)
  await expect.poll(async () => JSON.stringify(await (await fetch(desk.url + '/api/site')).json()).includes('new barn'), { timeout: 60_000 }).toBe(true) // the page follows
})
