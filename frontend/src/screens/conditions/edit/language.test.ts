import { describe, expect, it } from 'vitest'
import { fitted, limitOf, limitText, outerOf, outerValue, sendable, statisticOf, statisticText } from './language'

describe('limits', () => {
  for (const text of [
    '<= 55 dB', '< 5 NTU', '>= 0.30 m', '= 0', '<= 6', 'between 6 and 9 pH', 'between 6 and 9 pH, high end excluded',
    'background NSR1-BG + 10 dB, floor 45, cap 55', 'background BG + 5 dB', '<= 10 NTU above UP1', '>= 2 mg/L below UP1', '>= 95 % of soil.stripped',
  ]) {
    it(`${text} is taken apart and put together again`, () => {
      const l = limitOf(text)
      expect(l.form).not.toBe('text')
      expect(limitText(l)).toBe(text)
    })
  }
  it('what no field holds stays a text', () => {
    for (const text of ['<= 3 m above surface pre-works', 'something else']) expect(limitText(limitOf(text))).toBe(text)
    expect(limitOf({ curve: [['2.5', '12.7']] }).form).toBe('text')
  })
  it('nothing is no limit', () => expect(limitText(limitOf(undefined))).toBe(''))
})

describe('rules from windows to a verdict', () => {
  for (const v of ['last', 'at most 35 per calendar year', 'at most 5 % per rolling 12 months', 'at least 9 of 10', 'mean per calendar month',
    { 'look-up table': [['4', '7', '1'], ['8', '16', '2']], per: 'calendar year' }]) {
    it(JSON.stringify(v), () => expect(outerValue(outerOf(v))).toEqual(v))
  }
  it('each by itself is left out', () => expect(outerValue(outerOf('every'))).toBeUndefined())
})

describe('statistics', () => {
  for (const text of ['energy mean', 'percentile 90', 'energy mean over 11 h', 'lower bound 90', 'max']) {
    it(text, () => {
      const s = statisticOf(text)
      expect(statisticText(s.name, s.number)).toBe(text)
    })
  }
})

it('empty fields are not sent and numbers go as text', () => {
  expect(sendable({ clause: '14', limit: '', with: {}, schedule: [{ days: 'sat', from: '07:00', to: '' }], quota: { days: 5 } })).toEqual({
    clause: '14', schedule: [{ days: 'sat', from: '07:00' }], quota: { days: '5' },
  })
})

it('keys of another kind are dropped', () => {
  expect(fitted({ clause: '1', kind: 'dated', limit: '<= 5' }, ['clause', 'kind', 'deadline'])).toEqual({ clause: '1', kind: 'dated' })
})
