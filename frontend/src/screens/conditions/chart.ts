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

function limitLine(u: uPlot, limit: number, text: string, ink: string): void {
  const { ctx, bbox } = u
  const y = u.valToPos(limit, 'y', true)
  ctx.save()
  ctx.strokeStyle = ink
  ctx.fillStyle = ink
  ctx.lineWidth = 2
  ctx.setLineDash([8, 4])
  ctx.beginPath()
  ctx.moveTo(bbox.left, y)
  ctx.lineTo(bbox.left + bbox.width, y)
  ctx.stroke()
  ctx.textAlign = 'right'
  ctx.textBaseline = 'bottom'
  ctx.fillText(text, bbox.left + bbox.width - 4, y - 3)
  ctx.restore()
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
export async function draw(node: HTMLElement, r: Readings, j: Judgement, over: Judgement[], zone: string): Promise<uPlot> {
  const [{ default: Plot }] = await Promise.all([import('uplot'), import('uplot/dist/uPlot.min.css')])
  const ink = colour('--text')
  const grid = { stroke: colour('--line-soft') }
  const series = colour('--series-1')
  const limit = j.limit
  const options: uPlot.Options = {
    width: Math.max(280, node.clientWidth),
    height: 320,
    tzDate: (ts) => Plot.tzDate(new Date(ts * 1000), zone),
    scales: { y: { range: (_u, min, max) => [Math.min(min, limit ?? min) - 2, Math.max(max, limit ?? max) + 2] } },
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
          if (limit !== null) limitLine(u, limit, `limit ${j.limit_text}`, colour('--limit'))
          triangles(u, over, colour('--limit'))
        },
      ],
    },
  }
  const plot = new Plot(options, columns(r), node)
  new ResizeObserver(() => plot.setSize({ width: Math.max(280, node.clientWidth), height: 320 })).observe(node)
  return plot
}
