// Difference classes: one list for the picture, its legend and its print.
// Palette PuOr by Cynthia Brewer, ColorBrewer 2.0 (see the About page):
// orange lower than before, purple higher.

export interface Class {
  from: number
  to: number
  label: string
  fill: string
}

const lower = ['#7f3b08', '#b35806', '#e08214', '#fdb863', '#fee0b6']
const higher = ['#d8daeb', '#b2abd2', '#8073ac', '#542788', '#2d004b']
const level = '#f7f7f7'

/** Eleven classes symmetric about zero from five edges in metres, ascending. */
export function classes(edges: number[]): Class[] {
  const text = (v: number) => (v > 0 ? '+' : '\u2212') + Math.abs(v).toFixed(2)
  const [a = 0.05, b = 0.1, c = 0.25, d = 0.5, e = 1] = edges
  const steps = [a, b, c, d, e]
  const low: Class[] = []
  const high: Class[] = []
  for (let i = 0; i < 5; i++) {
    const from = steps[i]!
    const to = steps[i + 1] ?? Infinity
    const fillLow = lower[4 - i]!
    const fillHigh = higher[i]!
    low.unshift({ from: -to, to: -from, fill: fillLow, label: to === Infinity ? `below ${text(-from)}` : `${text(-to)} to ${text(-from)}` })
    high.push({ from, to, fill: fillHigh, label: to === Infinity ? `above ${text(from)}` : `${text(from)} to ${text(to)}` })
  }
  return [...low, { from: -a, to: a, fill: level, label: `within ±${a.toFixed(2)}` }, ...high]
}

/** The class a difference falls in. */
export function classOf(list: Class[], dz: number): Class {
  return list.find((c) => dz >= c.from && dz < c.to) ?? list.at(-1)!
}
