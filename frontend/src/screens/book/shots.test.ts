import { describe, expect, it } from 'vitest'
import { above0, across, box, csv, decades, down, ends, ticks } from './shots'

const shot = (scaled: number, ppv: number | null) => ({ entry: 'e', number: '1', at: '2026-04-01T12:00:00Z', building: 'A, barn', distance: 300, charge: 50, scaled, ppv, channel: 'V', state: 'measured' as const })
const log = { shots: [shot(24, 6.85), shot(83, 0.48), shot(170, null)], why: 'too few', unseen: 1, no_record: 0, unsure: 0, caution: 'For the appointed shotfirer.' }

describe('the plot of shots', () => {
  it('holds all values in whole decades', () => {
    expect(decades([24, 83])).toEqual([1, 2])
    expect(decades([0.48, 6.85])).toEqual([-1, 1])
    expect(decades([])).toEqual([0, 1])
    expect(box(log)).toEqual({ x0: 1, x1: 2, y0: -1, y1: 1 })
  })
  it('places values by their logarithm, upwards', () => {
    expect([across(box(log), 10, 200), across(box(log), 100, 200)]).toEqual([0, 200])
    expect([down(box(log), 10, 100), down(box(log), 0.1, 100)]).toEqual([0, 100])
  })
  it('draws a line between the distances measured', () => {
    const [x0, y0, x1, y1] = ends(box(log), 100, -1, 10, 100, 200, 100)
    expect([x0, y0, x1, y1].map((v) => Number(v.toFixed(6)))).toEqual([0, 0, 200, 50])
  })
  it('marks 1, 2 and 5', () => expect(ticks(-1, 1)).toEqual([0.1, 0.2, 0.5, 1, 2, 5, 10]))
})

it('a typed figure is above 0, or words say what is wrong with it', () => {
  expect(above0(' 12,5 ', 'the limit')).toEqual({ value: 12.5, wrong: '' })
  expect(above0('', 'the limit').wrong).toBe('the limit is missing')
  for (const typed of ['far', '0', '-3', 'Infinity', '1 000', '1,000.5']) expect(above0(typed, 'the limit').wrong).toBe(`the limit is "${typed}", which is no figure above 0`)
})

it('the log as CSV begins with the caution and says why there is no line', () => {
  const rows = csv(log).split('\r\n')
  expect(rows[0]).toBe('# For the appointed shotfirer.')
  expect(rows[1]).toBe('# too few')
  expect(rows[3]).toBe('1,2026-04-01T12:00:00Z,"A, barn",300,50,24,6.85,V,measured')
})
