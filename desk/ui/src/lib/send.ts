// Sends a file and tells how far it is; a Refusal carries the server's words.
import { ownHeader, Refusal } from './client'

export function send<T>(address: string, file: Blob, sent: (share: number) => void, signal: AbortSignal): Promise<T> {
  return new Promise((done, fail) => {
    const x = new XMLHttpRequest()
    x.open('POST', address)
    for (const [k, v] of Object.entries(ownHeader)) x.setRequestHeader(k, v)
    x.setRequestHeader('Content-Type', 'application/octet-stream')
    x.upload.onprogress = (e) => e.lengthComputable && sent(e.loaded / e.total)
    x.onerror = () => fail(new Error('unreachable'))
    x.onabort = () => fail(new DOMException('stopped', 'AbortError'))
    x.onload = () => {
      let body
      try {
        body = JSON.parse(x.responseText)
      } catch {
        body = undefined
      }
      if (x.status >= 200 && x.status < 300) done(body as T)
      else fail(new Refusal(x.status, body?.detail ?? body?.title ?? (x.responseText || x.statusText), body?.errors ?? []))
    }
    signal.addEventListener('abort', () => x.abort())
    x.send(file)
  })
}

/** A name for a piece of work, so that its progress can be told from others'. */
export const newJob = () => 'j' + Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(36)).join('')
