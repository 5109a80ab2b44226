// Where the eye stands for each button.  Metres, site frame less the middle, z up.
import { MathUtils, Vector3 } from "three";

const OPENING_DEG = 42;
const DOOR_OPENING_DEG = 78;
const STEPS = 40;
// Share of the picture that ramp and door fill.
const FILLED = 0.76;
const NEAREST_M = 3;

// How far the points' middle in the picture lies off the eye's line, as a level and an upright step at `reach`.
function centre(points, eye, ahead, reach) {
  const right = new Vector3().crossVectors(ahead, new Vector3(0, 0, 1)).normalize();
  const up = new Vector3().crossVectors(right, ahead);
  let [low, high, left, most] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const point of points) {
    const off = point.clone().sub(eye);
    const depth = Math.max(off.dot(ahead), 0.1);
    left = Math.min(left, off.dot(right) / depth);
    most = Math.max(most, off.dot(right) / depth);
    low = Math.min(low, off.dot(up) / depth);
    high = Math.max(high, off.dot(up) / depth);
  }
  return right.multiplyScalar((reach * (left + most)) / 2).addScaledVector(up, (reach * (low + high)) / 2);
}

// Eye and target along `ahead`, the ramp in the middle of the picture and filling it.
function fit(points, ahead, openingDeg, aspect) {
  const right = new Vector3().crossVectors(ahead, new Vector3(0, 0, 1)).normalize();
  const up = new Vector3().crossVectors(right, ahead);
  const tall = Math.tan(MathUtils.degToRad(openingDeg) / 2) * FILLED;
  const wide = tall * aspect;
  const middle = points.reduce((sum, point) => sum.add(point), new Vector3()).divideScalar(points.length);
  let eye = middle.clone();
  for (let i = 0; i < STEPS; i += 1) {
    let back = -Infinity;
    for (const point of points) {
      const off = point.clone().sub(middle);
      const depth = Math.max(Math.abs(off.dot(right)) / wide, Math.abs(off.dot(up)) / tall);
      back = Math.max(back, depth - off.dot(ahead));
    }
    eye = middle.clone().addScaledVector(ahead, -back);
    middle.add(centre(points, eye, ahead, back));
  }
  return { eye, target: middle };
}

// A person on the ground backs off until the whole ramp is in the picture, and looks at its middle.
function standBack(points, towards, height, openingDeg, aspect) {
  const tall = Math.tan(MathUtils.degToRad(openingDeg) / 2) * FILLED;
  const wide = tall * aspect;
  const foot = points.reduce((sum, point) => sum.add(point), new Vector3()).divideScalar(points.length);
  let target = foot.clone();
  let away = NEAREST_M;
  let eye = null;
  for (let i = 0; i < STEPS; i += 1) {
    eye = new Vector3(foot.x + away * towards[0], foot.y + away * towards[1], height);
    const ahead = target.clone().sub(eye).normalize();
    target = eye.clone().addScaledVector(ahead, away);
    target.add(centre(points, eye, ahead, away));
    const sight = target.clone().sub(eye).normalize();
    const right = new Vector3().crossVectors(sight, new Vector3(0, 0, 1)).normalize();
    const up = new Vector3().crossVectors(right, sight);
    let short = -Infinity;
    for (const point of points) {
      const off = point.clone().sub(eye);
      const depth = Math.max(Math.abs(off.dot(right)) / wide, Math.abs(off.dot(up)) / tall, 0.5);
      short = Math.max(short, depth - off.dot(sight));
    }
    away = Math.max(away + 0.7 * short, NEAREST_M);
  }
  return { eye, target };
}

export function findEye(view, way, aspect) {
  const points = way.subject.map((point) => new Vector3(...point));
  const eyes = way.eyes;
  if (view === "door") {
    const eye = new Vector3(...eyes.door);
    const ahead = new Vector3(...eyes.doorAhead);
    // A target close at hand: to turn is to look about.
    const opening = aspect < 1 ? DOOR_OPENING_DEG : DOOR_OPENING_DEG - 14;
    return { eye, target: eye.clone().addScaledVector(ahead, 0.4), opening, turnSpeed: -0.35 };
  }
  if (view === "street") {
    const seen = standBack(points, eyes.street, eyes.streetHeight, OPENING_DEG, aspect);
    return { ...seen, opening: OPENING_DEG, turnSpeed: 0.8 };
  }
  const ahead = new Vector3(...(view === "above" ? eyes.aboveAhead : eyes.allAhead));
  return { ...fit(points, ahead, OPENING_DEG, aspect), opening: OPENING_DEG, turnSpeed: 0.8 };
}
