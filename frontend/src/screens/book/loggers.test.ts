import { describe, expect, it } from 'vitest'
import { sample, sampleTime } from './loggers'

const value = (column: string) => ({ column, channel: 'A', quantity: 'noise.laeq', unit: 'dB', place: 'P' })

describe('what a logger sends', () => {
  it('has a time in the form of the mapping', () => {
    expect(sampleTime('iso')).toBe('2026-04-06T10:00:00Z')
    expect(sampleTime('DD/MM/YYYY hh:mm:ss')).toBe('06/04/2026 10:00:00')
    expect(sampleTime('M/D/YYYY h:mm:ss AP')).toBe('4/6/2026 10:00:00 AM')
  })
  it('parts date and time over their two columns', () => {
    const m = { time_columns: ['Date', 'Time'], layout: 'DD/MM/YYYY hh:mm', values: [value('LAeq, dB')] }
    expect(sample(['Date', 'Time', 'LAeq, dB'], m, 'csv')).toBe('Date,Time,"LAeq, dB"\n06/04/2026,10:00,54.3')
    expect(sample(['Date', 'Time', 'LAeq, dB'], m, 'lines')).toBe('{"Date":"06/04/2026","Time":"10:00","LAeq, dB":54.3}')
  })
})
