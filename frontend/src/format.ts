// How figures and times are shown. Every time names its zone.
import { state } from './session.svelte'

const minus = '\u2212'

function trimmed(text: string): string {
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text
}

/** A computed figure with at most `places` decimals, a true minus, no grouping. */
export function figure(value: number | null | undefined, places = 3): string {
  if (value === null || value === undefined || Number.isNaN(value)) return '–'
  const text = trimmed(value.toFixed(places))
  return text.startsWith('-') ? minus + text.slice(1) : text
}

/** A figure with exactly `places` decimals, for columns and surveyed levels. */
export function fixed(value: number | null | undefined, places: number): string {
  if (value === null || value === undefined || Number.isNaN(value)) return '–'
  const text = value.toFixed(places)
  return text.startsWith('-') ? minus + text.slice(1) : text
}

/** A figure with its sign, for differences and margins. */
export function signed(value: number | null | undefined, places = 3): string {
  if (value === null || value === undefined) return '–'
  return value > 0 ? '+' + figure(value, places) : figure(value, places)
}

function parts(iso: string, options: Intl.DateTimeFormatOptions): string {
  const zone = state.site?.zone ?? 'UTC'
  return new Intl.DateTimeFormat('en-GB', { timeZone: zone, ...options }).format(new Date(iso))
}

/** An instant in the site's zone: "Mon 6 Apr 2026, 09:12 BST". */
export function instant(iso: string): string {
  return parts(iso, {
    weekday: 'short', day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit', timeZoneName: 'short',
  })
}

/** A day in the site's zone: "Mon 6 Apr 2026". */
export function day(iso: string): string {
  return parts(iso, { weekday: 'short', day: 'numeric', month: 'short', year: 'numeric' })
}

/** An entry's instant no more closely than it is known. */
export function asKnown(iso: string, precision: string): string {
  return precision === 'day' ? day(iso) : instant(iso)
}

/** A window [from, to), as short as it can be said: a day, hours of a day, or both ends. */
export function windowWords(from: string, to: string): string {
  if (from === to) return instant(from)
  const clock = (iso: string) => parts(iso, { hour: '2-digit', minute: '2-digit' })
  const zone = (iso: string) => parts(iso, { timeZoneName: 'short' }).split(' ').pop() ?? ''
  const last = new Date(Date.parse(to) - 1).toISOString()
  if (day(from) !== day(last)) return `${instant(from)} to ${instant(to)}`
  if (clock(from) === '00:00' && clock(to) === '00:00') return day(from)
  return zone(from) === zone(to) ? `${day(from)}, ${clock(from)} to ${clock(to)} ${zone(to)}` : `${day(from)}, ${clock(from)} ${zone(from)} to ${clock(to)} ${zone(to)}`
}

/** A share as a percentage. */
export function percent(share: number | null | undefined): string {
  return share === null || share === undefined ? '–' : figure(share * 100, 1) + ' %'
}

/** A size of a file. */
export function bytes(n: number): string {
  if (n < 1000) return `${n} B`
  if (n < 1e6) return `${figure(n / 1e3, 1)} kB`
  return `${figure(n / 1e6, 1)} MB`
}

/** A sentence with its first letter large. */
export function sentence(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1)
}
