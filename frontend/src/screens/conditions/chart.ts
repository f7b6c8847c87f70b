// Draws readings with uPlot, loaded only when a chart is opened.
import type uPlot from 'uplot'
import type { Judgement, Readings } from '../../api/types'

function colour(name: string): string {
  const probe = document.createElement('span')
  probe.style.color = `var(${name})`
  document.body.append(probe)
  const value = getComputedStyle(probe).color
  probe.remove()
  return value
}

/** Aligned columns with a null wherever two columns lie apart: lines break at gaps. */
export function columns(r: Readings): [number[], (number | null)[], (number | null)[], (number | null)[]] {
  const t: number[] = []
  const low: (number | null)[] = []
  const high: (number | null)[] = []
  const last: (number | null)[] = []
  for (const c of r.columns) {
    t.push(c.t / 1000)
    low.push(c.min)
    high.push(c.max)
    last.push(c.last)
  }
  for (const gap of r.missing) {
    t.push(Date.parse(gap.from) / 1000 + 0.001)
    low.push(null)
    high.push(null)
    last.push(null)
  }
  const order = t.map((_, i) => i).sort((a, b) => t[a]! - t[b]!)
  const pick = <T,>(l: T[]) => order.map((i) => l[i]!)
  return [pick(t), pick(low), pick(high), pick(last)]
}

function hatch(u: uPlot, spans: { from: string; to: string }[], ink: string): void {
  const { ctx, bbox } = u
  ctx.save()
  ctx.beginPath()
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
  ctx.clip()
  ctx.strokeStyle = ink
  ctx.globalAlpha = 0.5
  for (const s of spans) {
    const x0 = u.valToPos(Date.parse(s.from) / 1000, 'x', true)
    const x1 = Math.max(x0 + 2, u.valToPos(Date.parse(s.to) / 1000, 'x', true))
    ctx.save()
    ctx.beginPath()
    ctx.rect(x0, bbox.top, x1 - x0, bbox.height)
    ctx.clip()
    ctx.beginPath()
    for (let x = x0 - bbox.height; x < x1; x += 10) {
      ctx.moveTo(x, bbox.top + bbox.height)
      ctx.lineTo(x + bbox.height, bbox.top)
    }
    ctx.stroke()
    ctx.restore()
  }
  ctx.restore()
}

/** A limit or action level over the part of the chart in which its version is in force. */
export interface Line {
  text: string
  action: boolean
  from: string
  to?: string | null
  value: number
}

/** The part of a line that falls into the span, in seconds; null where none does. */
export function linePart(line: Line, from: string, to: string): [number, number] | null {
  const a = Math.max(Date.parse(line.from), Date.parse(from)) / 1000
  const b = Math.min(line.to ? Date.parse(line.to) : Infinity, Date.parse(to)) / 1000
  return a < b ? [a, b] : null
}

function limitLine(u: uPlot, line: Line, part: [number, number], ink: string): void {
  const { ctx, bbox } = u
  const y = u.valToPos(line.value, 'y', true)
  const x0 = Math.max(bbox.left, u.valToPos(part[0], 'x', true))
  const x1 = Math.min(bbox.left + bbox.width, u.valToPos(part[1], 'x', true))
  if (x1 <= x0) return
  ctx.save()
  ctx.strokeStyle = ink
  ctx.fillStyle = ink
  ctx.lineWidth = line.action ? 1 : 2
  ctx.setLineDash(line.action ? [2, 4] : [8, 4])
  ctx.beginPath()
  ctx.moveTo(x0, y)
  ctx.lineTo(x1, y)
  ctx.stroke()
  ctx.textAlign = 'right'
  ctx.textBaseline = 'bottom'
  ctx.fillText(`${line.action ? 'action level' : 'limit'} ${line.text}`, x1 - 4, y - 3)
  ctx.restore()
}

/** What was taken out, with the values it had: hollow rings from least to greatest. */
function hollow(u: uPlot, rejected: Readings['rejected'], ink: string): void {
  const { ctx, bbox } = u
  ctx.save()
  ctx.beginPath()
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
  ctx.clip()
  ctx.strokeStyle = ink
  ctx.lineWidth = 1
  for (const p of rejected) {
    const x = u.valToPos(p.t / 1000, 'x', true)
    for (const v of p.min === p.max ? [p.max] : [p.min, p.max]) {
      ctx.beginPath()
      ctx.arc(x, u.valToPos(v, 'y', true), 3, 0, 2 * Math.PI)
      ctx.stroke()
    }
  }
  ctx.restore()
}

