// A phone on the local network: TLS with the house certificate, and the page out of reach. The phone is a Chromium
// with a home of its own, in whose store the house certificate is installed (certutil of Debian's libnss3-tools).
import { chromium, expect, test, type BrowserContext, type Page } from '@playwright/test'
import { execFileSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { mkdirSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { accessible, close, looks, serve, type Served } from './desk'

let desk: Served
let home: string
let root = '' // the shared address, without its scheme
const phones: BrowserContext[] = []

test.beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'fieldfare-phone-'))
  process.env.XDG_CONFIG_HOME = join(home, 'laptop')
  desk = await serve('--share')
  root = /https:\/\/([\d.:a-f[\]]+)\//.exec(desk.said())![1]!
})
test.afterAll(async () => {
  for (const p of phones) await p.close()
  if (desk) close(desk)
  rmSync(home, { recursive: true, force: true })
})

async function phone(trusting: boolean): Promise<Page> {
  const own = mkdtempSync(join(home, 'home-'))
  if (trusting) {
    const store = join(own, '.pki/nssdb')
    mkdirSync(store, { recursive: true })
    const file = join(own, 'house.crt')
    const der = Buffer.from(await (await fetch(`http://${root}/house.crt`)).arrayBuffer())
    writeFileSync(file, der)
    // What a careful crew does: the fingerprint of what came is the one that the laptop said.
    const said = /fingerprint is\s+([0-9A-F ]{95})/.exec(desk.said())![1]!
    expect(createHash('sha256').update(der).digest('hex').toUpperCase()).toBe(said.replaceAll(' ', ''))
    execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password'])
    execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'house', '-i', file])
  }
  const context = await chromium.launchPersistentContext(join(own, 'profile'), {
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
    env: { ...process.env, HOME: own } as Record<string, string>,
    viewport: { width: 390, height: 844 },
    acceptDownloads: true,
  })
  phones.push(context)
  return context.pages()[0] ?? (await context.newPage())
}

test('the house certificate is kept for its owner alone', () => {
  expect(statSync(join(home, 'laptop/fieldfare/house.pem')).mode & 0o777).toBe(0o600)
})

test('a phone that does not trust the house is told how to, and gets no further', async () => {
  const page = await phone(false)
  await page.goto(`http://${root}/`)
  await expect(page.getByRole('heading', { name: 'First time on this phone' })).toBeVisible()
  await expect(page.getByText('Install it only if the fingerprint agrees')).toBeVisible()
  await page.screenshot({ path: `${looks}/landing-phone.png`, fullPage: true })
  await accessible(page)
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0)
  const [certificate] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'house certificate' }).click()])
  expect(certificate.suggestedFilename()).toBe('fieldfare-house.crt')
  await expect(page.goto(`https://${root}/field`)).rejects.toThrow(/ERR_CERT_AUTHORITY_INVALID/)
})

test('a phone that trusts the house joins, works out of reach after a reload, and merges once', async () => {
  const page = await phone(true)
  const elsewhere: string[] = []
  page.on('request', (r) => {
    if (/^https?:/.test(r.url()) && new URL(r.url()).host !== root) elsewhere.push(r.url())
  })
  await page.goto(`http://${root}/`)
  await page.getByRole('link', { name: `https://${root}/field` }).click()
  await expect(page.getByRole('heading', { name: 'Join the shoot' })).toBeVisible()
  const invitation = (await (await fetch(`${desk.url}/api/invite`, { method: 'POST', headers: { 'Content-Type': 'application/json', 'Fieldfare-Page': '1' }, body: '{"role":"crew"}' })).json()) as { url: string; code: string }
  expect(invitation.url).toBe(`https://${root}/field#join=${invitation.code}`)
  await page.goto('about:blank')
  await page.goto(invitation.url)
  await page.getByLabel('your name').fill('Maud')
  await page.getByRole('button', { name: 'join' }).click()
  await expect(page.locator('.reach')).toBeVisible()
  await page.goto(`https://${root}/field?slate=2C&at=2026-09-22T10:30`) // rehearsed: today is no shooting day
  await expect(page.locator('dl.large dd').first()).toBeVisible()
  expect((await page.context().cookies()).map((c) => [c.name, c.secure, c.httpOnly, c.sameSite])).toEqual([['fieldfare', true, true, 'Strict']])
  expect(await page.evaluate(() => isSecureContext)).toBe(true)
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null, null, { timeout: 20_000 })
  await page.waitForTimeout(2500) // cards, lists and meter of the day are fetched ahead

  await page.context().setOffline(true)
  await page.reload()
  await expect(page.locator('.reach')).toContainText('OUT OF REACH', { timeout: 20_000 })
  await page.getByLabel('initials').fill('MF')
  await page.locator('summary', { hasText: 'Before each take' }).click()
  await page.locator('details[open] .tick').first().click()
  await expect(page.locator('.reach')).toContainText('1 to send')
  await page.context().setOffline(false)
  await expect(page.locator('.reach')).not.toContainText('to send', { timeout: 30_000 })
  await page.reload()
  await expect(page.locator('dl.large dd').first()).toBeVisible()
  const book = (await (await fetch(desk.url + '/api/log')).json()) as { entries: { by: string; ordinal: number }[] }
  expect(book.entries.map((e) => [e.by, e.ordinal])).toEqual([['MF', 1]])
  expect(elsewhere).toEqual([])
})

test('the laptop shows the fingerprint beside the codes', async ({ page }) => {
  await page.setViewportSize({ width: 1280, height: 800 })
  await page.goto(`${desk.url}/papers`)
  await page.getByRole('button', { name: 'let a phone join' }).click()
  const said = /fingerprint is\s+([0-9A-F ]{95})/.exec(desk.said())![1]!
  await expect(page.locator('.trust')).toContainText('Install it only if the fingerprint')
  expect(((await page.locator('.trust .print').textContent()) ?? '').replaceAll(/\s/g, '')).toBe(said.replaceAll(' ', ''))
  await page.screenshot({ path: `${looks}/papers-join.png` })
  await accessible(page)
})
