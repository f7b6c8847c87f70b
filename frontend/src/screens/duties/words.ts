// How duties are grouped and said.
import type { Duty } from '../../api/types'
import { day, instant } from '../../format'

/** The day a duty's time ends on: its last day, or the instant within a day. */
export function lastDay(by: string): string {
  return day(new Date(Date.parse(by) - 1).toISOString())
}

/** By when, in words. */
export function byWhen(d: Duty, midnight: (iso: string) => boolean): string {
  if (!d.by) return 'no date set'
  const when = midnight(d.by) ? lastDay(d.by) : instant(d.by)
  if (d.state === 'overdue') return `overdue since ${when}${d.days > 0 ? `, ${d.days} ${d.days === 1 ? 'day' : 'days'}` : ''}`
  return 'by ' + when
}

export interface Group {
  title: string
  duties: Duty[]
}

/** Overdue, today, then each day of a week, then each week, then undated and done. */
export function grouped(list: Duty[], monday: (iso: string) => string): Group[] {
  const out: Group[] = []
  for (const d of list) {
    const title =
      d.state === 'overdue' ? 'Overdue'
      : d.state === 'due today' ? 'Today'
      : d.state === 'no date set' ? 'No date set'
      : d.state === 'done' ? 'Done'
      : d.state === 'ahead' ? 'Week of ' + monday(d.by ?? '')
      : lastDay(d.by ?? '')
    const last = out.at(-1)
    if (last?.title === title) last.duties.push(d)
    else out.push({ title, duties: [d] })
  }
  return out
}

/** The Monday of the week in which a time ends, as "2 Mar 2026", in a zone. */
export function mondayIn(zone: string): (iso: string) => string {
  return (iso) => {
    const parts = new Intl.DateTimeFormat('en-CA', { timeZone: zone, year: 'numeric', month: '2-digit', day: '2-digit' }).format(new Date(Date.parse(iso) - 1))
    const at = new Date(parts + 'T12:00:00Z')
    at.setUTCDate(at.getUTCDate() - ((at.getUTCDay() + 6) % 7))
    return new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', day: 'numeric', month: 'short', year: 'numeric' }).format(at)
  }
}

/** Whether an instant is midnight in a zone. */
export function midnightIn(zone: string): (iso: string) => boolean {
  return (iso) => new Intl.DateTimeFormat('en-GB', { timeZone: zone, hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(new Date(iso)) === '00:00'
}
