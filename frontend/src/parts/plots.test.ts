import { describe, expect, it } from 'vitest'
import { across, bars, petals, rankName, rim, sectorName, speedWords, wedge } from './plots'

const rose = { speed: 'V', direction: 'D', bounds: [0.5, 2], calm: 0.2, mean: 0, steady: 1, together: 10, missing: 0, caution: '', share: [[0.3, 0.1], [0.05, 0], [0, 0], [0.35, 0], [0, 0], [0, 0], [0, 0], [0, 0]] }
const levels = { channel: 'N', unit: 'dB', width: 1, n: 6, below: 0, above: 0, left_out: 0, coverage: 1, ranks: [], caution: '', classes: [{ from: 40, n: 1 }, { from: 41, n: 4 }, { from: 42, n: 1 }] }

describe('a wind rose', () => {
  it('has a round rim not below its longest petal', () => expect(rim(rose)).toBe(0.4))
  it('has a petal for each class there is, one beyond the other', () => {
    expect(petals(rose, 100).map((p) => [p.sector, p.kind])).toEqual([[0, 0], [0, 1], [1, 0], [3, 0]])
    expect(petals(rose, 100)[1]?.path).toContain('A 100 100')
  })
  it('points north upwards and turns clockwise', () => {
    expect(wedge(0, 10, 0, 90)).toContain('L 0.000 -10.000 A 10 10 0 0 1 10.000 ')
  })
  it('names its sectors and classes', () => {
    expect([sectorName(0, 16), sectorName(1, 16), sectorName(1, 8), sectorName(1, 12)]).toEqual(['N', 'NNE', 'NE', '30°'])
    expect([speedWords(rose.bounds, 0), speedWords(rose.bounds, 1)]).toEqual(['0.5 to below 2 m/s', '2 m/s and more'])
  })
})

describe('a distribution', () => {
  it('has bars as high as their classes are frequent', () => expect(bars(levels, 300, 80).map((b) => [b.x, b.height])).toEqual([[0, 20], [100, 80], [200, 20]]))
  it('names its ranks as levels only where they are levels', () => expect([rankName(levels, 90), rankName({ ...levels, unit: 'µg/m³' }, 90)]).toEqual(['L90', '90 %']))
  it('places a value', () => expect(across(levels, 41.5, 300)).toBe(150))
})
