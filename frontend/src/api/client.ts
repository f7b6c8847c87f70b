// The only place that fetches. Every answer is JSON or a problem in words.

export interface Fault {
  field: string
  reason: string
  remedy: string
}

/** What went wrong, in words for the person at the screen. */
export class Problem extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly faults: Fault[] = [],
    readonly body: Record<string, unknown> = {},
  ) {
    super(message)
  }
}

let csrf = ''

/** Keeps the token that goes with every request that writes. */
export function setToken(token: string): void {
  csrf = token
}

async function problem(answer: Response): Promise<Problem> {
  const body: Record<string, unknown> = await answer.json().catch(() => ({}))
  const faults = Array.isArray(body.errors) ? (body.errors as Fault[]) : []
  const words = typeof body.detail === 'string' && body.detail ? body.detail : `The server answered ${answer.status}.`
  return new Problem(answer.status, typeof body.code === 'string' ? body.code : 'internal', words, faults, body)
}

async function send(method: string, path: string, body?: BodyInit, type?: string): Promise<Response> {
  const headers: Record<string, string> = { Accept: 'application/json' }
  if (type) headers['Content-Type'] = type
  if (method !== 'GET') headers['X-CSRF'] = csrf
  let answer: Response
  try {
    answer = await fetch('/api/' + path, { method, headers, body, credentials: 'same-origin' })
  } catch {
    throw new Problem(0, 'unreachable', 'The server does not answer. What you typed is still here; try again when it is back.')
  }
  if (!answer.ok) throw await problem(answer)
  return answer
}

/** Reads an answer. Undefined query values are left out. */
export async function get<T>(path: string, query: Record<string, string | number | undefined> = {}): Promise<T> {
  const search = new URLSearchParams()
  for (const [key, value] of Object.entries(query)) {
    if (value !== undefined && value !== '') search.set(key, String(value))
  }
  const text = search.toString()
  return (await send('GET', path + (text ? '?' + text : ''))).json() as Promise<T>
}

/** Writes JSON and reads the answer, if there is one. */
export async function write<T>(method: 'PUT' | 'POST' | 'PATCH' | 'DELETE', path: string, body?: unknown): Promise<T> {
  const text = body === undefined ? undefined : JSON.stringify(body)
  const answer = await send(method, path, text, text === undefined ? undefined : 'application/json')
  return (answer.status === 204 ? undefined : await answer.json()) as T
}

/** Sends a file as it is, with progress from 0 to 1. */
export function upload<T>(path: string, file: Blob, progress: (share: number) => void): Promise<T> {
  return new Promise((done, fail) => {
    const request = new XMLHttpRequest()
    request.open('POST', '/api/' + path)
    request.setRequestHeader('X-CSRF', csrf)
    request.setRequestHeader('Content-Type', file.type || 'application/octet-stream')
    request.upload.onprogress = (e) => progress(e.lengthComputable ? e.loaded / e.total : 0)
    request.onerror = () => fail(new Problem(0, 'unreachable', 'The server does not answer; the file was not sent. Try again.'))
    request.onload = () => {
      const body = JSON.parse(request.responseText || '{}') as Record<string, unknown>
      if (request.status < 300) done(body as T)
      else fail(new Problem(request.status, String(body.code ?? 'internal'), String(body.detail ?? `The server answered ${request.status}.`)))
    }
    request.send(file)
  })
}
