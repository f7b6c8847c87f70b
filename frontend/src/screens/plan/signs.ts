// How each kind of feature is drawn on the plan's paper: form, dash and shape
// tell them apart; colour only helps.

export interface Sign {
  form: 'area' | 'line' | 'point'
  stroke: string
  fill: string
  dash: number[]
  /** Outline of a point sign around 0,0 within ±7. */
  path: string
  /** Corners for the map: 0 is a circle. */
  points: number
  angle: number
}

const ink = '#16211c'
const earth = '#7a4a12'
const water = '#0b4f8a'
const green = '#2c6b2f'
const works = '#6b2d6b'
const stop = '#a3001b'

const circle = 'M-5 0a5 5 0 1 0 10 0a5 5 0 1 0-10 0z'
const square = 'M-5-5h10v10h-10z'
const triangle = 'M0-6 6 5H-6z'
const diamond = 'M0-6.5 6.5 0 0 6.5-6.5 0z'
const drop = 'M0 6-6-5H6z'

const area = (stroke: string, fill: string, dash: number[] = []): Sign => ({ form: 'area', stroke, fill, dash, path: square, points: 4, angle: 0 })
const line = (stroke: string, dash: number[] = []): Sign => ({ form: 'line', stroke, fill: 'none', dash, path: circle, points: 0, angle: 0 })
const point = (stroke: string, fill: string, path: string, points: number, angle = 0): Sign => ({ form: 'point', stroke, fill, dash: [], path, points, angle })

const areas: Record<string, Sign> = {
  'strip area': area(earth, 'rgba(122,74,18,0.14)', [8, 4]),
  stockpile: area(earth, 'rgba(122,74,18,0.38)'),
  hardstanding: area('#555f5a', 'rgba(85,95,90,0.28)'),
  lagoon: area(water, 'rgba(11,79,138,0.25)'),
  tank: area(water, 'rgba(11,79,138,0.45)'),
  bund: area('#555f5a', 'rgba(85,95,90,0.1)', [2, 3]),
  'tree protection area': area(green, 'rgba(44,107,47,0.2)', [2, 3]),
  'exclusion area': area(stop, 'rgba(163,0,27,0.1)', [10, 3, 2, 3]),
  'works area': area(ink, 'rgba(0,0,0,0.02)', [14, 5]),
  shaft: area(works, 'rgba(107,45,107,0.35)'),
}
const lines: Record<string, Sign> = {
  'haul route': line('#8a4b00', [12, 6]),
  watercourse: line(water),
  ditch: line(water, [6, 3]),
  'field drain': line(water, [2, 4]),
  culvert: line(water, [12, 3, 2, 3]),
  fence: line(ink, [1, 4]),
  'silt fence': line(earth, [5, 2, 1, 2]),
  service: line(stop, [9, 3, 1, 3, 1, 3]),
}
const pointSigns: Record<string, Sign> = {
  gate: point(ink, '#ffffff', square, 4, Math.PI / 4),
  receptor: point(ink, '#ffd166', square, 4, Math.PI / 4),
  'monitoring point': point(ink, '#1b7f79', triangle, 3),
  'discharge point': point(ink, water, drop, 3, Math.PI),
  'sampling point': point(water, '#ffffff', drop, 3, Math.PI),
  'spring or private supply': point(water, '#cfe4f5', circle, 0),
  trough: point(water, '#cfe4f5', square, 4, Math.PI / 4),
  shaft: point(ink, works, circle, 0),
  'generator position': point(ink, '#b35806', diamond, 4),
  'control point': point(ink, '#ffffff', triangle, 3),
  'photo point': point(ink, '#8f3f97', diamond, 4),
  'soil pit': point(earth, '#e9d5bd', square, 4, Math.PI / 4),
}

/** The sign of a feature by its kind and the form it is drawn in. */
export function signFor(kind: string, geometry: string): Sign {
  if (geometry.endsWith('Polygon')) return areas[kind] ?? area(ink, 'rgba(22,33,28,0.08)')
  if (geometry.endsWith('LineString')) return lines[kind] ?? line(ink)
  return pointSigns[kind] ?? point(ink, '#ffffff', circle, 0)
}
