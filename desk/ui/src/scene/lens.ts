// The picture through the lens: a camera posed as the path says, on a canvas.
import * as THREE from 'three'
import type { Pose } from './data'
import type { World } from './world'

export class Lens {
  camera = new THREE.PerspectiveCamera(30, 16 / 9, 0.5, 12000)
  renderer: THREE.WebGLRenderer

  constructor(canvas: HTMLCanvasElement, keepPixels = false) {
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: false, powerPreference: 'low-power', preserveDrawingBuffer: keepPixels })
    this.renderer.setPixelRatio(1)
    this.camera.up.set(0, 0, 1)
  }

  size(width: number, height: number) {
    this.renderer.setSize(width, height, false)
    this.camera.aspect = width / height
  }

  pose(p: Pose) {
    pose(this.camera, p)
  }

  draw(world: World) {
    this.renderer.render(world.scene, this.camera)
  }

  /** Where a place appears, in shares of the frame from the left and the top; null behind the camera. */
  where(x: number, y: number, z: number): [number, number] | null {
    const v = new THREE.Vector3(x, y, z).project(this.camera)
    return v.z > 1 ? null : [(v.x + 1) / 2, (1 - v.y) / 2]
  }

  dispose() {
    this.renderer.dispose()
  }
}

/** Azimuth clockwise from north, tilt up, roll right side down. */
export function pose(camera: THREE.PerspectiveCamera, p: Pose) {
  const a = (p.azimuth * Math.PI) / 180
  const h = (p.tilt * Math.PI) / 180
  camera.position.set(p.x, p.y, p.z)
  // A camera that looks straight down has no level: its top then points along its azimuth.
  const steep = Math.abs(p.tilt) > 89.9
  camera.up.set(steep ? Math.sin(a) * -Math.sign(p.tilt) : 0, steep ? Math.cos(a) * -Math.sign(p.tilt) : 0, steep ? 0 : 1)
  camera.lookAt(p.x + Math.sin(a) * Math.cos(h), p.y + Math.cos(a) * Math.cos(h), p.z + Math.sin(h))
  camera.rotateZ((-p.roll * Math.PI) / 180)
  camera.fov = p.vfov
  camera.updateProjectionMatrix()
}

/** Where the horizon crosses the left and right edge of the frame, in shares from the top. */
export function horizon(p: Pose, aspect: number): [number, number] {
  const half = Math.tan((p.vfov * Math.PI) / 360)
  const y = Math.tan((p.tilt * Math.PI) / 180) / half // of the middle, in half heights below it when tilted up
  const slope = Math.tan((p.roll * Math.PI) / 180) * aspect
  return [(1 + y + slope) / 2, (1 + y - slope) / 2]
}
