// The map, in the site's own plane grid; loaded only when the plan is opened.
import type Feature from 'ol/Feature'
import type { Plan } from '../../api/types'
import { signFor } from './signs'


/** What the screen may ask of a map once it is shown. */
export interface Shown {
  centre(code: string): void
  zoom(step: number): void
  pan(east: number, north: number): void
  whole(): void
  close(): void
}

/** Shows the plan in a node; tells which feature is chosen and where the pointer is. */
export async function show(
  node: HTMLElement,
  answer: Plan,
  choose: (code: string) => void,
  point: (e: number, n: number) => void,
): Promise<Shown> {
  const ol = await import('./ol')
  const grid = new ol.Projection({ code: 'site-grid', units: 'm', extent: answer.extent, metersPerUnit: 1 })
  const source = new ol.VectorSource({ features: new ol.GeoJSON({ dataProjection: grid, featureProjection: grid }).readFeatures(answer.features) })
  let chosen = ''

  const styleOf = (feature: Feature) => {
    const sign = signFor(String(feature.get('kind') ?? ''), feature.getGeometry()?.getType() ?? '')
    const on = feature.get('code') === chosen
    if (sign.form === 'point') {
      const look = { fill: new ol.Fill({ color: sign.fill }), stroke: new ol.Stroke({ color: sign.stroke, width: on ? 3 : 1.5 }) }
      const image = sign.points ? new ol.RegularShape({ points: sign.points, radius: 7, angle: sign.angle, ...look }) : new ol.Circle({ radius: 6, ...look })
      return new ol.Style({ image, zIndex: 3 })
    }
    const casing = new ol.Style({ stroke: new ol.Stroke({ color: '#ffffff', width: on ? 8 : 5 }) })
    const stroke = new ol.Stroke({ color: sign.stroke, width: on ? 4 : 2.5, lineDash: sign.dash })
    if (sign.form === 'line') return [casing, new ol.Style({ stroke, zIndex: 2 })]
    return [casing, new ol.Style({ stroke, fill: new ol.Fill({ color: sign.fill }), zIndex: 1 })]
  }

  // Codes lie in a layer of their own, in which one that would cover another
  // waits until there is room; signs are always all drawn.
  const codeOf = (feature: Feature) => {
    const sign = signFor(String(feature.get('kind') ?? ''), feature.getGeometry()?.getType() ?? '')
    const on = feature.get('code') === chosen
    const text = new ol.Text({
      text: String(feature.get('code') ?? ''),
      font: `${on ? 'bold ' : ''}12px system-ui, "DejaVu Sans", sans-serif`,
      fill: new ol.Fill({ color: '#16211c' }),
      stroke: new ol.Stroke({ color: '#fbfcfb', width: 3 }),
      offsetY: sign.form === 'point' ? -14 : 0,
      overflow: true,
    })
    if (sign.form !== 'area') return new ol.Style({ text, zIndex: on ? 9 : 3 })
    // An area's code stands in its upper left corner, so that areas within
    // areas keep theirs apart.
    const [minE = 0, , , maxN = 0] = feature.getGeometry()?.getExtent() ?? []
    text.setTextAlign('left')
    text.setOffsetX(5)
    text.setOffsetY(10)
    return new ol.Style({ geometry: new ol.Point([minE, maxN]), text, zIndex: on ? 9 : 2 })
  }

  const layer = new ol.VectorLayer({ source, style: (f) => styleOf(f as Feature) })
  const codes = new ol.VectorLayer({ source, style: (f) => codeOf(f as Feature), declutter: true })
  const view = new ol.View({ projection: grid, center: ol.centreOf(answer.extent), resolution: 1, minResolution: 0.02, constrainResolution: false })
  const map = new ol.Map({ target: node, layers: [layer, codes], view, controls: [new ol.ScaleLine({ units: 'metric' })] })
  const whole = () => view.fit(answer.extent, { padding: [30, 30, 30, 30] })
  whole()
  map.on('pointermove', (e) => point(e.coordinate[0] ?? 0, e.coordinate[1] ?? 0))
  const mark = (code: string) => {
    chosen = code
    layer.changed()
    codes.changed()
    choose(code)
  }
  map.on('click', (e) => map.forEachFeatureAtPixel(e.pixel, (f) => (mark(String(f.get('code'))), true), { hitTolerance: 4, layerFilter: (l) => l === layer }))

  return {
    centre(code) {
      const extent = source.getFeatures().find((f) => f.get('code') === code)?.getGeometry()?.getExtent()
      if (extent) view.setCenter(ol.centreOf(extent))
      mark(code)
    },
    zoom: (step) => view.setResolution((view.getResolution() ?? 1) / 1.5 ** step),
    pan(east, north) {
      const [e = 0, n = 0] = view.getCenter() ?? []
      const step = (view.getResolution() ?? 1) * 120
      view.setCenter([e + east * step, n + north * step])
    },
    whole,
    close: () => map.setTarget(undefined),
  }
}
