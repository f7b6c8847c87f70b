// Hash routes: "#/conditions/EX-1/14?place=NSR1" → path parts and query.
export interface Route {
  parts: string[]
  query: URLSearchParams
}

function read(): Route {
  const [path = '', search = ''] = location.hash.replace(/^#\/?/, '').split('?')
  return {
    parts: path.split('/').filter(Boolean).map(decodeURIComponent),
    query: new URLSearchParams(search),
  }
}

export const route = $state<Route>(read())

window.addEventListener('hashchange', () => {
  Object.assign(route, read())
})

/** Builds a link to a route; empty query values are left out. */
export function href(parts: (string | number)[], query: Record<string, string | undefined> = {}): string {
  const kept = Object.entries(query).filter((e): e is [string, string] => Boolean(e[1]))
  const search = new URLSearchParams(kept).toString()
  return '#/' + parts.map((p) => encodeURIComponent(String(p))).join('/') + (search ? '?' + search : '')
}

/** Goes to a route. */
export function go(parts: (string | number)[], query: Record<string, string | undefined> = {}): void {
  location.hash = href(parts, query)
}
