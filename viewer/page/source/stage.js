// The picture that turns: scene, light, fingers, taps.
import {
  Box3,
  CircleGeometry,
  Color,
  DirectionalLight,
  HemisphereLight,
  Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Raycaster,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { findEye } from "./eyes.js";
import { buildLabels } from "./labels.js";
import { buildMarked, buildWay, findOwner } from "./way.js";

const TAP_PX = 10;
const TAP_MS = 600;
const STILL_MS = 120;
const FLOOR_M = 120;
const SIGHT_SLACK_M = 0.15;
// How near the eye comes to a part that is asked for.
const NEAREST_M = 3;
const NEAR_M = 7;

export function buildStage(box, data, tongue, showCard) {
  const canvas = box.querySelector("canvas");
  const needle = box.querySelector("#north");
  const renderer = new WebGLRenderer({ canvas, antialias: true, powerPreference: "low-power" });
  renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
  const scene = new Scene();
  scene.background = new Color(data.background);
  const camera = new PerspectiveCamera(42, 1, 0.08, 400);
  camera.up.set(0, 0, 1);
  const controls = new OrbitControls(camera, canvas);
  controls.minDistance = 0.3;
  controls.maxDistance = 150;
  controls.maxPolarAngle = Math.PI * 0.56;
  // The block of ground stands on a wide pale floor: without it the yard would hang in the air.
  const floor = new Mesh(new CircleGeometry(FLOOR_M, 64), new MeshBasicMaterial({ color: data.around }));
  floor.position.z = data.shapes.low[2];
  const sky = new HemisphereLight("#ffffff", "#c9c4b6", 1.9);
  sky.position.set(0, 0, 1);
  const sun = new DirectionalLight("#fff8ee", 1.7);
  scene.add(floor, sky, sun);

  const labels = buildLabels(box.querySelector("#labels"), tongue);
  const ray = new Raycaster();
  const built = new Map();
  let way = data.ways[0];
  let shown = null;
  let marked = null;
  let view = "all";
  let isWaiting = false;
  let stillness = 0;

  // Is a place behind something, seen from the eye?
  function isHidden(place) {
    const ahead = place.clone().sub(camera.position);
    const away = ahead.length();
    ray.set(camera.position, ahead.normalize());
    const [first] = ray.intersectObjects(shown.dense, false);
    return first !== undefined && first.distance < away - SIGHT_SLACK_M;
  }
  function draw() {
    isWaiting = false;
    renderer.render(scene, camera);
    labels.place(camera, box.clientWidth, box.clientHeight);
    turnNeedle();
    // What hides a word is looked at once the picture stands still: it takes longer than a frame may.
    clearTimeout(stillness);
    stillness = setTimeout(() => {
      labels.hide(isHidden);
      labels.place(camera, box.clientWidth, box.clientHeight);
    }, STILL_MS);
  }
  function ask() {
    if (!isWaiting) {
      isWaiting = true;
      requestAnimationFrame(draw);
    }
  }
  function turnNeedle() {
    if (needle === null) return;
    const ahead = controls.target.clone().sub(camera.position);
    // From above the eye looks down: then what is up in the picture leads.
    if (Math.hypot(ahead.x, ahead.y) < 0.05 * ahead.length()) {
      ahead.set(0, 1, 0).applyQuaternion(camera.quaternion);
    }
    const heading = Math.atan2(ahead.x, ahead.y);
    needle.style.transform = `rotate(${data.north - heading}rad)`;
  }
  function fill() {
    const { clientWidth: width, clientHeight: height } = box;
    renderer.setSize(width, height, false);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
  }
  function lookFrom(wanted) {
    view = wanted;
    const { eye, target, opening, turnSpeed } = findEye(view, way, camera.aspect);
    camera.fov = opening;
    camera.updateProjectionMatrix();
    camera.position.copy(eye);
    controls.target.copy(target);
    controls.rotateSpeed = turnSpeed;
    controls.update();
    ask();
  }
  function unmark() {
    if (marked !== null) scene.remove(marked);
    marked = null;
    ask();
  }
  function mark(id) {
    unmark();
    marked = buildMarked(data, way.parts.filter((part) => part.card === id), data.picked);
    scene.add(marked);
    showCard({ id, ...way.cards[id] });
    ask();
  }
  // Comes near enough to see a part, above the card that tells of it.
  function comeNear() {
    const middle = new Box3().setFromObject(marked).getCenter(new Vector3());
    const ahead = controls.target.clone().sub(camera.position);
    const away = Math.min(Math.max(ahead.length(), NEAREST_M), NEAR_M);
    ahead.normalize();
    const up = new Vector3(0, 1, 0).applyQuaternion(camera.quaternion);
    controls.target.copy(middle).addScaledVector(up, -0.16 * away);
    camera.position.copy(controls.target).addScaledVector(ahead, -away);
    controls.update();
  }
  function showWay(number) {
    unmark();
    if (shown !== null) scene.remove(shown.group);
    way = data.ways[number];
    if (!built.has(number)) built.set(number, buildWay(data, way));
    shown = built.get(number);
    scene.add(shown.group);
    sun.position.set(...way.light);
    labels.write(way.labels);
    lookFrom(view);
  }
  function aim(x, y) {
    const { left, top, width, height } = canvas.getBoundingClientRect();
    const at = new Vector2(((x - left) / width) * 2 - 1, 1 - ((y - top) / height) * 2);
    ray.setFromCamera(at, camera);
    return ray.intersectObjects(shown.solid, false)[0];
  }
  function tap(x, y) {
    const hit = aim(x, y);
    const id = hit === undefined ? "" : findOwner(hit.object, hit.faceIndex).card;
    if (id === "") showCard(null);
    else mark(id);
  }

  const fingers = new Map();
  let isTap = false;
  canvas.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY, at: event.timeStamp });
    isTap = fingers.size === 1;
  });
  canvas.addEventListener("pointerup", (event) => {
    const began = fingers.get(event.pointerId);
    fingers.delete(event.pointerId);
    if (!isTap || began === undefined) return;
    const slid = Math.hypot(event.clientX - began.x, event.clientY - began.y);
    if (slid < TAP_PX && event.timeStamp - began.at < TAP_MS) tap(event.clientX, event.clientY);
  });
  canvas.addEventListener("pointercancel", (event) => fingers.delete(event.pointerId));
  controls.addEventListener("change", ask);
  new ResizeObserver(() => {
    const isOwn = camera.aspect === box.clientWidth / box.clientHeight;
    fill();
    if (!isOwn) lookFrom(view);
    ask();
  }).observe(box);
  fill();

  return {
    showWay,
    lookFrom,
    unmark,
    showPart(id) {
      if (view === "door") lookFrom("all");
      mark(id);
      comeNear();
    },
    relabel() {
      labels.write(way.labels);
      ask();
    },
    tellEye: () => camera.position.toArray(),
    // Page coordinates from which a tap meets the part, or null when it is not to be seen.
    findSpot(id) {
      for (const part of way.parts.filter((one) => one.card === id)) {
        const spot = findVisible(part);
        if (spot !== null) return spot;
      }
      return null;
    },
  };

  function findVisible(part) {
    const group = data.meshes[part.mesh].group;
    const mesh = shown.solid.find((one) => one.userData.owners.some((owner) => owner.part === part));
    if (mesh === undefined) return null;
    const index = mesh.userData.owners.findIndex((owner) => owner.part === part);
    const from = index === 0 ? 0 : mesh.userData.owners[index - 1].end;
    const corners = mesh.geometry.index;
    const points = mesh.geometry.attributes.position;
    const { left, top, width, height } = canvas.getBoundingClientRect();
    for (let t = from; t < mesh.userData.owners[index].end; t += 1) {
      const middle = new Vector3();
      for (let k = 0; k < 3; k += 1) {
        middle.add(new Vector3().fromBufferAttribute(points, corners.getX(3 * t + k)));
      }
      const seen = middle.divideScalar(3).project(camera);
      const x = left + ((seen.x + 1) / 2) * width;
      const y = top + ((1 - seen.y) / 2) * height;
      const hit = Math.abs(seen.x) < 0.95 && Math.abs(seen.y) < 0.95 ? aim(x, y) : undefined;
      if (hit !== undefined && findOwner(hit.object, hit.faceIndex).card === part.card) return { x, y, group };
    }
    return null;
  }
}