/** Where a key moves the cursor among n columns; null for a key that is none of these. */
export function moved(key: string, at: number, n: number): number | null {
  const to = { ArrowLeft: at - 1, ArrowRight: at + 1, PageUp: at - 20, PageDown: at + 20, Home: 0, End: n - 1 }[key]
  return to === undefined ? null : Math.min(Math.max(to, 0), n - 1)
}

/** The columns as CSV, with what goes with them in lines that begin with #. */
export function csv(r: Readings, lines: Line[], notes: string[], zone: string): string {
  const local = new Intl.DateTimeFormat('sv-SE', { timeZone: zone, dateStyle: 'short', timeStyle: 'medium' })
  const head = [...notes, `channel ${r.channel} in ${r.unit}, ${r.from} to ${r.to}; each row a column of the chart: first, least, greatest, last of its readings`]
  for (const l of lines) head.push(`${l.action ? 'action level' : 'limit'} ${l.text} from ${l.from}${l.to ? ` to ${l.to}` : ''}`)
  for (const s of [...r.missing, ...r.excluded]) head.push(`${s.reason}: ${s.from} to ${s.to}`)
  const rows: [number, string][] = [
    ...r.columns.map((c): [number, string] => [c.t, `${c.first},${c.min},${c.max},${c.last},`]),
    ...r.rejected.map((c): [number, string] => [c.t, `,${c.min},${c.max},,${c.reason}`]),
  ]
  rows.sort((a, b) => a[0] - b[0])
  return [
    ...head.map((n) => '# ' + n.replaceAll('\n', ' ')),
    `time_utc,time_${zone.replaceAll('/', '_')},first,least,greatest,last,left_out`,
    ...rows.map(([t, cells]) => `${new Date(t).toISOString()},${local.format(t)},${cells}`),
  ].join('\r\n') + '\r\n'
}

function triangles(u: uPlot, over: Judgement[], ink: string): void {
  const { ctx } = u
  ctx.save()
  ctx.fillStyle = '#ffffff'
  ctx.strokeStyle = ink
  ctx.lineWidth = 2
  for (const w of over) {
    if (w.value === null) continue
    const x = u.valToPos((Date.parse(w.window.from) + Date.parse(w.window.to)) / 2000, 'x', true)
    const y = u.valToPos(w.value, 'y', true)
    ctx.beginPath()
    ctx.moveTo(x, y - 6)
    ctx.lineTo(x + 6, y + 5)
    ctx.lineTo(x - 6, y + 5)
    ctx.closePath()
    ctx.fill()
    ctx.stroke()
  }
  ctx.restore()
}

/** Draws the chart into the node: readings, limit, and the windows the judge found not complied. */
export async function draw(node: HTMLElement, r: Readings, lines: Line[], over: Judgement[], zone: string): Promise<uPlot> {
  const [{ default: Plot }] = await Promise.all([import('uplot'), import('uplot/dist/uPlot.min.css')])
  const ink = colour('--text')
  const grid = { stroke: colour('--line-soft') }
  const series = colour('--series-1')
  const parts = lines.map((line) => ({ line, part: linePart(line, r.from, r.to) })).filter((l): l is { line: Line; part: [number, number] } => l.part !== null)
  const shown = [...parts.map((l) => l.line.value), ...r.rejected.flatMap((p) => [p.min, p.max])]
  const options: uPlot.Options = {
    width: Math.max(280, node.clientWidth),
    height: 320,
    tzDate: (ts) => Plot.tzDate(new Date(ts * 1000), zone),
    scales: { y: { range: (_u, min, max) => [Math.min(min, ...shown) - 2, Math.max(max, ...shown) + 2] } },
    legend: { show: false },
    axes: [
      { stroke: ink, grid },
      { stroke: ink, grid, label: r.unit },
    ],
    series: [
      {},
      { stroke: series, width: 0.5, points: { show: false } },
      { stroke: series, width: 0.5, points: { show: false } },
      { stroke: series, width: 1, points: { show: r.columns.length < 60 } },
    ],
    bands: [{ series: [2, 1], fill: series + '' }],
    hooks: {
      drawClear: [(u) => hatch(u, [...r.missing, ...r.excluded], colour('--text-2'))],
      draw: [
        (u) => {
          for (const { line, part } of parts) limitLine(u, line, part, colour('--limit'))
          hollow(u, r.rejected, ink)
          triangles(u, over, colour('--limit'))
        },
      ],
    },
  }
  const plot = new Plot(options, columns(r), node)
  new ResizeObserver(() => plot.setSize({ width: Math.max(280, node.clientWidth), height: 320 })).observe(node)
  return plot
}
