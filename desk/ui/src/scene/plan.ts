// The site from above, as a map sheet: hill shading lit by the sun of the hour, contours, features, paths.
// Everything is drawn from the shoot's own files; nothing is fetched from elsewhere.
import * as maplibre from 'maplibre-gl'
import 'maplibre-gl/dist/maplibre-gl.css'
import workerUrl from 'maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url'
import type { FeatureCollection, Feature } from 'geojson'
import type { Path, SiteData } from './data'
import { contours } from './ground'

maplibre.setWorkerUrl(workerUrl)

export type Inks = { paper: string; ink: string; soft: string; red: string; green: string; blue: string; ochre: string; hair: string; rule: string; dark: boolean }

type Sheet = NonNullable<SiteData['site']['map']>
type Source = maplibre.SourceSpecification

/** The crew's own base map as a source and the layers that draw it; an archive of lines and areas names its layers itself. */
export async function ownMap(map: Sheet, version: number): Promise<{ source: Source; layers: string[] }> {
  const bounds = map.bounds as [number, number, number, number]
  if (map.kind === 'picture')
    return { source: { type: 'raster', tiles: [`${location.origin}/api/map/{z}/{x}/{y}?v=${version}`], tileSize: 256, bounds, minzoom: map.min_zoom, maxzoom: map.max_zoom }, layers: [] }
  const { PMTiles, Protocol } = await import('pmtiles')
  const url = `${location.origin}/api/map?v=${version}`
  const archive = new PMTiles(url)
  const protocol = new Protocol()
  protocol.add(archive)
  maplibre.addProtocol('pmtiles', protocol.tile)
  if (!map.vector) return { source: { type: 'raster', url: `pmtiles://${url}`, tileSize: 256, bounds }, layers: [] }
  const told = (await archive.getMetadata()) as { vector_layers?: { id: string }[] } | undefined
  return { source: { type: 'vector', url: `pmtiles://${url}`, bounds }, layers: (told?.vector_layers ?? []).map((l) => l.id) }
}

const collection = (features: Feature[]): FeatureCollection => ({ type: 'FeatureCollection', features })

export class Plan {
  map: maplibre.Map
  ready: Promise<void>
  #labels: { marker: maplibre.Marker; el: HTMLElement; size: [number, number] | null }[] = []
  #craft: maplibre.Marker | null = null

  constructor(
    el: HTMLElement,
    public data: SiteData,
    inks: Inks,
    version: number,
    private choose: (slate: string) => void,
    label: string,
    private own: { source: Source; layers: string[] } | null,
  ) {
    const { site, ground } = data
    const lattice = ground.info.lattice
    const corner = lattice[0]![0] as [number, number]
    const far = lattice[lattice.length - 1]![lattice.length - 1] as [number, number]
    this.map = new maplibre.Map({
      container: el,
      style: {
        version: 8,
        sources: {
          ...(own ? { own: own.source } : {}),
          heights: { type: 'raster-dem', tiles: [`${location.origin}/api/tiles/{z}/{x}/{y}?v=${version}`], tileSize: 256, encoding: 'terrarium', minzoom: 9, maxzoom: 15, bounds: [corner[0], corner[1], far[0], far[1]] },
          lines: { type: 'geojson', data: collection(heightLines(data)) },
          things: { type: 'geojson', data: collection(things(data)) },
          paths: { type: 'geojson', data: collection([]) },
          buffer: { type: 'geojson', data: collection([]), buffer: 512 },
          case: { type: 'geojson', data: collection([]) },
        },
        layers: style(inks, own),
      },
      center: site.origin as [number, number],
      zoom: 14,
      maxZoom: 20,
      minZoom: 9,
      attributionControl: false,
      canvasContextAttributes: { preserveDrawingBuffer: true, antialias: false },
      fadeDuration: 0,
      pitchWithRotate: false,
      maxPitch: 0,
      locale: { 'Map.Title': label },
    })
    this.map.addControl(new maplibre.ScaleControl({ maxWidth: 140 }), 'bottom-left')
    this.map.addControl(new maplibre.NavigationControl({ showCompass: true, visualizePitch: false }), 'top-right')
    this.ready = new Promise((done) => this.map.once('load', () => done()))
    this.map.on('click', 'path-all', (e) => {
      const slate = e.features?.[0]?.properties.slate
      if (typeof slate === 'string') this.choose(slate)
    })
    this.#label()
  }

