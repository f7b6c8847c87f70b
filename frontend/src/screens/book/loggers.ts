// What a logger sends, as an example for whoever sets it up.
import type { FileMapping } from '../../api/types'

const parts: Record<string, string> = { YYYY: '2026', MM: '04', M: '4', DD: '06', D: '6', hh: '10', h: '10', mm: '00', ss: '00', AP: 'AM' }

/** A time in the form that a mapping has: 2026-04-06 10:00:00. */
export function sampleTime(layout: string | undefined): string {
  if (!layout || layout === 'iso') return '2026-04-06T10:00:00Z'
  return layout.replace(/YYYY|MM|DD|hh|mm|ss|AP|M|D|h/g, (p) => parts[p] ?? p)
}

/** One row with the columns in their order. */
export function sample(columns: string[], mapping: FileMapping, form: 'csv' | 'lines'): string {
  const times = mapping.time_columns
  const time = sampleTime(mapping.layout)
  const cut = times.length === 2 ? time.indexOf(' ') : time.length
  const cell = (c: string) => {
    if (c === times[0]) return time.slice(0, cut)
    if (c === times[1]) return time.slice(cut + 1)
    return mapping.values.some((v) => v.column === c) ? 54.3 : ''
  }
  const quoted = (t: string) => (/[",\n]/.test(t) ? '"' + t.replaceAll('"', '""') + '"' : t)
  if (form === 'csv') return columns.map(quoted).join(',') + '\n' + columns.map((c) => quoted(String(cell(c)))).join(',')
  return JSON.stringify(Object.fromEntries(columns.map((c) => [c, cell(c)])))
}
