import { describe, expect, it } from 'vitest'
import { seal, type Typed } from './draft'
import type { Kind } from '../../api/types'

const field = (name: string, type: string, required = false) => ({ name, title: name, help: '', type, unit: '', required, personal: false, min: '', max: '' })
const kind: Kind = {
  name: 'hour_meter.1', register: 'hour_meters', subject: 'plant', title: 'Hour meter reading', help: '', place: 'optional', length: 'moment', plain: true,
  fields: [field('machine', 'text', true), field('reading', 'decimal', true), field('note', 'prose'), field('replaced', 'flag'), field('count', 'integer'), { ...field('items', 'list'), fields: [field('item', 'text'), field('answer', 'choice')] }],
}
const typed: Typed = {
  id: '', at: '2026-06-01T09:30', until: '', place: 'G1; G2', reason: '', made: '2026-06-01T08:31:00.000Z', files: [],
  body: { machine: ' G1 ', reading: '1204.50', note: '', replaced: false, count: '3', items: [{ item: 'a', answer: 'satisfactory' }, {}] },
}

describe('what is sent', () => {
  const sent = seal(kind, typed, null, 4)
  it('keeps a decimal exactly as typed', () => expect((sent.body as Record<string, unknown>).reading).toBe('1204.50'))
  it('leaves out what is empty', () => {
    expect(Object.keys(sent.body as object)).not.toContain('note')
    expect(Object.keys(sent.body as object)).not.toContain('replaced')
    expect((sent.body as { items: unknown[] }).items).toHaveLength(1)
  })
  it('sends whole numbers as numbers', () => expect((sent.body as Record<string, unknown>).count).toBe(3))
  it('names every place', () => expect(sent.places).toEqual(['G1', 'G2']))
  it('says which book the device knows', () => expect(sent.epoch).toBe(4))
  it('is a correction when it follows an entry', () => expect(seal(kind, typed, { id: 'ab' }, 4).supersedes).toBe('ab'))
})

describe('a photograph', () => {
  const withPhoto: Kind = { ...kind, fields: [...kind.fields, field('photo', 'file')] }
  const files = [{ sha256: 'a'.repeat(64), name: 'meter.jpg', type: 'image/jpeg' }]
  it('is the first file added', () => expect((seal(withPhoto, { ...typed, files }, null, 4).body as Record<string, unknown>).photo).toBe('a'.repeat(64)))
  it('is absent when none was added', () => expect(Object.keys(seal(withPhoto, typed, null, 4).body as object)).not.toContain('photo'))
})