  // What a crew must find first is placed first: launch spots, subjects, others, areas.
  #label() {
    const put = (text: string, at: [number, number], kind: string) => {
      const el = document.createElement('span')
      el.className = `plan-label ${kind}`
      el.textContent = text
      this.#labels.push({ marker: new maplibre.Marker({ element: el, anchor: 'left', offset: [11, 0] }).setLngLat(at).addTo(this.map), el, size: null })
    }
    const { features, subjects } = this.data.site
    for (const f of features) if (f.kind === 'launch') put(f.name, f.lon_lat[0] as [number, number], f.kind)
    for (const s of subjects) put(s.name, s.lon_lat as [number, number], 'subject')
    for (const f of features) if (['landing', 'observer', 'set'].includes(f.kind)) put(f.name, f.lon_lat[0] as [number, number], f.kind)
    for (const f of features)
      if (f.kind === 'area') {
        const n = f.lon_lat.length
        const top = f.lon_lat.reduce((a, p) => (p[1]! > a[1]! ? p : a), f.lon_lat[0]!)
        put(`${f.name}: ${f.status}`, n ? (top as [number, number]) : [0, 0], 'area')
      }
    let asked = 0
    const later = () => (asked ||= requestAnimationFrame(() => ((asked = 0), this.#part())))
    this.map.on('move', later)
    void this.ready.then(later)
  }

  /** Moves labels out of each other's way: right of their place, left, below or above it; one that fits nowhere waits for a nearer look. */
  #part() {
    const taken: [number, number, number, number][] = []
    if (this.#craft) {
      const at = this.map.project(this.#craft.getLngLat())
      taken.push([at.x - 14, at.y - 14, at.x + 14, at.y + 14])
    }
    for (const l of this.#labels) {
      const { width, height } = this.map.getCanvas().getBoundingClientRect()
      l.size ??= [l.el.offsetWidth, l.el.offsetHeight]
      const [w, h] = l.size
      const at = this.map.project(l.marker.getLngLat())
      const off = at.x < -w || at.y < -h || at.x > width || at.y > height + h
      const ways: [number, number][] = [
        [11, 0],
        [-w - 11, 0],
        [-w / 2, h + 2],
        [-w / 2, -h - 2],
      ]
      const way = off ? ways[0]! : ways.find(([x, y]) => !taken.some((t) => at.x + x < t[2] && at.x + x + w > t[0] && at.y + y - h / 2 < t[3] && at.y + y + h / 2 > t[1]))
      l.el.style.visibility = way ? 'visible' : 'hidden'
      if (!way) continue
      l.marker.setOffset(way)
      if (!off) taken.push([at.x + way[0] - 2, at.y + way[1] - h / 2, at.x + way[0] + w + 2, at.y + way[1] + h / 2])
    }
  }

  /** Draws the paths, the chosen one in the pencil's red. */
  async paths(paths: Path[], chosen: string) {
    await this.ready
    const source = this.map.getSource('paths') as maplibre.GeoJSONSource
    source.setData(
      collection(paths.map((p) => ({ type: 'Feature', properties: { slate: p.slate, chosen: p.slate === chosen }, geometry: { type: 'LineString', coordinates: spread(p) } }))),
    )
    const mine = paths.find((p) => p.slate === chosen)
    const around = this.map.getSource('buffer') as maplibre.GeoJSONSource
    const reach = mine?.ground_risk_buffer_m ?? 0
    around.setData(collection(mine && reach ? [{ type: 'Feature', properties: {}, geometry: { type: 'LineString', coordinates: spread(mine) } }] : []))
    // A line as wide as the buffer reaches on both sides, in metres at every zoom.
    const lat = (this.data.site.origin[1]! * Math.PI) / 180
    const px = (2 * reach) / (78271.516964 * Math.cos(lat))
    this.map.setPaintProperty('buffer', 'line-width', ['interpolate', ['exponential', 2], ['zoom'], 0, px, 22, px * 2 ** 22])
  }

  async craft(at: [number, number], azimuth: number) {
    await this.ready
    if (!this.#craft) {
      const el = document.createElement('span')
      el.className = 'plan-craft'
      el.setAttribute('aria-hidden', 'true')
      this.#craft = new maplibre.Marker({ element: el, rotationAlignment: 'map' }).setLngLat(at).addTo(this.map)
    }
    this.#craft.setLngLat(at).setRotation(azimuth)
    this.#part()
  }

  async sun(azimuth: number, altitude: number, inks: Inks) {
    await this.ready
    this.map.setPaintProperty('shading', 'hillshade-illumination-direction', ((azimuth % 360) + 360) % 360)
    this.map.setPaintProperty('shading', 'hillshade-exaggeration', altitude < -3 ? 0.2 : Math.max(0.3, 0.62 - altitude / 160))
    this.map.setPaintProperty('shading', 'hillshade-highlight-color', altitude < 0 ? 'rgba(0,0,0,0)' : inks.dark ? 'rgba(240,220,180,0.28)' : 'rgba(255,250,232,0.75)')
  }

  async dress(inks: Inks) {
    await this.ready
    for (const layer of style(inks, this.own))
      for (const [name, value] of Object.entries(layer.paint ?? {})) if (this.map.getLayer(layer.id)) this.map.setPaintProperty(layer.id, name as never, value as never)
  }

  /** Draws a slate's volumes, falls and way home, or nothing. They take the place of the band along the path. */
  async safety(features: Feature[]) {
    await this.ready
    ;(this.map.getSource('case') as maplibre.GeoJSONSource).setData(collection(features))
    this.map.setLayoutProperty('buffer', 'visibility', features.length ? 'none' : 'visible')
  }

  /** Shows or hides the crew's own base map. */
  async beneath(shown: boolean) {
    await this.ready
    for (const l of this.map.getStyle().layers) if (l.id.startsWith('own')) this.map.setLayoutProperty(l.id, 'visibility', shown ? 'visible' : 'none')
  }

  fit(p: Path) {
    const b = new maplibre.LngLatBounds()
    for (const at of p.lon_lat) b.extend(at as [number, number])
    b.extend(p.launch_lon_lat as [number, number])
    this.map.fitBounds(b, { padding: 90, maxZoom: 15.4, animate: false })
  }

  dispose() {
    this.map.remove()
  }
}

/** A path that stays in one place is drawn as a short stroke. */
function spread(p: Path): [number, number][] {
  const all = p.lon_lat as [number, number][]
  const [a, b] = [all[0]!, all[all.length - 1]!]
  return Math.hypot(b[0] - a[0], b[1] - a[1]) < 1e-7 ? [a, [a[0] + 2e-5, a[1]]] : all
}

function heightLines({ ground }: SiteData): Feature[] {
  const { low_m, high_m } = ground.info
  const step = high_m - low_m > 600 ? 20 : 10
  const levels: number[] = []
  for (let v = Math.ceil(low_m / step) * step; v <= high_m; v += step) levels.push(v)
  const every = ground.info.columns > 250 ? 2 : 1
  return contours(ground, levels, every).map((segments, k) => ({
    type: 'Feature',
    properties: { height: levels[k], main: levels[k]! % (step * 5) === 0 },
    geometry: { type: 'MultiLineString', coordinates: segments.map(([a, b, c, d]) => [ground.lonLat(a, b), ground.lonLat(c, d)]) },
  }))
}

function things({ site }: SiteData): Feature[] {
  const out: Feature[] = []
  for (const f of site.features) {
    const properties = { kind: f.kind, status: f.status, name: f.name }
    const at = f.lon_lat as [number, number][]
    if (f.shape === 'polygon') out.push({ type: 'Feature', properties, geometry: { type: 'Polygon', coordinates: [closed(at)] } })
    else if (f.shape === 'line') out.push({ type: 'Feature', properties, geometry: { type: 'LineString', coordinates: at } })
    else out.push({ type: 'Feature', properties, geometry: { type: 'Point', coordinates: at[0]! } })
  }
  for (const s of site.subjects) {
    if (s.way.length) out.push({ type: 'Feature', properties: { kind: 'way', name: s.name }, geometry: { type: 'LineString', coordinates: s.way.map((w) => w.lon_lat as [number, number]) } })
    out.push({ type: 'Feature', properties: { kind: 'subject', name: s.name }, geometry: { type: 'Point', coordinates: s.lon_lat as [number, number] } })
  }
  return out
}

const closed = (ring: [number, number][]) => {
  const [a, b] = [ring[0]!, ring[ring.length - 1]!]
  return a[0] === b[0] && a[1] === b[1] ? ring : [...ring, a]
}

type Layer = maplibre.LayerSpecification & { paint?: Record<string, unknown> }

/** The base map in muted inks: what is planned stands out from it. */
function beneath(i: Inks, own: { source: Source; layers: string[] } | null): Layer[] {
  if (!own) return []
  if (own.source.type === 'raster')
    return [{ id: 'own', type: 'raster', source: 'own', paint: { 'raster-opacity': 0.92, 'raster-saturation': i.dark ? -0.35 : -0.15, 'raster-brightness-max': i.dark ? 0.5 : 1, 'raster-contrast': i.dark ? 0.1 : 0, 'raster-fade-duration': 0 } }]
  const of = (shape: string) => ['==', ['geometry-type'], shape] as never
  return own.layers.flatMap((name): Layer[] => [
    { id: `own-fill-${name}`, type: 'fill', source: 'own', 'source-layer': name, filter: of('Polygon'), paint: { 'fill-color': /water|river|lake|sea/.test(name) ? i.blue : i.soft, 'fill-opacity': /water|river|lake|sea/.test(name) ? 0.3 : 0.1, 'fill-outline-color': i.rule } },
    { id: `own-line-${name}`, type: 'line', source: 'own', 'source-layer': name, filter: of('LineString'), paint: { 'line-color': /water|river|stream/.test(name) ? i.blue : i.soft, 'line-width': 0.9 } },
    { id: `own-point-${name}`, type: 'circle', source: 'own', 'source-layer': name, filter: of('Point'), paint: { 'circle-radius': 1.6, 'circle-color': i.soft } },
  ])
}

function style(i: Inks, own: { source: Source; layers: string[] } | null): Layer[] {
  const kind = (...names: string[]) => ['in', ['get', 'kind'], ['literal', names]] as never
  const layer = (name: string) => ['==', ['get', 'layer'], name] as never
  const area = (status: string) => ['all', ['==', ['get', 'kind'], 'area'], ['==', ['get', 'status'], status]] as never
  return [
    { id: 'paper', type: 'background', paint: { 'background-color': i.paper } },
    ...beneath(i, own),
    { id: 'shading', type: 'hillshade', source: 'heights', paint: { 'hillshade-shadow-color': i.dark ? 'rgba(0,0,0,0.9)' : 'rgba(96,80,56,0.6)', 'hillshade-highlight-color': i.dark ? 'rgba(240,220,180,0.28)' : 'rgba(255,250,232,0.75)', 'hillshade-accent-color': i.dark ? '#1c1812' : '#b5a583', 'hillshade-exaggeration': 0.5, 'hillshade-illumination-anchor': 'map' } },
    { id: 'contour', type: 'line', source: 'lines', filter: ['!', ['get', 'main']], minzoom: 13, paint: { 'line-color': i.rule, 'line-width': 0.5, 'line-opacity': 0.55 } },
    { id: 'contour-main', type: 'line', source: 'lines', filter: ['get', 'main'], paint: { 'line-color': i.rule, 'line-width': 1, 'line-opacity': 0.85 } },
    { id: 'permitted', type: 'line', source: 'things', filter: area('permitted'), paint: { 'line-color': i.green, 'line-width': 2.2, 'line-dasharray': [5, 2] } },
    { id: 'ask', type: 'line', source: 'things', filter: area('needs permission'), paint: { 'line-color': i.ochre, 'line-width': 2.2, 'line-dasharray': [2, 2] } },
    { id: 'closed-fill', type: 'fill', source: 'things', filter: area('out of bounds'), paint: { 'fill-color': i.red, 'fill-opacity': 0.14 } },
    { id: 'closed', type: 'line', source: 'things', filter: area('out of bounds'), paint: { 'line-color': i.red, 'line-width': 2.6 } },
    { id: 'people', type: 'fill', source: 'things', filter: ['all', ['==', ['get', 'kind'], 'people'], ['==', ['geometry-type'], 'Polygon']], paint: { 'fill-color': i.ochre, 'fill-opacity': 0.2, 'fill-outline-color': i.ochre } },
    { id: 'water', type: 'fill', source: 'things', filter: kind('water'), paint: { 'fill-color': i.blue, 'fill-opacity': 0.3 } },
    { id: 'road', type: 'line', source: 'things', filter: kind('road'), paint: { 'line-color': i.soft, 'line-width': ['interpolate', ['exponential', 2], ['zoom'], 13, 1.4, 19, 22] } },
    { id: 'road-in', type: 'line', source: 'things', filter: kind('road'), paint: { 'line-color': i.paper, 'line-width': ['interpolate', ['exponential', 2], ['zoom'], 13, 0.6, 19, 19] } },
    { id: 'rail', type: 'line', source: 'things', filter: kind('rail'), paint: { 'line-color': i.ink, 'line-width': 2, 'line-dasharray': [1, 2] } },
    { id: 'wire', type: 'line', source: 'things', filter: kind('wire'), paint: { 'line-color': i.ink, 'line-width': 1.4, 'line-dasharray': [7, 3, 1, 3] } },
    { id: 'building', type: 'fill', source: 'things', filter: kind('building', 'bridge'), paint: { 'fill-color': i.ink, 'fill-opacity': 0.85 } },
    { id: 'tree', type: 'circle', source: 'things', filter: kind('tree'), paint: { 'circle-radius': 4, 'circle-color': i.green, 'circle-opacity': 0.7 } },
    { id: 'mast', type: 'circle', source: 'things', filter: kind('mast'), paint: { 'circle-radius': 3, 'circle-color': i.paper, 'circle-stroke-color': i.ink, 'circle-stroke-width': 1.6 } },
    { id: 'way', type: 'line', source: 'things', filter: kind('way'), paint: { 'line-color': i.blue, 'line-width': 1.6, 'line-dasharray': [2, 2] } },
    { id: 'buffer', type: 'line', source: 'buffer', paint: { 'line-color': i.red, 'line-opacity': 0.16 }, layout: { 'line-cap': 'round', 'line-join': 'round' } },
    { id: 'case-buffer', type: 'fill', source: 'case', filter: layer('ground risk buffer'), paint: { 'fill-color': i.red, 'fill-opacity': 0.1 } },
    { id: 'case-buffer-line', type: 'line', source: 'case', filter: layer('ground risk buffer'), paint: { 'line-color': i.red, 'line-width': 1.2 } },
    { id: 'case-volume', type: 'line', source: 'case', filter: layer('contingency volume'), paint: { 'line-color': i.ochre, 'line-width': 1.8, 'line-dasharray': [4, 2] } },
    { id: 'case-fall', type: 'circle', source: 'case', filter: layer('fall footprint'), paint: { 'circle-radius': 1.8, 'circle-color': i.red, 'circle-opacity': 0.9 } },
    { id: 'case-home', type: 'line', source: 'case', filter: layer('lost-link route'), paint: { 'line-color': i.blue, 'line-width': 2.2, 'line-dasharray': [1, 1.5] } },
    { id: 'case-pilot', type: 'circle', source: 'case', filter: layer('pilot'), paint: { 'circle-radius': 4, 'circle-color': i.blue, 'circle-stroke-color': i.paper, 'circle-stroke-width': 1.5 } },
    { id: 'path-all', type: 'line', source: 'paths', paint: { 'line-color': ['case', ['get', 'chosen'], i.red, i.ink], 'line-width': ['case', ['get', 'chosen'], 4, 1.6] }, layout: { 'line-cap': 'round' } },
    { id: 'launch', type: 'circle', source: 'things', filter: kind('launch'), paint: { 'circle-radius': 5.5, 'circle-color': i.paper, 'circle-stroke-color': i.red, 'circle-stroke-width': 2.6 } },
    { id: 'spot', type: 'circle', source: 'things', filter: kind('landing', 'observer', 'set'), paint: { 'circle-radius': 3.6, 'circle-color': i.paper, 'circle-stroke-color': i.blue, 'circle-stroke-width': 2 } },
    { id: 'subject', type: 'circle', source: 'things', filter: kind('subject'), paint: { 'circle-radius': 3.4, 'circle-color': i.ink } },
  ]
}
