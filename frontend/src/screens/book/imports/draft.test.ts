import { describe, expect, it } from 'vitest'
import type { LoggerFile } from '../../../api/types'
import { likeBefore, mappingOf, proposed } from './draft'

const look = {
  encoding: 'utf-8', mark: false, lines: [], delimiter: ',', header_row: 3, header: ['Date', 'Time', 'LAeq', 'Flag'], rows: [], times: ['Date', 'Time'], numbers: ['LAeq'],
  known: '', past: [], quantities: [],
} as LoggerFile

describe('how a file is read', () => {
  it('leaves what needs a person blank', () => {
    const r = proposed(look)
    expect([r.zone, r.stamp, r.layout]).toEqual(['', '', ''])
    expect(r.columns.map((c) => [c.column, c.use])).toEqual([['LAeq', true], ['Flag', false]])
  })
  it('sends only what was said', () => {
    expect(mappingOf(proposed(look), look)).toEqual({ delimiter: ',', time_columns: ['Date', 'Time'], values: [{ column: 'LAeq', channel: '', quantity: '', unit: '', place: '' }] })
  })
  it('sends a header line that was changed by hand', () => expect(mappingOf({ ...proposed(look), header: '4' }, look).header_row).toBe(4))
  it('is read like an earlier file', () => {
    const past = { time_columns: ['Date', 'Time'], zone: '+00:00', stamp: 'end', layout: 'M/D/YYYY h:mm', missing: ['n/a', '-'], values: [{ column: 'LAeq', channel: 'N1', quantity: 'noise.laeq', unit: 'dB', qualifier: 'Flag', place: 'NM1' }] }
    const sent = mappingOf(likeBefore(look, past), look)
    expect(sent).toMatchObject({ zone: '+00:00', stamp: 'end', layout: 'M/D/YYYY h:mm', missing: ['n/a', '-'] })
    expect(sent.values).toEqual([{ column: 'LAeq', channel: 'N1', quantity: 'noise.laeq', unit: 'dB', qualifier: 'Flag', place: 'NM1' }])
  })
})
