// A server of our own for each file of tests, on a copy of the demo, and a page that must ask nobody else.
import AxeBuilder from '@axe-core/playwright'
import { expect, test as base, type Page } from '@playwright/test'
import { spawn, type ChildProcess } from 'node:child_process'
import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'

export const root = resolve(import.meta.dirname, '../../..')
export const bin = process.env.FIELDFARE_BIN ?? join(root, 'bin/fieldfare')
export const looks = resolve(import.meta.dirname, '../test-results/look')

export type Served = { url: string; dir: string; said: () => string; process: ChildProcess }

const freePort = () =>
  new Promise<number>((done) => {
    const s = createServer().listen(0, '127.0.0.1', () => {
      const { port } = s.address() as { port: number }
      s.close(() => done(port))
    })
  })

export async function serve(...more: string[]): Promise<Served> {
  if (!existsSync(bin)) throw new Error(`${bin} is not there: run make build`)
  const dir = mkdtempSync(join(tmpdir(), 'fieldfare-'))
  cpSync(join(root, 'examples/last-milk-run'), dir, { recursive: true })
  const port = await freePort()
  const url = `http://127.0.0.1:${port}`
  const child = spawn(bin, ['serve', dir, '--listen', `127.0.0.1:${port}`, ...more], { stdio: ['ignore', 'pipe', 'pipe'] })
  let text = ''
  child.stdout!.on('data', (d) => (text += d))
  child.stderr!.on('data', (d) => (text += d))
  for (let k = 0; ; k++) {
    const state = await fetch(url + '/api/state')
      .then((r) => r.json())
      .catch(() => null)
    if (state?.sheet) break
    if (k > 400 || child.exitCode !== null) throw new Error('the server does not get ready: ' + text)
    await new Promise((r) => setTimeout(r, 150))
  }
  return { url, dir, said: () => text, process: child }
}

export function close(s: Served) {
  s.process.kill()
  rmSync(s.dir, { recursive: true, force: true })
}

type Fixtures = { desk: Served; quiet: string[] }

export const test = base.extend<{ quiet: void }, { desk: Served }>({
  desk: [
    // eslint-disable-next-line no-empty-pattern
    async ({}, use) => {
      const s = await serve()
      await use(s)
      close(s)
    },
    { scope: 'worker' },
  ],
  baseURL: async ({ desk }, use) => use(desk.url),
  // Every test: nothing is asked of any other machine, and nothing breaks silently.
  quiet: [
    async ({ page, desk }, use) => {
      const wrong: string[] = []
      page.on('request', (r) => {
        const u = new URL(r.url())
        if (['http:', 'https:', 'ws:', 'wss:'].includes(u.protocol) && u.origin !== new URL(desk.url).origin) wrong.push('asked ' + r.url())
      })
      page.on('pageerror', (e) => wrong.push('error ' + e.message))
      page.on('console', (m) => {
        if (m.type() === 'error' && !/GPU stall|ERR_INTERNET_DISCONNECTED|net::ERR_FAILED|Failed to load resource/.test(m.text())) wrong.push('console ' + m.text())
      })
      await use()
      expect(wrong).toEqual([])
    },
    { auto: true },
  ],
})
export type { Fixtures }

/** No finding of the accessibility checker. */
export async function accessible(page: Page, more: string[] = []) {
  const result = await new AxeBuilder({ page }).options({ rules: Object.fromEntries(more.map((r) => [r, { enabled: true }])) }).analyze()
  expect(result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ') + ' ' + (n.any[0]?.message ?? '')).slice(0, 3).join(' | ')}`)).toEqual([])
}

export { expect }
