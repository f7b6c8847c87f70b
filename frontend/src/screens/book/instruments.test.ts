import { expect, test } from 'vitest'
import type { InstrumentRecord } from '../../api/types'
import { bar, effect, line, outcome, said, spanWords } from './instruments'

const record = {
  ref: 'SLM1', title: '', serial: '', class: '',
  stands: [{ from: '2026-03-01T00:00:00Z', to: '2026-03-05T00:00:00Z', ref: 'D1', places: ['A'], position: '', height_m: '', entry: 'e1' }],
  checks: [{ at: '2026-03-03T00:00:00Z', where: 'field', when: 'during', error: -0.7, drift: -0.7, unit: 'dB', result: '', state: 'flagged', entry: 'e2' }],
  certificates: [],
  doubts: [{ from: null, to: '2026-03-02T00:00:00Z', effect: 'left out', low: 0, high: 0, words: '', remedy: '', entries: [] }],
} as unknown as InstrumentRecord

test('the line runs from the first thing on record to now', () => {
  const l = line(record, '2026-03-11T00:00:00Z')
  expect([new Date(l.from).toISOString(), new Date(l.to).toISOString()]).toEqual(['2026-03-01T00:00:00.000Z', '2026-03-11T00:00:00.000Z'])
  expect(bar(l, '2026-03-01T00:00:00Z', '2026-03-05T00:00:00Z')).toEqual({ start: 0, size: 40 })
  expect(bar(l, null, '2026-03-02T00:00:00Z')).toEqual({ start: 0, size: 10 })
  expect(bar(l, '2026-03-06T00:00:00Z', null)).toEqual({ start: 50, size: 50 })
  expect(bar(l, '2026-04-01T00:00:00Z', null)).toBeNull()
})

test('an instrument with nothing but its description has a line of a day', () => {
  const l = line({ ...record, stands: [], checks: [] }, '2026-03-11T00:00:00Z')
  expect(l.to - l.from).toBe(86_400_000)
})

test('what becomes of readings, and how a check came out', () => {
  const d = record.doubts[0]!
  expect(effect(d)).toBe('do not count')
  expect(effect({ ...d, effect: 'noted' })).toBe('count; it is noted')
  expect(effect({ ...d, effect: 'uncertain', high: 0.7 })).toBe('may lie from 0 to +0.7 dB off')
  expect(['good', 'flagged', 'out'].map((state) => outcome({ ...record.checks[0]!, state: state as 'good' }))).toEqual(['in order', 'drifted noticeably', 'out of check'])
  expect(spanWords(d)).toMatch(/^until /)
  expect(spanWords({ ...d, to: null })).toBe('at all times')
  expect(said(record)).toBe('SLM1: stood at A; 1 check; 1 span left out.')
})
