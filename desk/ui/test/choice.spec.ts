// Which rig for a slate, and on which days its light stands.
import { accessible, expect, looks, test } from './desk'

test('the kit says which rig can do the slate, and why another cannot', async ({ page }) => {
  await page.goto('/kit?slate=4B&at=2026-09-22T11:00')
  await expect(page.getByRole('heading', { name: 'Which rig for 4B' })).toBeVisible()
  const table = page.getByRole('region', { name: 'Which rig for' }).first()
  await expect(table.getByRole('row')).toHaveCount(4) // a head and three rigs
  await expect(table.getByRole('columnheader', { name: 'crew' })).toBeVisible()
  const power = page.getByRole('region', { name: 'What the power of each rig rests on' })
  const hover = power.getByRole('row', { name: /^heron/ })
  await expect(hover).toContainText('9.20 kg') // one hover on the shelf: no spread is known
  await expect(hover).toContainText('unknown')
  const caution = page.getByText('one hover cannot tell how far it is off').first()
  await page.setViewportSize({ width: 390, height: 844 })
  await expect(caution).toBeVisible()
  const box = (await caution.boundingBox())!
  expect(box.x + box.width, 'a phone does not cut the caution').toBeLessThanOrEqual(390)
  await page.setViewportSize({ width: 1280, height: 800 })
  await page.getByRole('button', { name: 'imperial' }).click()
  await expect(hover).toContainText('20.28 lb')
  await page.getByRole('button', { name: 'metric' }).click()
  await page.locator('details summary', { hasText: 'heron' }).click()
  await expect(page.getByRole('columnheader', { name: 'asked' }).first()).toBeVisible()
  await accessible(page)
  await page.screenshot({ path: `${looks}/kit-choice.png`, fullPage: true })
})

test('the light room finds the days of most light', async ({ page }) => {
  await page.goto('/light?slate=2C&at=2026-09-22T11:00')
  await page.getByLabel('dates from').fill('2026-09-20')
  await page.getByLabel('to date').fill('2026-09-30')
  await page.getByRole('button', { name: 'look', exact: true }).click()
  await expect(page.getByText(/min of the wanted light/).first()).toBeVisible({ timeout: 30_000 })
  await accessible(page)
  await page.screenshot({ path: `${looks}/light-season.png`, fullPage: true })
  await page.getByRole('button', { name: '2026-09-23' }).click() // a day of the shoot: the clock goes there
  await expect(page).toHaveURL(/at=2026-09-23T/)
  await expect(page.getByText(/min of the wanted light/)).toHaveCount(10) // a look at another hour keeps the days
  await page.getByRole('link', { name: /^2A/ }).first().click()
  await expect(page.getByRole('heading', { name: 'Days of most light for 2A' })).toBeVisible()
  await expect(page.getByText(/min of the wanted light/)).toHaveCount(0)
  await page.getByLabel('to date').fill('2026-09-10')
  await page.getByRole('button', { name: 'look', exact: true }).click()
  await expect(page.getByRole('alert')).toContainText('swap them')
  await expect(page.getByText(/min of the wanted light/)).toHaveCount(0)
})

test('a question about another slate or other dates is let go, and its answer never appears', async ({ page }) => {
  const left: string[] = []
  page.on('requestfailed', (r) => /season|answer|odds/.test(r.url()) && left.push(r.url()))
  await page.route('**/season?*', () => {}) // never answered: whoever asks must leave by themselves
  await page.route('**/api/answer?*', () => {})
  await page.route('**/api/odds', () => {})
  const looking = page.getByText('looking through the dates')
  const look = async () => {
    await page.getByRole('button', { name: 'look', exact: true }).click()
    await expect(looking).toBeVisible()
  }
  const gone = async (n: number, of: string) => {
    await expect.poll(() => left.length).toBe(n)
    expect(left[n - 1]).toContain(of)
  }
  await page.goto('/light?slate=2C&at=2026-09-22T11:00')
  await page.getByLabel('dates from').fill('2026-09-20')
  await look()
  await page.getByRole('link', { name: /^2A/ }).first().click()
  await gone(1, '/2C/season')
  await expect(looking).toHaveCount(0)
  await look()
  await page.getByLabel('to date').fill('2026-09-30')
  await gone(2, '/2A/season')
  await look()
  await page.getByRole('navigation', { name: 'rooms' }).getByRole('link', { name: 'papers' }).click()
  await gone(3, '/2A/season')
  await page.getByRole('button', { name: 'work it out' }).click()
  await expect(page.getByText(/looking for light/)).toBeVisible()
  await page.getByLabel('light from').fill('2026-09-18')
  await gone(4, '/api/answer')
  await page.getByRole('button', { name: 'work it out' }).click()
  await page.getByRole('navigation', { name: 'rooms' }).getByRole('link', { name: 'day' }).click()
  await gone(5, '/api/answer')
  await page.getByRole('button', { name: 'how likely is this day?' }).click()
  await page.getByRole('navigation', { name: 'rooms' }).getByRole('link', { name: 'kit' }).click()
  await gone(6, '/api/odds')
})
