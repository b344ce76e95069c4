// kml23.mjs FILE: reads KML by the mapping that npm's ogc-schemas 2.6.1 (BSD-2-Clause) generated from the published schema of
// KML 2.3, and tells as JSON: the version, the tracks, and the elements that the mapping does not know (those that a round trip loses).
import fs from 'node:fs'
import { createRequire } from 'node:module'

const require = createRequire(new URL('../../../../bench/peers/package.json', import.meta.url))
const { Jsonix } = require('jsonix')
const { Atom_1_0 } = require('w3c-schemas')
const { KML_2_3, xAL_2_0 } = require('ogc-schemas')

const context = new Jsonix.Context([Atom_1_0, xAL_2_0, KML_2_3], { namespacePrefixes: { 'http://www.opengis.net/kml/2.2': '' } })
const source = fs.readFileSync(process.argv[2], 'utf8')
const root = context.createUnmarshaller().unmarshalString(source)
const again = context.createMarshaller().marshalString(root)

const count = (xml) => {
  const n = {}
  for (const [, name] of xml.matchAll(/<([A-Za-z][\w:.-]*)/g)) n[name] = (n[name] ?? 0) + 1
  return n
}
const before = count(source), after = count(again), lost = {}
for (const name in before) if ((after[name] ?? 0) !== before[name]) lost[name] = before[name] - (after[name] ?? 0)

const tracks = []
const look = (feature) => {
  const g = feature.abstractGeometryGroup
  if (g?.value.TYPE_NAME === 'KML_2_3.TrackType') tracks.push({ name: feature.name, mode: g.value.altitudeMode, when: g.value.when, coord: g.value.coord, angles: g.value.angles })
  for (const f of feature.abstractFeatureGroup ?? []) look(f.value)
}
look(root.value.abstractFeatureGroup.value)
console.log(JSON.stringify({ version: root.value.version, lost, tracks }))
