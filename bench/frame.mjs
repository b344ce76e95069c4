// How fast the frame room draws while it is scrubbed and while it runs, on a canvas of exactly 960 x 540, in
// software rendering. Called by bench/frame.sh with the address of a served shoot whose pictures are 16 : 9.
import { readdirSync, readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
const { chromium } = createRequire(new URL('../desk/ui/package.json', import.meta.url))('@playwright/test')

const [base, ...slates] = process.argv.slice(2)
/** Processor time of the browser so far, in ms: other work on the machine disturbs it less than the clock does. */
function processor() {
  const all = readdirSync('/proc').filter((p) => /^\d+$/.test(p)).flatMap((p) => {
    try {
      const [, parent, ...rest] = / (\d+) (.*)$/.exec(readFileSync(`/proc/${p}/stat`, 'utf8').trim().replace(/^.*\) ./, ''))
      const f = rest[0].split(' ')
      return [{ pid: +p, parent: +parent, ms: (+f[9] + +f[10]) * 10 }]
    } catch {
      return [] // it ended meanwhile
    }
  })
  const ours = new Set([process.pid])
  for (let grown = true; grown; ) {
    grown = false
    for (const x of all) if (!ours.has(x.pid) && ours.has(x.parent)) grown = ours.add(x.pid).has(x.pid)
  }
  return all.filter((x) => x.pid !== process.pid && ours.has(x.pid)).reduce((sum, x) => sum + x.ms, 0)
}
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-quic', '--disable-background-networking'] })
const page = await browser.newPage({ viewport: { width: 1340, height: 900 } })
for (const slate of slates) {
  await page.goto(`${base}/frame?slate=${slate}&at=2026-09-22T10:30`)
  await page.waitForSelector('canvas[data-drawn]')
  const gate = page.locator('.gate')
  for (let k = 0; k < 4; k++) {
    const wide = await gate.evaluate((e) => e.clientWidth)
    if (wide === 960) break
    const now = page.viewportSize()
    await page.setViewportSize({ width: now.width + 960 - wide, height: now.height })
    await page.waitForTimeout(200)
  }
  await page.locator('.gate canvas').evaluate((c) => (c.dataset.whole = '')) // no coarser picture while it moves
  await page.waitForTimeout(1500) // shadows are worked out
  const measure = (how) =>
    page.evaluate(async (how) => {
      const canvas = document.querySelector('.gate canvas')
      const slider = document.querySelector('.scrub input[type=range]')
      const end = Number(slider.max)
      const set = (v) => {
        slider.value = String(v)
        slider.dispatchEvent(new Event('input', { bubbles: true }))
      }
      set(0)
      await new Promise((r) => setTimeout(r, 400))
      if (how === 'run') document.querySelector('.scrub button').click()
      const [w, h] = [canvas.width, canvas.height]
      const from = performance.now()
      const had = Number(canvas.dataset.drawn)
      const span = 5000
      // Like a hand on the slider: more often than a screen is drawn, and not in step with it.
      await new Promise((done) => {
        const tick = () => {
          const u = (performance.now() - from) / span
          if (u >= 1) return done()
          if (how === 'scrub') set(end * (1 - Math.abs(1 - 2 * u))) // there and back
          setTimeout(tick, 10)
        }
        tick()
      })
      const took = (performance.now() - from) / 1000
      const drawn = Number(canvas.dataset.drawn) - had
      if (how === 'run') document.querySelector('.scrub button[aria-pressed=true]')?.click()
      return { fps: drawn / took, drawn, w, h }
    }, how)
  for (const how of ['scrub', 'run']) {
    const had = processor()
    const m = await measure(how)
    const cost = (processor() - had) / m.drawn
    console.log(`${slate} ${how}: ${m.fps.toFixed(1)} frames/s at ${m.w} x ${m.h}, ${cost.toFixed(0)} ms of processor time a frame`)
  }
}
const gl = await page.evaluate(() => {
  const g = document.createElement('canvas').getContext('webgl2')
  return g?.getParameter(g.getExtension('WEBGL_debug_renderer_info')?.UNMASKED_RENDERER_WEBGL ?? g.RENDERER)
})
console.log(`drawn by ${gl}, Chromium ${browser.version()}`)
await browser.close()
