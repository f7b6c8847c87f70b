import { describe, expect, it } from 'vitest'
import type { Judgement, Readings } from '../../api/types'
import { alone, coarser, columns, csv, linePart, moved, nearest, reach, stops, tickWords } from './chart'

const at = (s: string) => Date.parse(s)

const some: Readings = {
  channel: 'N1', unit: 'dB', from: '2026-01-01T00:00:00.000Z', to: '2026-01-01T05:00:00.000Z',
  columns: [
    { t: at('2026-01-01T00:00:00Z'), first: 50, min: 48, max: 61, last: 52 },
    { t: at('2026-01-01T02:00:00Z'), first: 53, min: 53, max: 53, last: 53 },
    { t: at('2026-01-01T04:00:00Z'), first: 54, min: 54, max: 54, last: 54 },
  ],
  missing: [{ from: '2026-01-01T01:00:00.000Z', to: '2026-01-01T02:00:00.000Z', reason: 'no reading on file' }],
  excluded: [{ from: '2026-01-01T03:00:00.000Z', to: '2026-01-01T04:00:00.000Z', reason: 'rejected: wind' }],
  rejected: [{ t: at('2026-01-01T03:00:00Z'), min: 70, max: 72, reason: 'rejected: wind' }],
  unlisted: 0, n: 4, valid: 3, coverage: 0.6, max: 61, max_at: null,
}

describe('columns of a chart', () => {
  const [t, low, high, line] = columns(some)
  it('are in time order', () => expect([...t]).toEqual([...t].sort((a, b) => a - b)))
  it('break where nothing was measured or nothing counts', () => {
    expect(high).toEqual([null, 61, 61, 61, 61, null, 53, null, 54, null])
    expect(low).toEqual([null, 48, 48, 48, 48, null, 53, null, 54, null])
  })
  it('run through first, least, greatest and last of each', () => expect(line.slice(1, 5)).toEqual([50, 48, 61, 52]))
  it('reach over the whole span', () => expect([Math.round(t[0]!), t.at(-1)]).toEqual([at(some.from) / 1000, at(some.to) / 1000]))
  it('name values with no neighbour, which a line would not show', () => expect(alone(line)).toEqual([6, 8]))
  it('taken together lose no peak', () => {
    expect(coarser(some, 2)).toEqual([{ t: some.columns[0]!.t, first: 50, min: 48, max: 61, last: 53 }, some.columns[2]])
    expect(coarser(some, 5)).toEqual(some.columns)
  })
})

describe('stops of the cursor', () => {
  const list = stops(some)
  it('are columns, gaps and what was taken out with its values and reason', () =>
    expect(list.map((s) => [new Date(s.t).getUTCHours(), s.max, s.reason])).toEqual([[0, 61, ''], [1, null, 'no reading on file'], [2, 53, ''], [3, 72, 'rejected: wind'], [4, 54, '']]))
  it('keep what was left out without a value as a gap', () =>
    expect(stops({ ...some, rejected: [] })[3]).toEqual({ t: at('2026-01-01T03:00:00Z'), min: null, max: null, reason: 'rejected: wind', to: '2026-01-01T04:00:00.000Z' }))
  it.each([['2025-12-01T00:00:00Z', 0], ['2026-01-01T02:20:00Z', 2], ['2026-01-01T02:40:00Z', 3], ['2027-01-01T00:00:00Z', 4]])('nearest to %s is stop %s', (t, i) => expect(nearest(list, at(t))).toBe(i))
  it('is none of none', () => expect(nearest([], 0)).toBe(-1))
})

describe('height of a chart', () => {
  it.each([[[40, 60], [38.8, 61.2]], [[0.1, 0.2], [0.094, 0.206]], [[50], [47.5, 52.5]], [[0, 0], [-1, 1]]])('of %s is %s', (values, want) => reach(values).forEach((v, i) => expect(v).toBeCloseTo(want[i]!, 9)))
})

describe('lines over a chart', () => {
  const line = { text: '<= 55 dB', action: false, from: '2026-01-10T00:00:00Z', to: '2026-02-01T00:00:00Z', value: 55 }
  it('reach as far as their version is in force', () => {
    expect(linePart(line, '2026-01-01T00:00:00Z', '2026-01-20T00:00:00Z')).toEqual([at('2026-01-10T00:00:00Z') / 1000, at('2026-01-20T00:00:00Z') / 1000])
    expect(linePart(line, '2026-02-01T00:00:00Z', '2026-03-01T00:00:00Z')).toBe(null)
    expect(linePart({ ...line, to: null }, '2027-01-01T00:00:00Z', '2027-02-01T00:00:00Z')?.[1]).toBe(at('2027-02-01T00:00:00Z') / 1000)
  })
})

