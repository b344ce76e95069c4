// The site in three dimensions: terrain, what stands on it, sun and sky. The site frame is used as it
// is: x east, y north, z up, metres. Drawn like a storyboard in gouache: few tones, no texture that is not there.
import * as THREE from 'three'
import type { Site } from './data'
import { Ground, shade, sunDirection, type Solid } from './ground'

const chunk = 32

export type World = {
  scene: THREE.Scene
  ground: Ground
  /** Puts the sun at an azimuth and altitude; focus is where shadows are drawn finely. */
  setSun(azimuthDeg: number, altitudeDeg: number, focus: readonly [number, number]): void
  /** Puts moving subjects where they are at a time of the take. */
  setTime(t: number): void
  dispose(): void
}

const tones = {
  meadow: new THREE.Color(0x84875f),
  pasture: new THREE.Color(0x9a946c),
  scree: new THREE.Color(0x9a9080),
  rock: new THREE.Color(0x857c70),
  wall: 0xd8cbb0,
  roof: 0x6d5446,
  wood: 0x47503a,
  metal: 0x6b6862,
  road: 0xc2b394,
  water: 0x7e97a3,
  subject: 0xb4523a,
}

// Software rendering pays for every pixel: light, wide shadows and haze are worked out at the corners. Only ground
// that is NEAR asks for more: fine shadows about the subject, and grain.
const vertex = /* glsl */ `
attribute vec3 color;
uniform vec3 sun;
uniform vec3 sunColor;
uniform vec3 skyColor;
uniform vec3 haze;
uniform float hazeBy;
uniform sampler2D wide;
uniform vec4 wideAt;
varying vec3 vColour;
#ifdef NEAR
varying vec3 vSun;
varying vec4 vAt; // place, share of the sun by the wide shadows, nearness
#endif
#ifdef LINES
varying float vHigh;
#endif
void main() {
  vec3 n = mat3(modelMatrix) * normal;
  vec4 at = modelMatrix * vec4(position, 1.0);
  vec4 seen = modelViewMatrix * vec4(position, 1.0);
  float far = length(seen.xyz);
  float clear = exp(-far * hazeBy);
  float lit = texture2D(wide, (at.xy - wideAt.xy) * wideAt.zw).r;
  vec3 bySun = color * sunColor * (max(0.0, dot(n, sun)) * clear);
  vColour = color * skyColor * (0.62 + 0.38 * n.z) * clear + haze * (1.0 - clear) + bySun * lit;
#ifdef NEAR
  vSun = bySun;
  vAt = vec4(at.xy, lit, 0.22 * (1.0 - far / 300.0));
#endif
#ifdef LINES
  vHigh = at.z / 20.0;
#endif
  gl_Position = projectionMatrix * seen;
}`

const fragment = /* glsl */ `
varying vec3 vColour;
#ifdef NEAR
uniform sampler2D fine;
uniform vec4 fineAt;
uniform sampler2D grain;
varying vec3 vSun;
varying vec4 vAt;
#endif
#ifdef LINES
varying float vHigh;
#endif
void main() {
  vec3 colour = vColour;
#ifdef NEAR
  vec2 v = (vAt.xy - fineAt.xy) * fineAt.zw;
  vec2 c = abs(v - 0.5);
  if (max(c.x, c.y) < 0.5) colour += vSun * (texture2D(fine, v).r - vAt.z);
  if (vAt.w > 0.0) colour *= 1.0 + vAt.w * (texture2D(grain, vAt.xy * (0.7 / 64.0)).r - 0.5);
#endif
#ifdef LINES
  float away = abs(fract(vHigh - 0.5) - 0.5) / fwidth(vHigh);
  float every5 = step(abs(fract(vHigh / 5.0 - 0.5) - 0.5) * 5.0, 0.5);
  colour *= 1.0 - (0.22 + 0.3 * every5) * (1.0 - clamp(away, 0.0, 1.0));
#endif
  gl_FragColor = vec4(sqrt(colour), 1.0); // gamma of 2, near enough to a screen's
}`

