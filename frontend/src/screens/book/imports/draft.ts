// How a logger file is to be read, while it is being said.
import type { FileMapping, LoggerFile } from '../../../api/types'

export interface Column {
  column: string
  use: boolean
  channel: string
  quantity: string
  unit: string
  qualifier: string
  place: string
  instrument: string
  deployment: string
}

export interface Reading {
  encoding: string
  delimiter: string
  decimal: string
  header: string
  footer: string
  date: string
  clock: string // second time column; '' = none
  layout: string
  zone: string
  stamp: string
  interval: string
  missing: string
  columns: Column[]
}

/** What a file proposes: everything that needs a person is left blank. */
export function proposed(look: LoggerFile): Reading {
  return {
    encoding: look.encoding, delimiter: look.delimiter, decimal: '', header: look.header_row ? String(look.header_row) : '', footer: '',
    date: look.times[0] ?? '', clock: look.times[1] ?? '', layout: '', zone: '', stamp: '', interval: '', missing: '',
    columns: look.header.filter((h) => h !== '' && !look.times.includes(h)).map((column) => ({
      column, use: look.numbers.length === 1 && look.numbers[0] === column, channel: '', quantity: '', unit: '', qualifier: '', place: '', instrument: '', deployment: '',
    })),
  }
}

/** What an earlier file was read by, on the columns of this one. */
export function likeBefore(look: LoggerFile, past: FileMapping): Reading {
  const own = proposed(look)
  return {
    ...own,
    encoding: past.encoding || own.encoding, delimiter: past.delimiter || own.delimiter, decimal: past.decimal_mark ?? '', footer: past.footer_rows ? String(past.footer_rows) : '',
    date: past.time_columns[0] ?? '', clock: past.time_columns[1] ?? '', layout: past.layout ?? '', zone: past.zone ?? '', stamp: past.stamp ?? '', interval: past.interval ?? '',
    missing: (past.missing ?? []).join(', '),
    columns: own.columns
      .filter((c) => !past.time_columns.includes(c.column))
      .map((c) => {
        const v = past.values.find((x) => x.column === c.column)
        return v ? { ...c, use: true, channel: v.channel, quantity: v.quantity, unit: v.unit, qualifier: v.qualifier ?? '', place: v.place, instrument: v.instrument ?? '', deployment: v.deployment ?? '' } : { ...c, use: false }
      }),
  }
}

/** The same as it is sent. The header line is sent only when it was changed by hand. */
export function mappingOf(r: Reading, look: LoggerFile): FileMapping {
  const header = Number(r.header)
  return {
    ...(r.encoding && r.encoding !== 'utf-8' ? { encoding: r.encoding as 'latin-1' } : {}),
    ...(r.delimiter ? { delimiter: r.delimiter } : {}),
    ...(r.decimal ? { decimal_mark: r.decimal } : {}),
    ...(header && header !== look.header_row ? { header_row: header } : {}),
    ...(Number(r.footer) ? { footer_rows: Number(r.footer) } : {}),
    time_columns: [r.date, r.clock].filter(Boolean),
    ...(r.layout ? { layout: r.layout } : {}),
    ...(r.stamp ? { stamp: r.stamp } : {}),
    ...(r.interval ? { interval: r.interval } : {}),
    ...(r.zone ? { zone: r.zone } : {}),
    values: r.columns.filter((c) => c.use).map((c) => ({
      column: c.column, channel: c.channel.trim(), quantity: c.quantity, unit: c.unit.trim(), place: c.place,
      ...(c.qualifier ? { qualifier: c.qualifier } : {}), ...(c.instrument ? { instrument: c.instrument } : {}), ...(c.deployment ? { deployment: c.deployment } : {}),
    })),
    ...(r.missing.trim() ? { missing: r.missing.split(',').map((t) => t.trim()).filter(Boolean) } : {}),
  }
}
