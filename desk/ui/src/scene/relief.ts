// The whole site from outside, with what matters for flying drawn on it.
import * as THREE from 'three'
import { OrbitControls } from 'three/addons/controls/OrbitControls.js'
import type { Path, Site } from './data'
import type { World } from './world'

export class Relief {
  renderer: THREE.WebGLRenderer
  camera = new THREE.PerspectiveCamera(38, 16 / 9, 5, 30000)
  controls: OrbitControls
  #marks = new THREE.Group()
  #world: World | null = null

  constructor(canvas: HTMLCanvasElement, changed: () => void) {
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true })
    this.renderer.setPixelRatio(1)
    this.camera.up.set(0, 0, 1)
    this.controls = new OrbitControls(this.camera, canvas)
    this.controls.maxPolarAngle = 1.5
    this.controls.minDistance = 40
    this.controls.maxDistance = 15000
    this.controls.addEventListener('change', changed)
  }

  show(world: World) {
    this.#world?.scene.remove(this.#marks)
    this.#world = world
    world.scene.add(this.#marks)
  }

  /** Looks at a place from the south-west, so far away that a length fits. */
  look(x: number, y: number, z: number, span: number) {
    this.controls.target.set(x, y, z)
    this.camera.position.set(x - span * 0.55, y - span * 0.95, z + span * 0.75)
    this.controls.update()
  }

  turn(left: number, up: number, nearer: number) {
    const v = this.camera.position.clone().sub(this.controls.target)
    const s = new THREE.Spherical().setFromVector3(new THREE.Vector3(v.x, v.z, -v.y))
    s.theta += left
    s.phi = Math.max(0.05, Math.min(1.5, s.phi - up))
    s.radius *= nearer
    const w = new THREE.Vector3().setFromSpherical(s)
    this.camera.position.set(w.x, -w.z, w.y).add(this.controls.target)
    this.controls.update()
  }

  /** Draws areas, people, launch spots and paths; chosen is the path in colour. */
  mark(site: Site, paths: Path[], chosen: string, t: number, ink: string) {
    for (const x of this.#marks.children) {
      const mesh = x as THREE.Mesh
      mesh.geometry.dispose()
      ;(mesh.material as THREE.Material).dispose()
    }
    this.#marks.clear()
    const ground = this.#world!.ground
    const line = (points: number[], color: THREE.ColorRepresentation, dashed = false) => {
      const g = new THREE.BufferGeometry()
      g.setAttribute('position', new THREE.Float32BufferAttribute(points, 3))
      const m = dashed ? new THREE.LineDashedMaterial({ color, dashSize: 18, gapSize: 12 }) : new THREE.LineBasicMaterial({ color })
      const l = new THREE.Line(g, m)
      if (dashed) l.computeLineDistances()
      this.#marks.add(l)
    }
    const draped = (ring: number[][], lift: number) => {
      const out: number[] = []
      for (let i = 0; i < ring.length; i++) {
        const a = ring[i]!
        const b = ring[(i + 1) % ring.length]!
        const n = Math.max(1, Math.ceil(Math.hypot(b[0]! - a[0]!, b[1]! - a[1]!) / 15))
        for (let k = 0; k <= n; k++) {
          const x = a[0]! + ((b[0]! - a[0]!) * k) / n
          const y = a[1]! + ((b[1]! - a[1]!) * k) / n
          out.push(x, y, ground.near(x, y) + lift)
        }
      }
      return out
    }
    for (const f of site.features) {
      if (f.kind === 'area' && f.shape === 'polygon') {
        const red = f.status === 'out of bounds'
        for (const lift of [2, ...(f.ceiling_m === undefined || f.ceiling_m === null || f.reference !== 'ground' ? [] : [f.ceiling_m])]) line(draped(f.xyz, lift), red ? 0xb3321a : 0x2d5a3a, lift > 2)
      }
      if ((f.kind === 'people' || f.kind === 'set') && f.shape === 'polygon') line(draped(f.xyz, 2), 0x7a4a00)
      if (f.kind === 'launch' || f.kind === 'landing' || f.kind === 'observer') {
        const [x, y, z] = f.xyz[0] as [number, number, number]
        line([x, y, z, x, y, z + 40], f.kind === 'launch' ? 0x8c2a14 : ink)
      }
    }
    for (const p of paths) {
      const mine = p.slate === chosen
      line(p.xyz.flat(), mine ? 0xb3321a : ink)
      if (!mine) continue
      for (let i = 0; i < p.xyz.length; i += Math.max(1, Math.floor(p.xyz.length / 14))) {
        const [x, y, z] = p.xyz[i] as [number, number, number]
        line([x, y, z, x, y, p.ground_m[i] ?? ground.near(x, y)], 0xb3321a)
      }
      const k = p.t_s.findIndex((s) => s >= t)
      const [x, y, z] = p.xyz[Math.max(0, k)] as [number, number, number]
      const ball = new THREE.Mesh(new THREE.SphereGeometry(4, 12, 8), new THREE.MeshBasicMaterial({ color: 0xb3321a }))
      ball.position.set(x, y, z)
      this.#marks.add(ball)
      const a = (p.azimuth_deg[Math.max(0, k)]! * Math.PI) / 180
      const h = (p.tilt_deg[Math.max(0, k)]! * Math.PI) / 180
      line([x, y, z, x + 90 * Math.sin(a) * Math.cos(h), y + 90 * Math.cos(a) * Math.cos(h), z + 90 * Math.sin(h)], 0xb3321a)
    }
  }

  draw() {
    if (!this.#world) return
    this.renderer.render(this.#world.scene, this.camera)
  }

  size(width: number, height: number) {
    this.renderer.setSize(width, height, false)
    this.camera.aspect = width / height
    this.camera.updateProjectionMatrix()
  }

  dispose() {
    this.controls.dispose()
    this.renderer.dispose()
  }
}