/** Values from 0 to 255 without a pattern, the same each time, for the grain of the ground. */
function grains(n: number): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(n * n)
  let seed = 1
  for (let k = 0; k < out.length; k++) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0 // linear congruential, Numerical Recipes
    out[k] = seed >>> 24
  }
  return out
}

const dome = /* glsl */ `
varying vec3 vDir;
void main() {
  vDir = position;
  gl_Position = (projectionMatrix * vec4(mat3(modelViewMatrix) * position, 1.0)).xyww;
}`

const domeFragment = /* glsl */ `
uniform vec3 zenith;
uniform vec3 haze;
uniform vec3 glow;
uniform vec3 sun;
varying vec3 vDir;
void main() {
  vec3 d = normalize(vDir);
  float low = 1.0 - clamp(d.z, 0.0, 1.0);
  float near = max(0.0, dot(d, sun));
  float near8 = near * near;
  near8 *= near8;
  near8 *= near8;
  float near64 = near8 * near8 * near8 * near8;
  vec3 c = mix(zenith, haze, low * low * sqrt(low)) + glow * (near8 * 0.35 + near64 * near64 * 0.4);
  if (near > 0.99995) c = vec3(1.0, 0.97, 0.88) * step(-0.02, sun.z);
  gl_FragColor = vec4(sqrt(c), 1.0);
}`

