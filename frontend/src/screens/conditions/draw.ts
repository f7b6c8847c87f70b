// Draws readings with uPlot, loaded only when a chart is opened.
import type uPlot from 'uplot'
import type { Judgement, Readings } from '../../api/types'
import { alone, columns, linePart, reach, tickWords, type Line } from './chart'

/** A colour of tokens.css, a share of it left. */
function colour(name: string, share = 100): string {
  const probe = document.createElement('span')
  probe.style.color = share === 100 ? `var(${name})` : `color-mix(in srgb, var(${name}) ${share}%, transparent)`
  document.body.append(probe)
  const value = getComputedStyle(probe).color
  probe.remove()
  return value
}

/** The colours as they are now; for paper those of the light theme, whatever the screen has. */
function palette(paper: boolean) {
  const root = document.documentElement
  const before = root.dataset.theme
  if (paper) root.dataset.theme = 'light'
  const out = {
    ink: colour('--text'),
    grid: colour('--line-soft'),
    series: colour('--series-1'),
    band: colour('--series-1', 35),
    hatch: colour('--text-2'),
    limit: colour('--limit'),
    ground: colour('--surface'),
  }
  if (paper && before === undefined) delete root.dataset.theme
  else if (paper) root.dataset.theme = before
  return out
}

/** Hatches the spans without a value that counts. */
function hatch(u: uPlot, spans: { from: string; to: string }[], ink: string): void {
  const { ctx, bbox } = u
  ctx.save()
  ctx.beginPath()
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
  ctx.clip()
  ctx.strokeStyle = ink
  ctx.globalAlpha = 0.8
  for (const s of spans) {
    const x0 = u.valToPos(Date.parse(s.from) / 1000, 'x', true)
    const x1 = Math.max(x0 + 3, u.valToPos(Date.parse(s.to) / 1000, 'x', true))
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

/** A limit, dashed, or an action level, dotted, with its words. */
function limitLine(u: uPlot, line: Line, part: [number, number], ink: string, ground: string): void {
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
  const words = `${line.action ? 'action level' : 'limit'} ${line.text}`
  ctx.setLineDash([])
  ctx.strokeStyle = ground
  ctx.lineWidth = 5
  ctx.lineJoin = 'round'
  ctx.strokeText(words, x1 - 4, y - 3)
  ctx.fillText(words, x1 - 4, y - 3)
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

/** The windows not complied, at their value, or at the top where it is in another unit. */
function triangles(u: uPlot, over: Judgement[], unit: string, ink: string, ground: string): void {
  const { ctx, bbox } = u
  ctx.save()
  ctx.fillStyle = ground
  ctx.strokeStyle = ink
  ctx.lineWidth = 2
  for (const w of over) {
    const x = u.valToPos((Date.parse(w.window.from) + Date.parse(w.window.to)) / 2000, 'x', true)
    const y = w.value === null || w.unit !== unit ? bbox.top + 8 : u.valToPos(w.value, 'y', true)
    if (x < bbox.left || x > bbox.left + bbox.width) continue
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

/** A chart that stands on the page. */
export interface Drawing {
  /** Puts the cross at a time, ms, and a value; without one at half the height. */
  cross: (t: number, value: number | null) => void
  close: () => void
}

const height = 320
const onPaper = 660 // px: what an upright page holds

/**
 * Draws the chart into the node: readings, limits, what was taken out, and the
 * windows the judge found not complied. pointed is told the time, ms, that a
 * pointer is over.
 */
export async function draw(node: HTMLElement, r: Readings, lines: Line[], over: Judgement[], zone: string, pointed: (t: number) => void): Promise<Drawing> {
  const [{ default: Plot }] = await Promise.all([import('uplot'), import('uplot/dist/uPlot.min.css')])
  let use = palette(false)
  const parts = lines.map((line) => ({ line, part: linePart(line, r.from, r.to) })).filter((l): l is { line: Line; part: [number, number] } => l.part !== null)
  const drawn = columns(r)
  const lonely = r.columns.length < 60 ? null : alone(drawn[3])
  const shown = [
    ...r.columns.flatMap((c) => [c.min, c.max]), ...parts.map((l) => l.line.value), ...r.rejected.flatMap((p) => [p.min, p.max]),
    ...over.flatMap((w) => (w.value !== null && w.unit === r.unit ? [w.value] : [])),
  ]
  const least = shown.reduce((a, b) => Math.min(a, b), Infinity)
  const most = shown.reduce((a, b) => Math.max(a, b), -Infinity)
  const ends = shown.length ? reach([least, most]) : reach([0, 1])
  const edge = { stroke: () => use.series, width: 0.5, points: { show: false } }
  const axis = { stroke: () => use.ink, grid: { stroke: () => use.grid, width: 1 }, ticks: { stroke: () => use.grid, width: 1 } }
  const options: uPlot.Options = {
    width: Math.max(280, node.clientWidth),
    height,
    tzDate: (ts) => Plot.tzDate(new Date(ts * 1000), zone),
    scales: { y: { range: () => ends } },
    legend: { show: false },
    cursor: { points: { show: false }, focus: { prox: -1 } },
    axes: [{ ...axis, size: 56, values: (_u, marks) => tickWords(marks, zone) }, { ...axis, label: r.unit }],
    series: [
      {},
      edge,
      edge,
      { stroke: () => use.series, width: 1, points: { show: true, size: 4, stroke: () => use.series, fill: () => use.series, filter: () => lonely } },
    ],
    bands: [{ series: [2, 1], fill: () => use.band }],
    hooks: {
      drawClear: [(u) => hatch(u, [...r.missing, ...r.excluded], use.hatch)],
      draw: [
        (u) => {
          for (const { line, part } of parts) limitLine(u, line, part, use.limit, use.ground)
          hollow(u, r.rejected, use.ink)
          triangles(u, over, r.unit, use.limit, use.ground)
        },
      ],
      setCursor: [(u) => u.cursor.event && (u.cursor.left ?? -1) >= 0 && pointed(u.posToVal(u.cursor.left!, 'x') * 1000)],
    },
  }
  const plot = new Plot(options, drawn, node)
  const fit = () => plot.setSize({ width: Math.max(280, node.clientWidth), height })
  const resized = new ResizeObserver(fit)
  resized.observe(node)
  const away = new AbortController()
  const paper = (on: boolean) => {
    use = palette(on)
    if (on) plot.setSize({ width: onPaper, height })
    else fit()
    plot.redraw(false)
  }
  addEventListener('beforeprint', () => paper(true), { signal: away.signal })
  addEventListener('afterprint', () => paper(false), { signal: away.signal })
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => paper(false), { signal: away.signal })
  let chosen = document.documentElement.dataset.theme
  const theme = new MutationObserver(() => {
    if (chosen === document.documentElement.dataset.theme) return // a palette for paper was looked up
    chosen = document.documentElement.dataset.theme
    paper(false)
  })
  theme.observe(document.documentElement, { attributeFilter: ['data-theme'] })
  return {
    cross: (t, value) => plot.setCursor({ left: plot.valToPos(t / 1000, 'x'), top: value === null ? plot.over.clientHeight / 2 : plot.valToPos(value, 'y') }, false),
    close: () => {
      away.abort()
      resized.disconnect()
      theme.disconnect()
      plot.destroy()
    },
  }
}
