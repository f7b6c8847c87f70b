// Where spans lie on a time line, and what is said of an instrument's checks.
import type { InstrumentRecord } from '../../api/types'
import { day, instant, signed } from '../../format'

type Doubt = InstrumentRecord['doubts'][number]
type Check = InstrumentRecord['checks'][number]

/** A span on the line, in per cent of its length. */
export interface Bar {
  start: number
  size: number
}

/** The time line of an instrument: from the first thing on record to now. */
export function line(x: InstrumentRecord, at: string): { from: number; to: number } {
  const begins = [...x.stands.map((s) => s.from), ...x.checks.map((c) => c.at), ...x.certificates.map((c) => c.from)].map((t) => Date.parse(t))
  const to = Math.max(Date.parse(at), ...begins)
  return { from: Math.min(to - 86_400_000, ...begins), to }
}

/** A span laid on the line; null is its end. What lies outside is cut off. */
export function bar(l: { from: number; to: number }, from: string | null, to: string | null): Bar | null {
  const a = Math.max(from ? Date.parse(from) : l.from, l.from)
  const b = Math.min(to ? Date.parse(to) : l.to, l.to)
  if (b <= a) return null
  const whole = l.to - l.from
  return { start: (100 * (a - l.from)) / whole, size: (100 * (b - a)) / whole }
}

/** What becomes of readings in a doubtful span. */
export function effect(d: Doubt): string {
  if (d.effect === 'left out') return 'do not count'
  if (d.effect === 'noted') return 'count; it is noted'
  return `may lie from ${signed(d.low, 2)} to ${signed(d.high, 2)} dB off`
}

/** How a check came out, in words. */
export function outcome(c: Check): string {
  if (c.state === 'out') return 'out of check'
  if (c.state === 'flagged') return 'drifted noticeably'
  return 'in order'
}

/** A doubtful span in words. */
export function spanWords(d: Doubt): string {
  if (!d.from && !d.to) return 'at all times'
  if (!d.from) return `until ${instant(d.to ?? '')}`
  return d.to ? `${instant(d.from)} to ${instant(d.to)}` : `from ${instant(d.from)} on`
}

/** One sentence for who cannot see the line. */
export function said(x: InstrumentRecord): string {
  const left = x.doubts.filter((d) => d.effect === 'left out').length
  const places = [...new Set(x.stands.flatMap((s) => s.places))]
  const stood = places.length ? `stood at ${places.join(', ')}` : 'no deployment is on record'
  return `${x.ref}: ${stood}; ${x.checks.length === 1 ? '1 check' : `${x.checks.length} checks`}; ${left === 0 ? 'no span left out' : left === 1 ? '1 span left out' : `${left} spans left out`}.`
}

/** Where it is now. */
export function now(x: InstrumentRecord): string {
  const last = x.stands.at(-1)
  if (!last) return 'no deployment is on record'
  return last.to ? `taken down ${day(last.to)}` : `at ${last.places.join(', ')} since ${day(last.from)}`
}
