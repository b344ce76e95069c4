// Which rig for a slate, and on which days its light stands.
import { accessible, expect, looks, test } from './desk'

test('the kit says which rig can do the slate, and why another cannot', async ({ page }) => {
  await page.goto('/kit?slate=4B&at=2026-09-22T11:00')
  await expect(page.getByRole('heading', { name: 'Which rig for 4B' })).toBeVisible()
  const table = page.getByRole('region', { name: 'Which rig for' }).first()
  await expect(table.getByRole('row')).toHaveCount(4) // a head and three rigs
  await expect(table.getByRole('columnheader', { name: 'crew' })).toBeVisible()
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
  await page.getByLabel('to date').fill('2026-09-10')
  await page.getByRole('button', { name: 'look', exact: true }).click()
  await expect(page.getByRole('alert')).toContainText('swap them')
  await expect(page.getByText(/min of the wanted light/)).toHaveCount(0)
})
