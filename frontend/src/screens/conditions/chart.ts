// What a chart of readings shows, as numbers and words: what is drawn, where the
// cursor stops, the rows of its table and its CSV.
import type { Judgement, Readings } from '../../api/types'

/** What uPlot draws: times in seconds, then least, greatest and the line of each. */
export type Drawn = [number[], (number | null)[], (number | null)[], (number | null)[]]

/**
 * Aligned columns, each with its first, least, greatest and last value at its
 * time, so that the line runs through all four. The line breaks wherever
 * nothing was measured or what was measured does not count, and the chart
 * reaches over the whole span asked for.
 */
export function columns(r: Readings): Drawn {
  const points: [number, number | null, number | null, number | null][] = []
  for (const c of r.columns) {
    const at = c.t / 1000
    points.push([at, c.min, c.max, c.first])
    if (c.min !== c.max) for (const v of [c.min, c.max, c.last]) points.push([at, c.min, c.max, v])
  }
  for (const gap of [...r.missing, ...r.excluded]) points.push([Date.parse(gap.from) / 1000 + 0.001, null, null, null])
  points.push([Date.parse(r.from) / 1000 - 0.001, null, null, null], [Date.parse(r.to) / 1000, null, null, null])
  points.sort((a, b) => a[0] - b[0])
  const of = <T,>(pick: (p: (typeof points)[number]) => T) => points.map(pick)
  return [of((p) => p[0]), of((p) => p[1]), of((p) => p[2]), of((p) => p[3])]
}

/** A place the cursor stops at: a column that counts, one taken out, or a gap. */
export interface Stop {
  t: number
  min: number | null
  max: number | null
  reason: string
  to?: string
}

/** Every stop of the cursor, in order of time. */
export function stops(r: Readings): Stop[] {
  const out: Stop[] = [
    ...r.columns.map((c) => ({ t: c.t, min: c.min, max: c.max, reason: '' })),
    ...r.rejected.map((c) => ({ t: c.t, min: c.min, max: c.max, reason: c.reason })),
    ...r.missing.map((s) => ({ t: Date.parse(s.from), min: null, max: null, reason: s.reason, to: s.to })),
    ...r.excluded
      .filter((s) => !r.rejected.some((c) => c.reason === s.reason && c.t >= Date.parse(s.from) && c.t < Date.parse(s.to)))
      .map((s) => ({ t: Date.parse(s.from), min: null, max: null, reason: s.reason, to: s.to })),
  ]
  return out.sort((a, b) => a.t - b.t)
}

/** The stop nearest to a time in ms; -1 where there is none. */
export function nearest(list: Stop[], t: number): number {
  let low = 0
  let high = list.length
  while (low < high) {
    const mid = (low + high) >> 1
    if (list[mid]!.t < t) low = mid + 1
    else high = mid
  }
  const before = list[low - 1]
  const after = list[low]
  if (!after || (before && t - before.t <= after.t - t)) return low - 1
  return low
}

/** A limit or action level over the part of the chart in which its version is in force. */
export interface Line {
  text: string
  action: boolean
  from: string
  to?: string | null
  value: number
}

/** The part of a line that falls into the span, in seconds; null where none does. */
export function linePart(line: Line, from: string, to: string): [number, number] | null {
  const a = Math.max(Date.parse(line.from), Date.parse(from)) / 1000
  const b = Math.min(line.to ? Date.parse(line.to) : Infinity, Date.parse(to)) / 1000
  return a < b ? [a, b] : null
}

/** Where a key moves the cursor among n columns; null for a key that is none of these. */
export function moved(key: string, at: number, n: number): number | null {
  const to = { ArrowLeft: at - 1, ArrowRight: at + 1, PageUp: at - 20, PageDown: at + 20, Home: 0, End: n - 1 }[key]
  return to === undefined ? null : Math.min(Math.max(to, 0), n - 1)
}

/** The columns taken together in at most n equal parts of the span, for paper. */
export function coarser(r: Readings, n: number): Readings['columns'] {
  const from = Date.parse(r.from)
  const part = (Date.parse(r.to) - from) / n
  const out: Readings['columns'] = []
  let last = -1
  for (const c of r.columns) {
    const k = Math.floor((c.t - from) / part)
    const into = out.at(-1)
    if (k !== last || !into) {
      out.push({ ...c })
      last = k
      continue
    }
    into.min = Math.min(into.min, c.min)
    into.max = Math.max(into.max, c.max)
    into.last = c.last
  }
  return out
}

