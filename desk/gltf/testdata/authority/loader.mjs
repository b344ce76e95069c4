// Two outside readers look at a .glb: Khronos' gltf-validator, and three.js' GLTFLoader, which plays the animation and
// projects points through the camera. Packages are pinned in bench/peers/package.json.
// node loader.mjs FILE.glb QUERY.json: QUERY holds [{t, width, height, points: [[x,y,z], ...]}], places in glTF axes.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";

const peers = new URL("../../../../bench/peers/", import.meta.url);
const require = createRequire(new URL("package.json", peers));
const validator = require("gltf-validator");
globalThis.self = globalThis;
const THREE = await import(new URL("node_modules/three/build/three.module.js", peers));
const { GLTFLoader } = await import(new URL("node_modules/three/examples/jsm/loaders/GLTFLoader.js", peers));

const [file, query] = process.argv.slice(2);
const bytes = readFileSync(file);
const report = await validator.validateBytes(new Uint8Array(bytes), { maxIssues: 100 });
const gltf = await new Promise((done, fail) =>
  new GLTFLoader().parse(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength), "", done, fail));
const mixer = new THREE.AnimationMixer(gltf.scene);
for (const clip of gltf.animations) mixer.clipAction(clip).play();
const camera = gltf.cameras[0];
const pixels = JSON.parse(readFileSync(query)).map(({ t, width, height, points }) => {
  mixer.setTime(Math.min(t, gltf.animations[0].duration - 1e-5)); // at its end an action starts over
  gltf.scene.updateMatrixWorld(true);
  return points.map((p) => {
    const v = new THREE.Vector3(...p).project(camera);
    return [((v.x + 1) / 2) * width, ((1 - v.y) / 2) * height];
  });
});
console.log(JSON.stringify({
  validator: validator.version(), three: THREE.REVISION, issues: report.issues, info: report.info,
  duration: gltf.animations[0].duration, meshes: gltf.scene.children.map((c) => c.name), pixels,
}));
