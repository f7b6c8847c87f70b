import { describe, expect, it } from 'vitest'
import { columns } from './chart'

const at = (s: string) => Date.parse(s)

describe('columns of a chart', () => {
  const readings = {
    channel: 'N1', unit: 'dB', from: '2026-01-01T00:00:00.000Z', to: '2026-01-01T03:00:00.000Z',
    columns: [
      { t: at('2026-01-01T00:00:00Z'), first: 50, min: 48, max: 61, last: 52 },
      { t: at('2026-01-01T02:00:00Z'), first: 53, min: 53, max: 53, last: 53 },
    ],
    missing: [{ from: '2026-01-01T01:00:00.000Z', to: '2026-01-01T02:00:00.000Z', reason: 'no reading on file' }],
    excluded: [], n: 2, valid: 2, coverage: 0.66, max: 61, max_at: null,
  }
  const [t, low, high] = columns(readings)
  it('are in time order', () => expect([...t]).toEqual([...t].sort((a, b) => a - b)))
  it('break the line where nothing was measured', () => {
    expect(high).toEqual([61, null, 53])
    expect(low).toEqual([48, null, 53])
  })
  it('keep the greatest value', () => expect(Math.max(...high.filter((v): v is number => v !== null))).toBe(61))
})