/** withLines draws contours every 20 m on the ground. */
export function build(site: Site, ground: Ground, withLines = false): World {
  const scene = new THREE.Scene()
  const bin: { dispose(): void }[] = []
  const keep = <T extends { dispose(): void }>(x: T) => (bin.push(x), x)

  const texture = (n: number, values: Uint8Array<ArrayBuffer> = new Uint8Array(n * n).fill(255)) => {
    const t = keep(new THREE.DataTexture(values, n, n, THREE.RedFormat))
    t.magFilter = t.minFilter = THREE.LinearFilter
    t.needsUpdate = true
    return t
  }
  const wideN = 192
  const fineN = 384
  const fineM = 260
  const wide = texture(wideN)
  const fine = texture(fineN)
  const grain = texture(64, grains(64))
  grain.wrapS = grain.wrapT = THREE.RepeatWrapping
  const { x0_m, y0_m, cell_m, columns, rows } = ground.info
  const across = (Math.max(columns, rows) - 1) * cell_m
  const uniforms = {
    sun: { value: new THREE.Vector3(0, 0, 1) },
    sunColor: { value: new THREE.Color() },
    skyColor: { value: new THREE.Color() },
    haze: { value: new THREE.Color() },
    hazeBy: { value: 0.00006 },
    wide: { value: wide },
    wideAt: { value: new THREE.Vector4(x0_m, y0_m, 1 / across, 1 / across) },
    fine: { value: fine },
    fineAt: { value: new THREE.Vector4(1e9, 1e9, 1, 1) },
    grain: { value: grain },
    zenith: { value: new THREE.Color() },
    glow: { value: new THREE.Color() },
  }
  const lines: Record<string, number> = withLines ? { LINES: 1 } : {}
  const near = keep(new THREE.ShaderMaterial({ vertexShader: vertex, fragmentShader: fragment, uniforms, defines: { NEAR: 1, ...lines } }))
  const far = keep(new THREE.ShaderMaterial({ vertexShader: vertex, fragmentShader: fragment, uniforms, defines: lines }))
  const standing = keep(new THREE.ShaderMaterial({ vertexShader: vertex, fragmentShader: fragment, uniforms, side: THREE.DoubleSide }))
  const sky = new THREE.Mesh(keep(new THREE.SphereGeometry(1, 24, 8, 0, 2 * Math.PI, 0, Math.PI / 2).rotateX(Math.PI / 2)), keep(new THREE.ShaderMaterial({ vertexShader: dome, fragmentShader: domeFragment, uniforms, side: THREE.BackSide, depthWrite: false })))
  sky.frustumCulled = false
  sky.renderOrder = 1 // last: only where nothing stands before it
  scene.add(sky)
  const below = (scene.background = new THREE.Color()) // beneath the horizon, where the ground ends

  const patches: THREE.LOD[] = []
  for (let j = 0; j < rows - 1; j += chunk) for (let i = 0; i < columns - 1; i += chunk) patches.push(patch(ground, i, j, near, far, keep))
  for (const x of patches) scene.add(x)

  // Everything that stands is one geometry: few draw calls.
  const solids: Solid[] = []
  const mass = new Mass()
  for (const f of site.features) thing(f, ground, mass, solids)
  const movers: { mesh: THREE.Mesh; way: Site['subjects'][number]['way'] }[] = []
  for (const s of site.subjects) {
    if (s.way.length === 0) continue
    const box = new Mass()
    box.prism(rect(0, 0, s.width_m, s.depth_m, 0), 0.4, s.height_m, tones.subject, tones.wall)
    const mesh = new THREE.Mesh(keep(box.geometry()), standing)
    movers.push({ mesh, way: s.way })
    scene.add(mesh)
  }
  const stands = new THREE.Mesh(keep(mass.geometry()), standing)
  stands.renderOrder = -1 // before the ground that it hides
  scene.add(stands)

  let done = ''
  return {
    scene,
    ground,
    setSun(azimuthDeg, altitudeDeg, focus) {
      const dir = sunDirection(azimuthDeg, altitudeDeg)
      uniforms.sun.value.set(...dir)
      const day = smooth(-6, 8, altitudeDeg)
      const low = 1 - smooth(2, 22, altitudeDeg)
      const night = new THREE.Color(0x11151f)
      uniforms.sunColor.value.setRGB(1.22, 1.14 - 0.34 * low, 1.0 - 0.68 * low).multiplyScalar(smooth(-1, 5, altitudeDeg))
      uniforms.skyColor.value.copy(night).lerp(new THREE.Color(0.46, 0.5, 0.57), day)
      uniforms.zenith.value.copy(night).lerp(new THREE.Color(0x7f9db8), day)
      uniforms.haze.value.copy(new THREE.Color(0x1d212c)).lerp(new THREE.Color(0xdcdccf), day)
      uniforms.haze.value.lerp(new THREE.Color(0xe6b27d), 0.5 * low * smooth(-8, 2, altitudeDeg))
      uniforms.glow.value.setRGB(0.9, 0.6, 0.3).multiplyScalar(smooth(-8, 3, altitudeDeg))
      below.setRGB(Math.sqrt(uniforms.haze.value.r), Math.sqrt(uniforms.haze.value.g), Math.sqrt(uniforms.haze.value.b), THREE.SRGBColorSpace)
      const key = `${azimuthDeg.toFixed(1)}/${altitudeDeg.toFixed(1)}/${focus.map((v) => v.toFixed(0)).join()}`
      if (key === done) return
      done = key
      ;(wide.image.data as Uint8Array).set(shade(ground, [], dir, x0_m, y0_m, across, wideN, 5000))
      wide.needsUpdate = true
      const [fx, fy] = [focus[0] - fineM / 2, focus[1] - fineM / 2]
      ;(fine.image.data as Uint8Array).set(shade(ground, solids, dir, fx, fy, fineM, fineN, 3000))
      fine.needsUpdate = true
      uniforms.fineAt.value.set(fx, fy, 1 / fineM, 1 / fineM)
      const reach = (chunk * cell_m + fineM) / 2
      for (const x of patches) {
        const meets = Math.abs(x.position.x - focus[0]) < reach && Math.abs(x.position.y - focus[1]) < reach
        x.levels.forEach((l, k) => ((l.object as THREE.Mesh).material = meets || k === 0 ? near : far))
      }
    },
    setTime(t) {
      for (const { mesh, way } of movers) {
        const k = Math.max(0, Math.min(way.length - 2, Math.floor(t / ((way[1]?.t_s ?? 1) - (way[0]?.t_s ?? 0)))))
        const a = way[k]!
        const b = way[k + 1] ?? a
        const u = b.t_s > a.t_s ? Math.max(0, Math.min(1, (t - a.t_s) / (b.t_s - a.t_s))) : 0
        mesh.position.set(...([0, 1, 2].map((c) => a.foot_xyz[c]! * (1 - u) + b.foot_xyz[c]! * u) as [number, number, number]))
        mesh.rotation.z = (-a.facing_deg * Math.PI) / 180
      }
    },
    dispose() {
      for (const x of bin) x.dispose()
    },
  }
}

