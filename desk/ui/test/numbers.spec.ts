import { accessible, expect, looks, test } from './desk'

const at = 'at=2026-09-22T15:00'

test('numbers along the take are drawn with their limits and follow the picture', async ({ page }) => {
  await page.setViewportSize({ width: 1280, height: 1000 })
  await page.goto(`/frame?slate=4A&${at}`)
  const profiles = page.getByRole('group', { name: 'numbers along the take' })
  await expect(profiles.locator('[data-drawn]')).toHaveCount(6)
  await expect(profiles.locator('canvas')).toHaveCount(6)
  await expect(profiles).toContainText('at least 5.0 m (house rule), at most 120 m (valley permit)')
  await expect(profiles).toContainText('at most 15.0 m/s (Heron 8)')
  // The text alternative says the extremes and the limits.
  await expect(profiles.getByRole('img', { name: /^above ground: least [\d.]+ m at \d+ s, most [\d.]+ m at \d+ s; at least 5.0 m/ })).toBeVisible()
  const speed = profiles.locator('figure', { hasText: 'at most 15.0 m/s' }).locator('figcaption b').first()
  const before = await speed.textContent()
  // By keyboard: the time of the take moves the hands and the numbers.
  const time = page.getByRole('slider', { name: 'time of the take' })
  await time.focus()
  for (let k = 0; k < 60; k++) await page.keyboard.press('ArrowRight')
  await expect(page.locator('.scrub output')).toContainText('2.4')
  await expect(speed).not.toHaveText(before!)
  const hand = profiles.locator('.hand').first()
  expect(parseFloat(/translateX\(([\d.]+)%/.exec(await hand.evaluate((e: HTMLElement) => e.style.transform))![1]!)).toBeGreaterThan(8)
  // By pointer: pressed in a profile, the picture goes there.
  const box = (await profiles.locator('.u-over').first().boundingBox())!
  await page.mouse.click(box.x + box.width * 0.75, box.y + box.height / 2)
  await expect.poll(async () => Number(await time.inputValue())).toBeGreaterThan(13)
  await page.getByText('the same in numbers').click()
  await expect(page.locator('tbody tr').first()).toBeVisible()
  await page.screenshot({ path: `${looks}/frame-profiles.png`, fullPage: true })
  await accessible(page)
})

test('what warns stands beside its number, and the safety case with the slate', async ({ page }) => {
  await page.setViewportSize({ width: 1280, height: 1000 })
  await page.goto(`/slates?slate=3C&${at}`)
  const distances = page.locator('.groups section', { hasText: 'distances' })
  await expect(distances.locator('.beside')).toContainText('level distance to people (hamlet)')
  await expect(distances.locator('.beside [data-severity=stop]')).toHaveCount(1)
  await page.getByText('safety case 3C').click()
  await expect(page.getByText('Ground risk buffer clear of people who take no part').last()).toBeVisible()
  await expect(page.getByText('fly straight to hay meadow', { exact: false })).toBeVisible()
  await expect(page.getByText('in the flight geography', { exact: false }).first()).toBeVisible()
  await page.screenshot({ path: `${looks}/slates-case.png`, fullPage: true })
  await accessible(page)
})

test('volumes, falls and the way home lie on the plan when asked for', async ({ page }) => {
  await page.setViewportSize({ width: 1280, height: 900 })
  await page.goto(`/site?slate=3C&${at}`)
  await expect(page.locator('.plan-label').first()).toBeVisible()
  await expect(page.locator('.key')).not.toContainText('where it would fall')
  await page.getByLabel('volumes, falls').check()
  await expect(page.locator('.key')).toContainText('where it would fall')
  await page.waitForTimeout(1500)
  await page.locator('.view').screenshot({ path: `${looks}/site-case.png` })
  await accessible(page)
})
