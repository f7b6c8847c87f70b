import { describe, expect, it } from 'vitest'
import { columns, csv, linePart, moved } from './chart'

const at = (s: string) => Date.parse(s)

describe('columns of a chart', () => {
  const readings = {
    channel: 'N1', unit: 'dB', from: '2026-01-01T00:00:00.000Z', to: '2026-01-01T03:00:00.000Z',
    columns: [
      { t: at('2026-01-01T00:00:00Z'), first: 50, min: 48, max: 61, last: 52 },
      { t: at('2026-01-01T02:00:00Z'), first: 53, min: 53, max: 53, last: 53 },
    ],
    missing: [{ from: '2026-01-01T01:00:00.000Z', to: '2026-01-01T02:00:00.000Z', reason: 'no reading on file' }],
    excluded: [], rejected: [], n: 2, valid: 2, coverage: 0.66, max: 61, max_at: null,
  }
  const [t, low, high] = columns(readings)
  it('are in time order', () => expect([...t]).toEqual([...t].sort((a, b) => a - b)))
  it('break the line where nothing was measured', () => {
    expect(high).toEqual([61, null, 53])
    expect(low).toEqual([48, null, 53])
  })
  it('keep the greatest value', () => expect(Math.max(...high.filter((v): v is number => v !== null))).toBe(61))
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
  const text = csv(
    {
      channel: 'N1', unit: 'dB', from: '2026-07-01T00:00:00.000Z', to: '2026-07-02T00:00:00.000Z', n: 3, valid: 2, coverage: 1, max: 61, max_at: null, missing: [],
      columns: [{ t: at('2026-07-01T10:00:00Z'), first: 50, min: 48, max: 61, last: 52 }],
      excluded: [{ from: '2026-07-01T09:00:00.000Z', to: '2026-07-01T09:01:00.000Z', reason: 'rejected: wind' }],
      rejected: [{ t: at('2026-07-01T09:00:00Z'), min: 70, max: 70, reason: 'rejected: wind' }],
    },
    [{ text: '<= 55 dB', action: false, from: '2026-01-10T00:00:00Z', value: 55 }], ['Mind the caution.'], 'Europe/London',
  ).split('\r\n')
  it('begins with the caution', () => expect(text[0]).toBe('# Mind the caution.'))
  it('names the limit and what was left out', () => {
    expect(text).toContain('# limit <= 55 dB from 2026-01-10T00:00:00Z')
    expect(text).toContain('# rejected: wind: 2026-07-01T09:00:00.000Z to 2026-07-01T09:01:00.000Z')
  })
  it('has rows in time order with both clocks, and rejected values apart', () => {
    expect(text.slice(-3, -1)).toEqual(['2026-07-01T09:00:00.000Z,2026-07-01 10:00:00,,70,70,,rejected: wind', '2026-07-01T10:00:00.000Z,2026-07-01 11:00:00,50,48,61,52,'])
  })
})