const smooth = (a: number, b: number, v: number) => {
  const t = Math.max(0, Math.min(1, (v - a) / (b - a)))
  return t * t * (3 - 2 * t)
}

/** One patch of ground in three finenesses, with a skirt that hides the seams. */
function patch(ground: Ground, i0: number, j0: number, near: THREE.Material, far: THREE.Material, keep: <T extends { dispose(): void }>(x: T) => T): THREE.LOD {
  const { x0_m, y0_m, cell_m, columns, rows } = ground.info
  const lod = new THREE.LOD()
  const cx = x0_m + (i0 + chunk / 2) * cell_m
  const cy = y0_m + (j0 + chunk / 2) * cell_m
  const cz = ground.near(cx, cy)
  lod.position.set(cx, cy, cz) // nearer patches are drawn first and hide the others
  for (const [level, step] of [1, 2, 4, 8].entries()) {
    const ni = Math.ceil(Math.min(chunk, columns - 1 - i0) / step)
    const nj = Math.ceil(Math.min(chunk, rows - 1 - j0) / step)
    const [w, h] = [ni + 3, nj + 3]
    const position = new Float32Array(w * h * 3)
    const normal = new Float32Array(w * h * 3)
    const color = new Float32Array(w * h * 3)
    const index: number[] = []
    const c = new THREE.Color()
    for (let b = 0; b < h; b++)
      for (let a = 0; a < w; a++) {
        const skirt = a === 0 || b === 0 || a === w - 1 || b === h - 1
        const i = Math.min(columns - 1, i0 + Math.max(0, Math.min(ni, a - 1)) * step)
        const j = Math.min(rows - 1, j0 + Math.max(0, Math.min(nj, b - 1)) * step)
        const x = x0_m + i * cell_m
        const y = y0_m + j * cell_m
        const z = ground.near(x, y)
        const gx = (ground.near(x + cell_m, y) - ground.near(x - cell_m, y)) / (2 * cell_m)
        const gy = (ground.near(x, y + cell_m) - ground.near(x, y - cell_m)) / (2 * cell_m)
        const l = 1 / Math.hypot(gx, gy, 1)
        const k = (b * w + a) * 3
        position.set([x - cx, y - cy, z - cz - (skirt ? 12 * step : 0)], k)
        normal.set([-gx * l, -gy * l, l], k)
        const steep = Math.hypot(gx, gy)
        const mottle = 1 + 0.16 * (((Math.sin(i * 12.9898 + j * 78.233) * 43758.5453) % 1) * 0.5)
        c.copy(tones.meadow).lerp(tones.pasture, smooth(1500, 2000, z)).lerp(tones.scree, smooth(0.45, 0.75, steep)).lerp(tones.rock, smooth(0.8, 1.2, steep) * 0.8 + smooth(2300, 2600, z) * 0.5)
        c.multiplyScalar(mottle)
        color.set([c.r, c.g, c.b], k)
        if (a < w - 1 && b < h - 1) {
          const p = b * w + a
          index.push(p, p + 1, p + w, p + 1, p + w + 1, p + w)
        }
      }
    const g = keep(new THREE.BufferGeometry())
    g.setAttribute('position', new THREE.BufferAttribute(position, 3))
    g.setAttribute('normal', new THREE.BufferAttribute(normal, 3))
    g.setAttribute('color', new THREE.BufferAttribute(color, 3))
    g.setIndex(index)
    g.computeBoundingSphere()
    const mesh = new THREE.Mesh(g, level === 0 ? near : far)
    lod.addLevel(mesh, [0, 500, 1100, 2200][level]!)
  }
  return lod
}

