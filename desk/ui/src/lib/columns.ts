// Which column of a CSV recording holds what: guessed by the server, settled by a person.
export type Role = { name: string; units: string[] }
export type Guess = { role: string; header: string; unit: string }
export type Pick = { column: number; unit: string } // column -1: not in the file

/** The picks that a guess suggests, one for each role. */
export function picks(header: string[], guess: Guess[], roles: Role[]): Record<string, Pick> {
  const out: Record<string, Pick> = {}
  for (const r of roles) {
    const g = guess.find((x) => x.role === r.name)
    const numbered = g && /^#(\d+)$/.exec(g.header)
    const column = !g ? -1 : numbered ? Number(numbered[1]) - 1 : header.findIndex((h) => h.trim() === g.header)
    out[r.name] = { column, unit: g?.unit ?? '' }
  }
  return out
}

/** What keeps a map from being sent: roles without a unit, or no position. Empty when it is whole. */
export function open(map: Record<string, Pick>): string[] {
  const wrong = Object.entries(map)
    .filter(([, p]) => p.column >= 0 && !p.unit)
    .map(([role]) => role)
  for (const role of ['lat', 'lon']) if ((map[role]?.column ?? -1) < 0) wrong.push(role)
  return wrong
}

/** The map as the server reads it: time=UTC:iso,lat=#2:deg. A header that could be misread is given by its number. */
export function columnMap(header: string[], map: Record<string, Pick>): string {
  return Object.entries(map)
    .filter(([, p]) => p.column >= 0)
    .map(([role, p]) => {
      const name = (header[p.column] ?? '').trim()
      const plain = name !== '' && !/[,=:#]/.test(name) && header.filter((h) => h.trim() === name).length === 1
      return `${role}=${plain ? name : `#${p.column + 1}`}:${p.unit}`
    })
    .join(',')
}