/** A time in a zone with its offset, so that the hour that comes twice is told apart. */
function inZone(t: number, format: Intl.DateTimeFormat): string {
  const p = Object.fromEntries(format.formatToParts(t).map((x) => [x.type, x.value]))
  const offset = (p.timeZoneName ?? '').replace('GMT', '') || '+00:00'
  return `${p.year}-${p.month}-${p.day}T${p.hour}:${p.minute}:${p.second}${offset}`
}

/** A cell of a CSV, in quotes where it needs them. */
const cell = (text: string) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)

/**
 * The columns as CSV, with what goes with them in lines that begin with #:
 * the notes, how much counts, limits by version, gaps, and the windows the
 * judge found not complied.
 */
export function csv(r: Readings, lines: Line[], over: Judgement[], notes: string[], zone: string): string {
  const format = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone, year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit', second: '2-digit', hourCycle: 'h23', timeZoneName: 'longOffset',
  })
  const head = [
    ...notes,
    `channel ${r.channel} in ${r.unit}, ${r.from} to ${r.to}; each row a column of the chart: first, least, greatest, last of its readings`,
    `${r.n} readings on file, ${r.valid} count${r.coverage === null ? '' : `, coverage ${+(r.coverage * 100).toFixed(2)} %`}`,
  ]
  for (const l of lines) head.push(`${l.action ? 'action level' : 'limit'} ${l.text} from ${l.from}${l.to ? ` to ${l.to}` : ''}`)
  for (const s of [...r.missing, ...r.excluded]) head.push(`${s.reason}: ${s.from} to ${s.to}`)
  if (r.unlisted) head.push(`${r.unlisted} further gaps are not listed: ask for a shorter span`)
  for (const w of over) head.push(`not complied: ${w.window.from} to ${w.window.to}, ${w.value ?? w.shown ?? 'no value'} ${w.unit}, limit ${w.limit_text}`)
  const rows: [number, string][] = [
    ...r.columns.map((c): [number, string] => [c.t, `${c.first},${c.min},${c.max},${c.last},`]),
    ...r.rejected.map((c): [number, string] => [c.t, `,${c.min},${c.max},,${cell(c.reason)}`]),
  ]
  rows.sort((a, b) => a[0] - b[0])
  return [
    ...head.map((n) => '# ' + n.replaceAll('\n', ' ')),
    `time_utc,time_${zone.replaceAll('/', '_')},first,least,greatest,last,left_out`,
    ...rows.map(([t, cells]) => `${new Date(t).toISOString()},${inZone(t, format)},${cells}`),
  ].join('\r\n') + '\r\n'
}

/** Positions of values that have no neighbour to draw a line to. */
export function alone(values: (number | null)[]): number[] {
  const out: number[] = []
  values.forEach((v, i) => {
    if (v !== null && (values[i - 1] ?? null) === null && (values[i + 1] ?? null) === null) out.push(i)
  })
  return out
}

/** The least and greatest that the chart must reach, with room at both ends. */
export function reach(values: number[]): [number, number] {
  const low = Math.min(...values)
  const high = Math.max(...values)
  const room = (high - low) * 0.06 || Math.abs(high) * 0.05 || 1
  return [low - room, high + room]
}

/** Words of the marks along the time axis, in seconds: day and month by name, never by number. */
export function tickWords(marks: number[], zone: string): string[] {
  const step = (marks[1] ?? 0) - (marks[0] ?? 0)
  const say = (options: Intl.DateTimeFormatOptions) => new Intl.DateTimeFormat('en-GB', { timeZone: zone, hourCycle: 'h23', ...options })
  const day = say({ day: 'numeric', month: 'short' })
  const month = say({ month: 'short' })
  const year = say({ year: 'numeric' })
  const clock = say({ hour: '2-digit', minute: '2-digit' })
  let before = ''
  let yearBefore = ''
  return marks.map((t) => {
    const at = t * 1000
    const y = year.format(at)
    let text = step >= 27 * 86400 ? month.format(at) : day.format(at)
    if (step < 86400) {
      const line = clock.format(at)
      text = text === before ? line : `${line}\n${text}`
      before = day.format(at)
    }
    if (y !== yearBefore) text += `${step < 86400 ? ' ' : '\n'}${y}`
    yearBefore = y
    return text
  })
}
