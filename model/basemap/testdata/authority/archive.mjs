// Makes two small tile archives and says what the reference readers see in them. Run in this directory, after gdal.sh:
//   node archive.mjs   (Node 20; pmtiles 4.5.0, @maplibre/geojson-vt 6.3.1, @maplibre/vt-pbf 4.3.3, @mapbox/vector-tile 3.0.0 of desk/ui)
// pictures.pmtiles: the tiles that GDAL drew, in leaf directories packed by gzip, one of them standing for two.
// lines.pmtiles: an invented lake with an island, a stream, a path and a spring; nothing packed.
import { readFileSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { gzipSync } from 'node:zlib'
const at = createRequire(new URL('../../../../desk/ui/package.json', import.meta.url))
const { PMTiles, zxyToTileId } = at('pmtiles')
const load = (name) => import(at.resolve(name))
const { GeoJSONVT } = await import(new URL('../../../../desk/ui/node_modules/@maplibre/geojson-vt/dist/geojson-vt.mjs', import.meta.url))
const { fromGeojsonVt } = await load('@maplibre/vt-pbf')
const { VectorTile } = await load('@mapbox/vector-tile')
const { PbfReader, default: Pbf } = await load('pbf')

const varint = (v) => (v < 128 ? [v] : [(v % 128) + 128, ...varint(Math.floor(v / 128))])
const directory = (entries) => {
  let id = 0
  const out = [...varint(entries.length)]
  for (const e of entries) out.push(...varint(e.id - id)), (id = e.id)
  for (const e of entries) out.push(...varint(e.run))
  for (const e of entries) out.push(...varint(e.length))
  entries.forEach((e, i) => out.push(...(i && e.offset === entries[i - 1].offset + entries[i - 1].length ? [0] : varint(e.offset + 1))))
  return Buffer.from(out)
}
function archive({ tiles, kind, zooms, bounds, told, packed, leaf }) {
  const pack = (b) => (packed ? gzipSync(b) : b)
  const bodies = []
  let end = 0
  const entries = tiles.map(({ id, run, data }) => {
    const e = { id, run, length: data.length, offset: end }
    bodies.push(data)
    end += data.length
    return e
  })
  const leaves = []
  let root = entries
  if (leaf) {
    root = []
    let offset = 0
    for (let i = 0; i < entries.length; i += leaf) {
      const d = pack(directory(entries.slice(i, i + leaf)))
      root.push({ id: entries[i].id, run: 0, length: d.length, offset })
      offset += d.length
      leaves.push(d)
    }
  }
  const parts = [pack(directory(root)), pack(Buffer.from(JSON.stringify(told))), Buffer.concat(leaves), Buffer.concat(bodies)]
  const head = Buffer.alloc(127)
  head.write('PMTiles\x03', 'latin1')
  const long = (k, v) => head.writeBigUInt64LE(BigInt(v), k)
  let from = 127
  parts.forEach((p, i) => {
    long(8 + 16 * i, from)
    long(16 + 16 * i, p.length)
    from += p.length
  })
  long(72, tiles.reduce((a, t) => a + t.run, 0))
  long(80, tiles.length)
  long(88, tiles.length)
  head.set([1, packed ? 2 : 1, 1, kind, ...zooms], 96)
  bounds.forEach((v, i) => head.writeInt32LE(Math.round(v * 1e7), 102 + 4 * i))
  return Buffer.concat([head, ...parts])
}
const reader = (bytes) => new PMTiles({ getKey: () => 'memory', getBytes: async (o, n) => ({ data: new Uint8Array(bytes.subarray(o, o + n)).buffer }) })

// Numbers of tiles.
const some = [[0, 0, 0], [1, 0, 0], [1, 0, 1], [1, 1, 1], [1, 1, 0], [2, 0, 0], [3, 5, 2], [7, 33, 101], [12, 3423, 1763], [15, 17322, 11577], [20, 554321, 370499]]
writeFileSync('tileids.txt', '# pmtiles 4.5.0, zxyToTileId: z x y id\n' + some.map((t) => [...t, zxyToTileId(...t)].join(' ') + '\n').join(''))

// Pictures.
const drawn = [['utm', 15, 17322, 11577], ['web', 15, 17321, 11576], ['degrees', 15, 17321, 11578]]
const tiles = drawn.map(([f, z, x, y]) => ({ id: zxyToTileId(z, x, y), run: f === 'web' ? 2 : 1, data: readFileSync(`${f}_${z}_${x}_${y}.png`) })).sort((a, b) => a.id - b.id)
const pictures = archive({ tiles, kind: 2, zooms: [15, 15], bounds: [10.28, 46.58, 10.33, 46.62], packed: true, leaf: 2,
  told: { name: 'pictures', attribution: '<a href="https://ombriva.example/">&copy; Ombriva   commune</a>, invented' } })
const back = reader(pictures)
for (const [f, z, x, y] of drawn) {
  const got = await back.getZxy(z, x, y)
  if (!got || !Buffer.from(got.data).equals(readFileSync(`${f}_${z}_${x}_${y}.png`))) throw new Error(`${f} is not in its archive`)
}
writeFileSync('../pictures.pmtiles', pictures)

// Lines and areas.
const [z, x, y] = [14, 8661, 5788]
const side = 2 ** z
const lon = (u) => ((x + u) / side) * 360 - 180
const lat = (v) => (Math.atan(Math.sinh(Math.PI * (1 - (2 * (y + v)) / side))) * 180) / Math.PI
const way = (...all) => all.map(([u, v]) => [lon(u), lat(v)])
const layer = (type, coordinates) => new GeoJSONVT({ type: 'FeatureCollection', features: [{ type: 'Feature', properties: {}, geometry: { type, coordinates } }] }, { maxZoom: z, indexMaxZoom: 0, tolerance: 0 }).getTile(z, x, y)
const vector = Buffer.from(fromGeojsonVt({
  lake: layer('Polygon', [way([0.2, 0.2], [0.2, 0.8], [0.8, 0.8], [0.8, 0.2], [0.2, 0.2]), way([0.4, 0.4], [0.6, 0.4], [0.6, 0.6], [0.4, 0.6], [0.4, 0.4])]),
  stream: layer('LineString', way([0.5, 0.8], [0.5, 1.2])),
  path: layer('LineString', way([-0.2, 0.1], [0.5, 0.1], [0.9, 0.5])),
  spring: layer('Point', way([0.1, 0.9])[0]),
}, { version: 2, extent: 4096 }))
const lines = archive({ tiles: [{ id: zxyToTileId(z, x, y), run: 1, data: vector }], kind: 1, zooms: [14, 14], bounds: [10.28, 46.58, 10.33, 46.62], told: { vector_layers: [{ id: 'lake' }, { id: 'stream' }, { id: 'path' }, { id: 'spring' }] } })
const seen = new VectorTile(new (PbfReader ?? Pbf)(new Uint8Array((await reader(lines).getZxy(z, x, y)).data)))
let text = '# @mapbox/vector-tile 3.0.0: layer, kind (1 points, 2 line, 3 area), then each part as x,y in units of 1/4096 of the side\n'
for (const name of Object.keys(seen.layers)) {
  const f = seen.layers[name].feature(0)
  text += `${name} ${f.type} ${f.loadGeometry().map((p) => p.map((q) => `${q.x},${q.y}`).join(' ')).join(' | ')}\n`
}
writeFileSync('shapes.txt', text)
writeFileSync('../lines.pmtiles', lines)
