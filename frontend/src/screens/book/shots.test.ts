import { describe, expect, it } from 'vitest'
import { above0, across, bounds, box, csv, down, ends, ticks } from './shots'

const shot = (scaled: number, ppv: number | null) => ({ entry: 'e', number: '1', at: '2026-04-01T12:00:00Z', building: 'A, barn', distance: 300, charge: 50, scaled, ppv, channel: 'V', state: 'measured' as const })
const log = { shots: [shot(24, 6.85), shot(83, 0.48), shot(170, null)], why: 'too few', unseen: 1, no_record: 0, unsure: 0, caution: 'For the appointed shotfirer.' }

const decade = { x0: 1, x1: 2, y0: -1, y1: 1 }

describe('the plot of shots', () => {
  it('holds all values between a 1, 2 or 5 of a decade and another', () => {
    expect(bounds([24, 83])).toEqual([20, 100])
    expect(bounds([0.48, 6.85])).toEqual([0.2, 10])
    expect(bounds([20, 50])).toEqual([20, 50])
    expect(bounds([5])).toEqual([5, 10])
    expect(bounds([0.1, 0.3])).toEqual([0.1, 0.5])
    expect(bounds([])).toEqual([1, 10])
    expect(box(log)).toEqual({ x0: Math.log10(20), x1: 2, y0: Math.log10(0.2), y1: 1 })
  })
  it('holds both lines, which may reach beyond every shot', () => {
    const line = { n: 16, a: 4, b: -2, spread: 0.06, r2: 0.97, k_half: 1000, k_upper: 7000, over: 1, least: 24, most: 83 }
    expect(box({ ...log, line })).toMatchObject({ y0: Math.log10(0.1), y1: Math.log10(20) })
  })
  it('places values by their logarithm, upwards', () => {
    expect([across(decade, 10, 200), across(decade, 100, 200)]).toEqual([0, 200])
    expect([down(decade, 10, 100), down(decade, 1, 100), down(decade, 0.1, 100)]).toEqual([0, 50, 100])
  })
  it('draws a line between the distances measured', () => {
    const [x0, y0, x1, y1] = ends(decade, 100, -1, 10, 100, 200, 100)
    expect([x0, y0, x1, y1].map((v) => Number(v.toFixed(6)))).toEqual([0, 0, 200, 50])
  })
  it('marks 1, 2 and 5', () => {
    expect(ticks(-1, 1)).toEqual([0.1, 0.2, 0.5, 1, 2, 5, 10])
    expect(ticks(Math.log10(0.2), Math.log10(5))).toEqual([0.2, 0.5, 1, 2, 5])
  })
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