/** Collects triangles with flat normals and one colour each. */
class Mass {
  position: number[] = []
  normal: number[] = []
  color: number[] = []

  triangle(a: number[], b: number[], c: number[], tone: THREE.ColorRepresentation) {
    const u = [b[0]! - a[0]!, b[1]! - a[1]!, b[2]! - a[2]!]
    const v = [c[0]! - a[0]!, c[1]! - a[1]!, c[2]! - a[2]!]
    const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!]
    const l = Math.hypot(...n) || 1
    const t = new THREE.Color(tone)
    for (const p of [a, b, c]) {
      this.position.push(p[0]!, p[1]!, p[2]!)
      this.normal.push(n[0]! / l, n[1]! / l, n[2]! / l)
      this.color.push(t.r, t.g, t.b)
    }
  }

  /** An upright prism over a ring that runs anticlockwise. */
  prism(ring: [number, number][], foot: number, top: number, wall: THREE.ColorRepresentation, roof: THREE.ColorRepresentation) {
    const n = ring.length
    for (let i = 0; i < n; i++) {
      const [ax, ay] = ring[i]!
      const [bx, by] = ring[(i + 1) % n]!
      this.triangle([ax, ay, foot], [bx, by, foot], [bx, by, top], wall)
      this.triangle([ax, ay, foot], [bx, by, top], [ax, ay, top], wall)
    }
    const flat = THREE.ShapeUtils.triangulateShape(
      ring.map((p) => new THREE.Vector2(...p)),
      [],
    )
    for (const [a, b, c] of flat) this.triangle([...ring[a!]!, top], [...ring[b!]!, top], [...ring[c!]!, top], roof)
  }

  cone(x: number, y: number, foot: number, top: number, r: number, tone: THREE.ColorRepresentation) {
    const n = 9
    for (let i = 0; i < n; i++) {
      const a = (i / n) * 2 * Math.PI
      const b = ((i + 1) / n) * 2 * Math.PI
      this.triangle([x + r * Math.cos(a), y + r * Math.sin(a), foot], [x + r * Math.cos(b), y + r * Math.sin(b), foot], [x, y, top], tone)
    }
  }

  geometry(): THREE.BufferGeometry {
    const g = new THREE.BufferGeometry()
    g.setAttribute('position', new THREE.Float32BufferAttribute(this.position, 3))
    g.setAttribute('normal', new THREE.Float32BufferAttribute(this.normal, 3))
    g.setAttribute('color', new THREE.Float32BufferAttribute(this.color, 3))
    return g
  }
}

/** A level rectangle about a middle; facing turns its depth toward an azimuth. */
function rect(x: number, y: number, width: number, depth: number, facingDeg: number): [number, number][] {
  const a = (facingDeg * Math.PI) / 180
  const [rx, ry] = [Math.cos(a), -Math.sin(a)]
  const [fx, fy] = [Math.sin(a), Math.cos(a)]
  const at = (s: number, t: number): [number, number] => [x + (rx * s * width + fx * t * depth) / 2, y + (ry * s * width + fy * t * depth) / 2]
  return [at(-1, -1), at(1, -1), at(1, 1), at(-1, 1)]
}

function anticlockwise(ring: [number, number][]): [number, number][] {
  let twice = 0
  ring.forEach(([x, y], i) => {
    const [u, v] = ring[(i + 1) % ring.length]!
    twice += x * v - u * y
  })
  return twice < 0 ? [...ring].reverse() : ring
}