describe('keys of a chart', () => {
  it.each([['ArrowRight', 5, 6], ['ArrowRight', 9, 9], ['ArrowLeft', 0, 0], ['Home', 7, 0], ['End', 2, 9], ['PageDown', 1, 9], ['x', 3, null]])('%s from %s goes to %s', (key, from, to) => expect(moved(key, from, 10)).toBe(to))
})

describe('a chart as CSV', () => {
  const readings: Readings = {
    channel: 'N1', unit: 'dB', from: '2026-07-01T00:00:00.000Z', to: '2026-07-02T00:00:00.000Z', n: 3, valid: 2, coverage: 0.5, max: 61, max_at: null, missing: [], unlisted: 7,
    columns: [{ t: at('2026-07-01T10:00:00Z'), first: 50, min: 48, max: 61, last: 52 }],
    excluded: [{ from: '2026-07-01T09:00:00.000Z', to: '2026-07-01T09:01:00.000Z', reason: 'rejected: wind' }],
    rejected: [{ t: at('2026-07-01T09:00:00Z'), min: 70, max: 70, reason: 'instrument out of check, or not known where it stood' }],
  }
  const window = { window: { from: '2026-07-01T10:00:00Z', to: '2026-07-01T11:00:00Z' }, value: 58.2, unit: 'dB', limit_text: '<= 55 dB' } as Judgement
  const line = { text: '<= 55 dB', action: false, from: '2026-01-10T00:00:00Z', value: 55 }
  const text = csv(readings, [line], [window], ['Mind the caution.'], 'Europe/London').split('\r\n')
  it('begins with the caution', () => expect(text[0]).toBe('# Mind the caution.'))
  it('names what counts, limits, what was left out, and what the judge found', () => {
    expect(text).toContain('# 3 readings on file, 2 count, coverage 50 %')
    expect(text).toContain('# limit <= 55 dB from 2026-01-10T00:00:00Z')
    expect(text).toContain('# rejected: wind: 2026-07-01T09:00:00.000Z to 2026-07-01T09:01:00.000Z')
    expect(text).toContain('# 7 further gaps are not listed: ask for a shorter span')
    expect(text).toContain('# not complied: 2026-07-01T10:00:00Z to 2026-07-01T11:00:00Z, 58.2 dB, limit <= 55 dB')
  })
  it('has rows in time order with both clocks, and rejected values apart, a reason with a comma in quotes', () => {
    expect(text.slice(-3, -1)).toEqual([
      '2026-07-01T09:00:00.000Z,2026-07-01T10:00:00+01:00,,70,70,,"instrument out of check, or not known where it stood"',
      '2026-07-01T10:00:00.000Z,2026-07-01T11:00:00+01:00,50,48,61,52,',
    ])
  })
  it('tells the hour that comes twice apart', () => {
    const twice = ['2026-10-25T00:30:00Z', '2026-10-25T01:30:00Z'].map((t) => ({ t: at(t), first: 1, min: 1, max: 1, last: 1 }))
    const rows = csv({ ...readings, columns: twice, rejected: [] }, [], [], [], 'Europe/London').split('\r\n').slice(-3, -1)
    expect(rows.map((r) => r.split(',')[1])).toEqual(['2026-10-25T01:30:00+01:00', '2026-10-25T01:30:00+00:00'])
  })
})

describe('words along the time axis', () => {
  const sec = (s: string) => at(s) / 1000
  it.each([
    ['months', ['2025-11-01T00:00:00Z', '2025-12-01T00:00:00Z', '2026-01-01T00:00:00Z'], ['Nov\n2025', 'Dec', 'Jan\n2026']],
    ['days, by the zone', ['2025-10-25T23:00:00Z', '2025-10-28T00:00:00Z'], ['26 Oct\n2025', '28 Oct']],
    ['hours', ['2025-10-25T22:00:00Z', '2025-10-25T23:00:00Z', '2025-10-26T00:00:00Z'], ['23:00\n25 Oct 2025', '00:00\n26 Oct', '01:00']],
  ])('%s', (_, marks, want) => expect(tickWords(marks.map(sec), 'Europe/London')).toEqual(want))
})
