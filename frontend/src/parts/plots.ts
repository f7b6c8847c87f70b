// Geometry of the small plots: a wind rose and a distribution of levels.
import type { Distribution, WindRose } from '../api/types'

/** A ring sector about the middle, angles clockwise from north in degrees. */
export function wedge(inner: number, outer: number, from: number, to: number): string {
  const at = (r: number, angle: number) => {
    const rad = (angle * Math.PI) / 180
    return `${(r * Math.sin(rad)).toFixed(3)} ${(-r * Math.cos(rad)).toFixed(3)}`
  }
  const large = to - from > 180 ? 1 : 0
  return `M ${at(inner, from)} L ${at(outer, from)} A ${outer} ${outer} 0 ${large} 1 ${at(outer, to)} L ${at(inner, to)} A ${inner} ${inner} 0 ${large} 0 ${at(inner, from)} Z`
}

export interface Petal {
  sector: number
  kind: number
  path: string
}

/** The share of the time that the outer ring of a rose stands for: a round figure not below the longest petal. */
export function rim(r: WindRose): number {
  const longest = Math.max(...r.share.map((s) => s.reduce((a, b) => a + b, 0)))
  return [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75].find((v) => v >= longest) ?? 1
}

/** Petals of a rose of a radius; the radius of each end goes with its share. */
export function petals(r: WindRose, radius: number): Petal[] {
  const width = 360 / r.share.length
  const scale = radius / rim(r)
  const out: Petal[] = []
  r.share.forEach((classes, sector) => {
    let from = 0
    classes.forEach((share, kind) => {
      if (share > 0) out.push({ sector, kind, path: wedge(from * scale, (from + share) * scale, sector * width - width * 0.4, sector * width + width * 0.4) })
      from += share
    })
  })
  return out
}

const names16 = ['N', 'NNE', 'NE', 'ENE', 'E', 'ESE', 'SE', 'SSE', 'S', 'SSW', 'SW', 'WSW', 'W', 'WNW', 'NW', 'NNW']

/** The name of a sector of a rose of n. */
export function sectorName(i: number, n: number): string {
  return names16.length % n === 0 ? (names16[(i * names16.length) / n] ?? '') : `${Math.round((i * 360) / n)}°`
}

/** The class of speeds in words. */
export function speedWords(bounds: number[], k: number): string {
  const to = bounds[k + 1]
  return to === undefined ? `${bounds[k]} m/s and more` : `${bounds[k]} to below ${to} m/s`
}

export interface Bar {
  x: number
  y: number
  width: number
  height: number
  from: number
  n: number
}

/** Bars of a distribution in a box, the most frequent class as high as the box. */
export function bars(d: Distribution, width: number, height: number): Bar[] {
  const most = Math.max(1, ...d.classes.map((c) => c.n))
  const step = width / Math.max(1, d.classes.length)
  return d.classes.map((c, i) => ({ x: i * step, y: height * (1 - c.n / most), width: step, height: (height * c.n) / most, from: c.from, n: c.n }))
}

/** Where a value stands across the box. */
export function across(d: Distribution, value: number, width: number): number {
  const first = d.classes[0]?.from ?? 0
  return ((value - first) / (d.width * Math.max(1, d.classes.length))) * width
}

/** What a value exceeded by so many per cent of the readings is called: of levels L90, else the share. */
export function rankName(d: Distribution, exceeded: number): string {
  return d.unit.startsWith('dB') ? `L${exceeded}` : `${exceeded} %`
}
