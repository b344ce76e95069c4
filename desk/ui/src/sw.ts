// The service worker: keeps the page and the last answers on the device, so that field mode opens without
// the laptop in reach. Changes are never kept here: they wait in the outbox.
/// <reference lib="webworker" />
const self_ = self as unknown as ServiceWorkerGlobalScope
const shell = 'page-v1'
const answers = 'answers-v1'

self_.addEventListener('install', (e) => {
  e.waitUntil(
    (async () => {
      const list = (await (await fetch('/precache.json', { cache: 'no-store' })).json()) as string[]
      const cache = await caches.open(shell)
      await cache.addAll(['/', ...list])
      await self_.skipWaiting()
    })(),
  )
})

self_.addEventListener('activate', (e) => {
  e.waitUntil(
    (async () => {
      await self_.clients.claim()
      // What a page asked for before it was looked after: on a first visit nothing else would keep it.
      const cache = await caches.open(answers)
      await Promise.allSettled(['/api/session', '/api/state', '/api/log'].map((path) => cache.add(path)))
    })(),
  )
})

/** Answers that field mode needs again; the news stream and the large pictures are not kept. */
const keeps = (path: string) => /^\/api\/(state|session|log|slates\/[^/]+(\/(checks|meter|hours|path))?)$/.test(path)

self_.addEventListener('fetch', (e) => {
  const url = new URL(e.request.url)
  if (e.request.method !== 'GET' || url.origin !== location.origin) return
  if (url.pathname.startsWith('/assets/')) return e.respondWith(assetFirst(e.request))
  if (url.pathname.startsWith('/api/')) return keeps(url.pathname) ? e.respondWith(netFirst(e.request, answers)) : undefined
  if (e.request.mode === 'navigate') return e.respondWith(netFirst(new Request('/'), shell))
})

async function assetFirst(request: Request): Promise<Response> {
  const had = await caches.match(request)
  if (had) return had
  const fresh = await fetch(request)
  if (fresh.ok) await (await caches.open(shell)).put(request, fresh.clone())
  return fresh
}

async function netFirst(request: Request, name: string): Promise<Response> {
  const cache = await caches.open(name)
  try {
    const fresh = await fetch(request)
    if (fresh.ok) await cache.put(request, fresh.clone())
    return fresh
  } catch (e) {
    const had = await cache.match(request)
    if (had) return had
    throw e
  }
}
export {}
