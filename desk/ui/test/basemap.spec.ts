import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { crc32, deflateSync } from 'node:zlib'
import { zxyToTileId } from 'pmtiles'
import { accessible, close, expect, looks, serve, test as base, type Served } from './desk'

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

/** A PNG of one colour, 256 × 256. */
function plain(r: number, g: number, b: number): Buffer {
  const part = (kind: string, body: Buffer) => {
    const all = Buffer.concat([Buffer.from(kind, 'latin1'), body])
    const out = Buffer.alloc(12 + body.length)
    out.writeUInt32BE(body.length)
    all.copy(out, 4)
    out.writeUInt32BE(crc32(all), 8 + body.length)
    return out
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(256)
  head.writeUInt32BE(256, 4)
  head.set([8, 2, 0, 0, 0], 8)
  const rows = Buffer.alloc(256 * (1 + 256 * 3))
  for (let y = 0; y < 256; y++) for (let x = 0; x < 256; x++) rows.set([r, g, b], y * 769 + 1 + x * 3)
  return Buffer.concat([Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'), part('IHDR', head), part('IDAT', deflateSync(rows)), part('IEND', Buffer.alloc(0))])
}

/** A tile archive of one tile, as the PMTiles specification (version 3) lays it out, nothing compressed. */
function archive(z: number, x: number, y: number, tile: Buffer, [w, s, e, n]: [number, number, number, number]): Buffer {
  const varint = (v: number): number[] => (v < 128 ? [v] : [(v % 128) + 128, ...varint(Math.floor(v / 128))])
  const directory = Buffer.from([1, ...varint(zxyToTileId(z, x, y)), 1, ...varint(tile.length), 1]) // entries, id, run, length, offset + 1
  const told = Buffer.from('{"name":"one tile"}')
  const head = Buffer.alloc(127)
  head.write('PMTiles\x03', 'latin1')
  const long = (at: number, v: number) => head.writeBigUInt64LE(BigInt(v), at)
  long(8, 127)
  long(16, directory.length)
  long(24, 127 + directory.length)
  long(32, told.length)
  long(40, 127 + directory.length + told.length)
  long(56, 127 + directory.length + told.length)
  long(64, tile.length)
  for (const at of [72, 80, 88]) long(at, 1)
  head.set([1, 1, 1, 2, z, z], 96) // clustered, no compression twice, PNG, zooms
  ;[w, s, e, n].forEach((v, i) => head.writeInt32LE(Math.round(v * 1e7), 102 + 4 * i))
  return Buffer.concat([head, directory, told, tile])
}

/** The colour in the middle of the map. */
const middle = (page: import('@playwright/test').Page) =>
  page.locator('.maplibregl-canvas').evaluate((c: HTMLCanvasElement) => {
    const flat = document.createElement('canvas')
    ;[flat.width, flat.height] = [9, 9]
    const g = flat.getContext('2d')!
    g.drawImage(c, c.width / 2 - 60, c.height / 2 + 40, 9, 9, 0, 0, 9, 9)
    const p = g.getImageData(0, 0, 9, 9).data
    return [0, 1, 2].map((k) => p.filter((_, i) => i % 4 === k).reduce((a, v) => a + v, 0) / 81)
  })
const far = (a: number[], b: number[]) => Math.hypot(...a.map((v, i) => v - b[i]!))

test('a picture with a place lies beneath the plan, and can be put away', async ({ page }) => {
  await page.setViewportSize({ width: 1280, height: 800 })
  await page.goto('/site?slate=3A&at=2026-09-22T10:30')
  const own = page.getByLabel('your own map beneath')
  await expect(own).toBeChecked()
  await expect(page.locator('.plan-label').first()).toBeVisible()
  await page.waitForTimeout(2500)
  const on = await middle(page)
  await page.screenshot({ path: `${looks}/site-own-map.png` })
  await own.uncheck()
  await expect.poll(async () => far(await middle(page), on), { timeout: 15_000 }).toBeGreaterThan(6)
  await accessible(page)
})

test('a tile archive is read by ranges and drawn, and nobody else is asked', async ({ page, desk }) => {
  const site = (await (await fetch(desk.url + '/api/site')).json()) as { origin: [number, number] }
  const [lon, lat] = site.origin
  const n = 2 ** 11
  const at = [Math.floor(((lon + 180) / 360) * n), Math.floor(((1 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / Math.PI) / 2) * n)] as const
  writeFileSync(join(desk.dir, 'valley.pmtiles'), archive(11, at[0], at[1], plain(255, 0, 200), [lon - 0.05, lat - 0.05, lon + 0.05, lat + 0.05]))
  const file = join(desk.dir, 'shoot.yaml')
  writeFileSync(file, readFileSync(file, 'utf8').replace('map: sheet.png', 'map: valley.pmtiles').replace('  map_crs: EPSG:32632\n', ''))
  await expect.poll(async () => ((await (await fetch(desk.url + '/api/site')).json()) as { map?: { kind: string } }).map?.kind, { timeout: 30_000 }).toBe('archive')
  const parts: number[] = []
  page.on('response', (r) => {
    if (new URL(r.url()).pathname === '/api/map') parts.push(r.status())
  })
  await page.goto('/site?slate=3A&at=2026-09-22T10:30')
  await expect(page.getByText('valley.pmtiles')).toBeVisible()
  await expect
    .poll(async () => {
      const [r, g, b] = await middle(page)
      return r! > g! + 60 && b! > g! + 40
    }, { timeout: 30_000 })
    .toBe(true)
  expect(parts.length).toBeGreaterThan(0)
  expect(new Set(parts)).toEqual(new Set([206]))
})
