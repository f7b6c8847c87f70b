import { describe, expect, it, vi } from 'vitest'

vi.mock('./session.svelte', () => ({ state: { site: { zone: 'Europe/London' } } }))
const { bytes, figure, fixed, instant, percent, sentence, signed, windowWords } = await import('./format')

describe('figures', () => {
  it.each([
    ['trailing zeros go', 55.1, 3, '55.1'],
    ['a whole number stays whole', 290, 0, '290'],
    ['nought is shown', 0, 0, '0'],
    ['nought with decimals', 0, 3, '0'],
    ['a true minus', -0.35, 2, '\u22120.35'],
    ['hundreds keep their noughts', 1500, 2, '1500'],
  ])('%s', (_name, value, places, want) => expect(figure(value, places)).toBe(want))
  it('nothing is a dash', () => expect(figure(null)).toBe('–'))
  it('fixed keeps its decimals', () => expect(fixed(0.04, 3)).toBe('0.040'))
  it('signed says above', () => expect(signed(0.5)).toBe('+0.5'))
  it('share', () => expect(percent(1)).toBe('100 %'))
  it('size', () => expect(bytes(8_900_000)).toBe('8.9 MB'))
  it('sentence', () => expect(sentence('noise at NM1')).toBe('Noise at NM1'))
})

describe('times', () => {
  it('name the zone, summer time', () => expect(instant('2026-04-06T08:12:00.000Z')).toMatch(/09:12 BST$/))
  it('name the zone, winter time', () => expect(instant('2026-01-06T08:12:00.000Z')).toMatch(/08:12 GMT$/))
})

describe('windows', () => {
  it.each([
    ['an instant', '2026-01-06T08:12:00Z', '2026-01-06T08:12:00Z', 'Tue, 6 Jan 2026, 08:12 GMT'],
    ['an hour', '2026-01-06T08:00:00Z', '2026-01-06T09:00:00Z', 'Tue, 6 Jan 2026, 08:00 to 09:00 GMT'],
    ['the hour before midnight', '2026-01-06T23:00:00Z', '2026-01-07T00:00:00Z', 'Tue, 6 Jan 2026, 23:00 to 00:00 GMT'],
    ['a local day', '2026-04-05T23:00:00Z', '2026-04-06T23:00:00Z', 'Mon, 6 Apr 2026'],
    ['the day the clocks go forward', '2026-03-29T00:00:00Z', '2026-03-29T23:00:00Z', 'Sun, 29 Mar 2026'],
    ['the hour the clocks go back', '2026-10-25T00:30:00Z', '2026-10-25T01:30:00Z', 'Sun, 25 Oct 2026, 01:30 BST to 01:30 GMT'],
    ['days', '2026-01-06T00:00:00Z', '2026-01-08T00:00:00Z', 'Tue, 6 Jan 2026, 00:00 GMT to Thu, 8 Jan 2026, 00:00 GMT'],
  ])('%s', (_name, from, to, want) => expect(windowWords(from, to)).toBe(want))
})