function thing(f: Site['features'][number], ground: Ground, mass: Mass, solids: Solid[]) {
  const at = f.xyz as [number, number, number][]
  if (at.length === 0) return
  switch (f.kind) {
    case 'building':
    case 'bridge': {
      let ring = at.map(([x, y]) => [x, y] as [number, number])
      if (ring.length > 3 && Math.hypot(ring[0]![0] - ring[ring.length - 1]![0], ring[0]![1] - ring[ring.length - 1]![1]) < 0.01) ring = ring.slice(0, -1)
      ring = anticlockwise(ring)
      const lowest = Math.min(...at.map((p) => p[2]))
      const top = (f.kind === 'bridge' ? Math.max(...at.map((p) => p[2])) : lowest) + f.height_m
      mass.prism(ring, lowest - 3, top, tones.wall, tones.roof)
      solids.push({ ring, foot: lowest - 3, top })
      break
    }
    case 'tree': {
      const [x, y, z] = at[0]!
      const r = Math.max(1, f.spread_m)
      mass.cone(x, y, z + f.height_m * 0.12, z + f.height_m, r, tones.wood)
      mass.prism(rect(x, y, 0.6, 0.6, 0), z - 0.5, z + f.height_m * 0.3, tones.roof, tones.roof)
      solids.push({ ring: rect(x, y, r, r, 45), foot: z, top: z + f.height_m * 0.85 })
      break
    }
    case 'mast': {
      const [x, y, z] = at[0]!
      mass.prism(rect(x, y, 0.7, 0.7, 0), z - 1, z + f.height_m, tones.metal, tones.metal)
      mass.prism(rect(x, y, 4, 0.4, 30), z + f.height_m - 1.6, z + f.height_m - 1.2, tones.metal, tones.metal)
      solids.push({ ring: rect(x, y, 0.7, 0.7, 0), foot: z, top: z + f.height_m })
      break
    }
    case 'wire':
      for (let i = 0; i + 1 < at.length; i++) {
        const [a, b] = [at[i]!, at[i + 1]!]
        const n = 16
        const on = (k: number): number[] => {
          const u = k / n
          return [a[0] + (b[0] - a[0]) * u, a[1] + (b[1] - a[1]) * u, a[2] + (b[2] - a[2]) * u + f.height_m - 4 * f.sag_m * u * (1 - u)]
        }
        for (let k = 0; k < n; k++) {
          const [p, q] = [on(k), on(k + 1)]
          const w = 0.12
          mass.triangle([p[0]!, p[1]!, p[2]! - w], [q[0]!, q[1]!, q[2]! - w], [q[0]!, q[1]!, q[2]! + w], 0x2a2722)
          mass.triangle([p[0]!, p[1]!, p[2]! - w], [q[0]!, q[1]!, q[2]! + w], [p[0]!, p[1]!, p[2]! + w], 0x2a2722)
        }
      }
      break
    case 'road':
    case 'rail':
      if (f.shape === 'line') ribbon(at, Math.max(2, f.width_m), ground, mass, f.kind === 'road' ? tones.road : tones.metal)
      break
  }
}

/** A strip that lies on the ground. */
function ribbon(line: number[][], width: number, ground: Ground, mass: Mass, tone: number) {
  const points: [number, number][] = []
  for (let i = 0; i + 1 < line.length; i++) {
    const [a, b] = [line[i]!, line[i + 1]!]
    const n = Math.max(1, Math.ceil(Math.hypot(b[0]! - a[0]!, b[1]! - a[1]!) / 4))
    for (let k = 0; k < n; k++) points.push([a[0]! + ((b[0]! - a[0]!) * k) / n, a[1]! + ((b[1]! - a[1]!) * k) / n])
  }
  const last = line[line.length - 1]!
  points.push([last[0]!, last[1]!])
  const edge = points.map(([x, y], i) => {
    const p = points[Math.max(0, i - 1)]!
    const q = points[Math.min(points.length - 1, i + 1)]!
    const l = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1
    const [nx, ny] = [(-(q[1] - p[1]) / l) * (width / 2), ((q[0] - p[0]) / l) * (width / 2)]
    const z = (x: number, y: number) => ground.near(x, y) + 0.25
    return [
      [x + nx, y + ny, z(x + nx, y + ny)],
      [x - nx, y - ny, z(x - nx, y - ny)],
    ]
  })
  for (let i = 0; i + 1 < edge.length; i++) {
    const [a, b] = edge[i]!
    const [c, d] = edge[i + 1]!
    mass.triangle(b!, d!, c!, tone)
    mass.triangle(b!, c!, a!, tone)
  }
}
