// Descriptions of kinds of entry: forms and tables are drawn from them.
import { get } from '../../api/client'
import type { Kind } from '../../api/types'




let asked: Promise<Kind[]> | undefined

/** All kinds, read once. */
export function kinds(): Promise<Kind[]> {
  asked ??= get<Kind[]>('kinds')
  asked.catch(() => (asked = undefined))
  return asked
}

/** A new entry id: 128 random bits in hex. */
export function newId(): string {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, '0')).join('')
}

/** The device's UTC offset at an instant, "+01:00". */
export function offsetOf(at: Date): string {
  const minutes = -at.getTimezoneOffset()
  const sign = minutes < 0 ? '-' : '+'
  const abs = Math.abs(minutes)
  return `${sign}${String(Math.floor(abs / 60)).padStart(2, '0')}:${String(abs % 60).padStart(2, '0')}`
}
