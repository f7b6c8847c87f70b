// Geometry of the plot of shots: log axes of scaled distance and velocity.
import type { ShotLog } from '../../api/types'

export interface Box {
  x0: number
  x1: number
  y0: number
  y1: number
}

/** A figure somebody typed that must be above 0, or in words what is wrong with it. */
export function above0(text: string, title: string): { value: number; wrong: string } {
  const typed = text.trim()
  const value = Number(typed.replace(',', '.'))
  if (typed === '') return { value: NaN, wrong: `${title} is missing` }
  if (!Number.isFinite(value) || value <= 0) return { value: NaN, wrong: `${title} is "${typed}", which is no figure above 0` }
  return { value, wrong: '' }
}

/** The decades that hold all values, as powers of ten. */
export function decades(values: number[]): [number, number] {
  const logs = values.filter((v) => v > 0).map(Math.log10)
  if (!logs.length) return [0, 1]
  const low = Math.floor(Math.min(...logs))
  const high = Math.ceil(Math.max(...logs))
  return [low, high === low ? low + 1 : high]
}

/** The box of the shots that were measured, in powers of ten. */
export function box(log: ShotLog): Box {
  const measured = log.shots.filter((s) => s.ppv !== null)
  const [x0, x1] = decades(measured.map((s) => s.scaled))
  const [y0, y1] = decades(measured.map((s) => s.ppv ?? 0))
  return { x0, x1, y0, y1 }
}

export const across = (b: Box, v: number, width: number) => ((Math.log10(v) - b.x0) / (b.x1 - b.x0)) * width
export const down = (b: Box, v: number, height: number) => height * (1 - (Math.log10(v) - b.y0) / (b.y1 - b.y0))

/** The ends of a line PPV = K·SD^b over the scaled distances that were measured. */
export function ends(b: Box, k: number, power: number, least: number, most: number, width: number, height: number): [number, number, number, number] {
  const at = (sd: number): [number, number] => [across(b, sd, width), down(b, k * sd ** power, height)]
  return [...at(least), ...at(most)]
}

/** 1, 2 and 5 of each decade from low to high. */
export function ticks(low: number, high: number): number[] {
  const out: number[] = []
  for (let d = low; d <= high; d++) for (const m of [1, 2, 5]) if (d < high || m === 1) out.push(Number((m * 10 ** d).toPrecision(3)))
  return out
}

/** The log as CSV, the caution first. */
export function csv(log: ShotLog): string {
  const line = log.line
  const head = [log.caution.replaceAll('\n', ' ')]
  if (line) head.push(`lg PPV = ${line.a} + ${line.b}·lg SD, n ${line.n}, r² ${line.r2}, spread ${line.spread}; K half ${line.k_half}, K 95 % ${line.k_upper}`)
  else head.push(log.why)
  const cell = (t: string) => (/[",\r\n]/.test(t) ? '"' + t.replaceAll('"', '""') + '"' : t)
  return [
    ...head.map((h) => '# ' + h),
    'number,time_utc,building,distance_m,charge_kg,scaled_distance_m_per_sqrt_kg,ppv_mm_per_s,channel,state',
    ...log.shots.map((s) => [cell(s.number), s.at, cell(s.building), s.distance, s.charge, s.scaled, s.ppv ?? '', cell(s.channel), s.state].join(',')),
  ].join('\r\n') + '\r\n'
}
