// The typed way to the server. Types come from its OpenAPI document (npm run client).
import type { components, paths } from '../api'

/** The server never sends null in place of these lists; the document cannot say so for nested ones. */
export type Full<T> = [T] extends [readonly (infer U)[] | null] ? Full<U>[] : T extends object ? { [K in keyof T]: Full<T[K]> } : T

export type Schema = components['schemas']
export type Snapshot = Omit<Schema['Snapshot'], 'check' | 'sheet' | 'mistakes'> & {
  check: Schema['Check'] | null
  sheet: Schema['Sheet'] | null
  mistakes: Schema['Mistake'][]
}
export type CheckedSlate = Schema['Slate']
export type Finding = Schema['Finding']
export type Window = Schema['Window']
export type Assessment = Schema['Assessment']
export type Hours = Schema['Hours']
export type Sortie = Schema['Sortie']

type GetPaths = { [P in keyof paths]: paths[P] extends { get: { responses: { 200: { content: { 'application/json': unknown } } } } } ? P : never }[keyof paths]
type GetBody<P extends GetPaths> = paths[P] extends { get: { responses: { 200: { content: { 'application/json': infer B } } } } } ? B : never
type PostPaths = { [P in keyof paths]: paths[P] extends { post: { responses: object } } ? P : never }[keyof paths]
type PostInput<P extends PostPaths> = paths[P] extends { post: { requestBody: { content: { 'application/json': infer B } } } } ? B : undefined
type PostBody<P extends PostPaths> = paths[P] extends { post: { responses: { 200: { content: { 'application/json': infer B } } } } } ? B : undefined

/** A refusal by the server, with its words. */
export class Refusal extends Error {
  constructor(
    public status: number,
    public title: string,
    public details: { message?: string; location?: string; value?: unknown }[] = [],
  ) {
    super([title, ...details.map((d) => d.message ?? '')].filter(Boolean).join(': '))
  }
}

async function read(response: Response): Promise<unknown> {
  const type = response.headers.get('content-type') ?? ''
  const body = type.includes('json') ? await response.json() : undefined
  if (!response.ok) throw new Refusal(response.status, body?.detail ?? body?.title ?? response.statusText, body?.errors ?? [])
  return body
}

function address(path: string, fill: Record<string, string | number | undefined>): string {
  const used = new Set<string>()
  const filled = path.replace(/\{(\w+)\}/g, (_, name) => {
    used.add(name)
    return encodeURIComponent(String(fill[name]))
  })
  const query = new URLSearchParams()
  for (const [name, value] of Object.entries(fill)) if (!used.has(name) && value !== undefined) query.set(name, String(value))
  const text = query.toString()
  return text ? `${filled}?${text}` : filled
}

export async function get<P extends GetPaths>(path: P, fill: Record<string, string | number | undefined> = {}, signal?: AbortSignal): Promise<GetBody<P>> {
  return (await read(await fetch(address(path, fill), { signal }))) as GetBody<P>
}

/** The header that shows a change was asked for by our own page: a foreign one cannot set it. */
export const ownHeader = { 'Fieldfare-Page': '1' }

export async function post<P extends PostPaths>(path: P, body: PostInput<P>, fill: Record<string, string | number | undefined> = {}, signal?: AbortSignal): Promise<PostBody<P>> {
  const response = await fetch(address(path, fill), {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', ...ownHeader },
    body: JSON.stringify(body ?? {}),
    signal,
  })
  return (await read(response)) as PostBody<P>
}
