import { describe, expect, it, vi } from 'vitest'

vi.mock('./session.svelte', () => ({ state: { site: { zone: 'Europe/London' } } }))
const { bytes, figure, fixed, instant, percent, sentence, signed } = await import('./format')

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
