import { execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { expect, it } from 'vitest'

const ui = resolve(import.meta.dirname, '..')

it('has a client that was made from the document that is kept (npm run client)', () => {
  const out = join(mkdtempSync(join(tmpdir(), 'client-')), 'api.d.ts')
  execFileSync(join(ui, 'node_modules/.bin/openapi-typescript'), [join(ui, 'openapi.json'), '-o', out], { stdio: 'ignore' })
  expect(readFileSync(join(ui, 'src/api.d.ts'), 'utf8')).toBe(readFileSync(out, 'utf8'))
}, 30_000)

const bin = process.env.FIELDFARE_BIN ?? resolve(ui, '../../bin/fieldfare')
it.runIf(existsSync(bin))('keeps the document that the server has (make generate)', () => {
  const now = JSON.parse(execFileSync(bin, ['openapi'], { encoding: 'utf8', maxBuffer: 1 << 26 }))
  expect(JSON.parse(readFileSync(join(ui, 'openapi.json'), 'utf8'))).toEqual(now)
})
