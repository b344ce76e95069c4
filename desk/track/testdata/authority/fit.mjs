// Writes fit.json: every 40th record that npm's fit-file-parser (an independent FIT
// reader) finds in a sample file shipped in the tests of github.com/muktihari/fit.
// Run: npm install fit-file-parser@6.1.2 somewhere, then there
//   node fit.mjs "$(go list -m -f '{{.Dir}}' github.com/muktihari/fit)" > fit.json
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
const need = createRequire(process.cwd() + '/')
const FitParser = need('fit-file-parser').default
const file = 'testdata/from_official_sdk/Activity.fit'
const data = await new FitParser({ force: false, speedUnit: 'm/s', lengthUnit: 'm', mode: 'list' }).parseAsync(readFileSync(process.argv[2] + '/' + file))
const all = data.records.filter(r => r.position_lat !== undefined)
const rows = all.filter((_, i) => i % 40 === 0).map(r => ({ time: new Date(r.timestamp).toISOString(), lat_deg: r.position_lat, lon_deg: r.position_long, height_m: r.enhanced_altitude ?? r.altitude, speed_ms: r.enhanced_speed ?? r.speed }))
console.log(JSON.stringify({ tool: 'fit-file-parser ' + JSON.parse(readFileSync('node_modules/fit-file-parser/package.json')).version, file, count: all.length, rows }, null, 0))
