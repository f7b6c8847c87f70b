import { describe, expect, it } from 'vitest'
import { classes, classOf } from './classes'

describe('difference classes', () => {
  const list = classes([0.15, 0.3, 0.6, 1.2, 2.4])
  it('are eleven, symmetric about zero, without gap or overlap', () => {
    expect(list).toHaveLength(11)
    for (let i = 1; i < list.length; i++) expect(list[i]!.from).toBe(list[i - 1]!.to)
    expect(list[0]!.from).toBe(-Infinity)
    expect(list.at(-1)!.to).toBe(Infinity)
  })
  it.each([
    ['nothing moved', 0, 'within ±0.15'],
    ['just inside', 0.1499, 'within ±0.15'],
    ['higher', 0.2, '+0.15 to +0.30'],
    ['lower', -0.2, '\u22120.30 to \u22120.15'],
    ['far above', 9, 'above +2.40'],
    ['far below', -9, 'below \u22122.40'],
  ])('%s', (_name, dz, label) => {
    expect(classOf(list, dz).label).toBe(label)
  })
})
