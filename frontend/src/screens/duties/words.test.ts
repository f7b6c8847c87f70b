import { describe, expect, it, vi } from 'vitest'
import type { Duty } from '../../api/types'

vi.mock('../../session.svelte', () => ({ state: { site: { zone: 'Europe/London' } } }))
const { byWhen, grouped, midnightIn, mondayIn } = await import('./words')

const one = (over: Partial<Duty>): Duty => ({ state: 'ahead', days: 0, ...over }) as Duty
const zone = 'Europe/London'

describe('by when', () => {
  it.each([
    ['a day', one({ by: '2026-03-05T00:00:00Z' }), 'by Wed, 4 Mar 2026'],
    ['a day in summer time', one({ by: '2026-06-04T23:00:00Z' }), 'by Thu, 4 Jun 2026'],
    ['an instant', one({ by: '2026-03-05T14:30:00Z' }), 'by Thu, 5 Mar 2026, 14:30 GMT'],
    ['overdue by a day', one({ by: '2026-03-05T00:00:00Z', state: 'overdue', days: 1 }), 'overdue since Wed, 4 Mar 2026, 1 day'],
    ['overdue since this morning', one({ by: '2026-03-05T08:00:00Z', state: 'overdue' }), 'overdue since Thu, 5 Mar 2026, 08:00 GMT'],
    ['no date', one({}), 'no date set'],
  ])('%s', (_name, d, want) => expect(byWhen(d, midnightIn(zone))).toBe(want))
})

describe('groups', () => {
  const list = [
    one({ state: 'overdue', by: '2026-03-01T00:00:00Z' }), one({ state: 'overdue', by: '2026-03-02T00:00:00Z' }), one({ state: 'due today', by: '2026-03-04T00:00:00Z' }),
    one({ state: 'due within seven days', by: '2026-03-05T00:00:00Z' }), one({ state: 'due within seven days', by: '2026-03-06T00:00:00Z' }),
    one({ state: 'ahead', by: '2026-03-16T00:00:00Z' }), one({ state: 'ahead', by: '2026-03-17T00:00:00Z' }), one({ state: 'no date set' }), one({ state: 'done' }),
  ]
  it('by day for a week, by week after it', () =>
    expect(grouped(list, mondayIn(zone)).map((g) => `${g.title}: ${g.duties.length}`)).toEqual([
      'Overdue: 2', 'Today: 1', 'Wed, 4 Mar 2026: 1', 'Thu, 5 Mar 2026: 1', 'Week of 9 Mar 2026: 1', 'Week of 16 Mar 2026: 1', 'No date set: 1', 'Done: 1',
    ]))
})
