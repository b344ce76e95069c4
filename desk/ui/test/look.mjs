// Takes pictures of every room for review: node test/look.mjs URL [room...]
import { chromium } from '@playwright/test'
const [base, ...only] = process.argv.slice(2)
const rooms = only.length ? only : ['slates', 'site', 'frame', 'light', 'kit', 'day', 'papers', 'log', 'field']
const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] })
const sizes = (process.env.SIZES ?? 'laptop,phone').split(',')
const themes = (process.env.THEMES ?? 'day,dark').split(',')
for (const size of sizes)
  for (const theme of themes) {
    const page = await browser.newPage({ viewport: size === 'laptop' ? { width: 1366, height: 860 } : { width: 390, height: 844 }, colorScheme: theme === 'dark' ? 'dark' : 'light' })
    page.on('pageerror', (e) => console.log('ERR', e.message))
    page.on('console', (m) => m.type() === 'error' && console.log('CONSOLE', m.text()))
    for (const room of rooms) {
      const [name, query = ''] = room.split('?')
      await page.goto(`${base}/${name}?${query || 'slate=2C&at=2026-09-22T10:30'}`)
      await page.waitForTimeout(Number(process.env.WAIT ?? 1500))
      await page.screenshot({ path: `/tmp/ui/${name}-${size}-${theme}.png`, fullPage: !!process.env.FULL })
    }
    await page.close()
  }
await browser.close()
