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

const steps = [1, 2, 5, 10]
const near1 = 1e-9

/** The nearest 1, 2 or 5 of a decade that is not above (way -1) or not below (way 1) a value. */
function step(value: number, way: -1 | 1): number {
  const decade = 10 ** Math.floor(Math.log10(value) + near1)
  const m = value / decade
  const found = way < 0 ? steps.findLast((t) => t <= m * (1 + near1)) : steps.find((t) => t >= m * (1 - near1))
  return Number(((found ?? 1) * decade).toPrecision(3))
}

/** From one 1, 2 or 5 of a decade to another, so that all values lie between. */
export function bounds(values: number[]): [number, number] {
  const above = values.filter((v) => v > 0)
  if (!above.length) return [1, 10]
  const low = step(Math.min(...above), -1)
  const high = step(Math.max(...above), 1)
  return [low, high > low ? high : step(low * 1.5, 1)]
}

/** The box of the shots that were measured and of both lines, in powers of ten. */
export function box(log: ShotLog): Box {
  const measured = log.shots.filter((s) => s.ppv !== null)
  const [x0, x1] = bounds(measured.map((s) => s.scaled)).map(Math.log10) as [number, number]
  const [y0, y1] = bounds([...measured.map((s) => s.ppv ?? 0), ...(log.line ? [log.line.k_upper * log.line.least ** log.line.b, log.line.k_half * log.line.most ** log.line.b] : [])]).map(Math.log10) as [number, number]
  return { x0, x1, y0, y1 }
}

export const across = (b: Box, v: number, width: number) => ((Math.log10(v) - b.x0) / (b.x1 - b.x0)) * width
export const down = (b: Box, v: number, height: number) => height * (1 - (Math.log10(v) - b.y0) / (b.y1 - b.y0))

/** The ends of a line PPV = K·SD^b over the scaled distances that were measured. */
export function ends(b: Box, k: number, power: number, least: number, most: number, width: number, height: number): [number, number, number, number] {
  const at = (sd: number): [number, number] => [across(b, sd, width), down(b, k * sd ** power, height)]
  return [...at(least), ...at(most)]
}

/** 1, 2 and 5 of each decade between two powers of ten, with both. */
export function ticks(low: number, high: number): number[] {
  const out: number[] = []
  for (let d = Math.floor(low); d <= high; d++)
    for (const m of [1, 2, 5]) {
      const at = d + Math.log10(m)
      if (at >= low - near1 && at <= high + near1) out.push(Number((m * 10 ** d).toPrecision(3)))
    }
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
