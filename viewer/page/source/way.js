// One way to build it as three.js objects: everything of one colour in one mesh, its edges inked.
import {
  BufferAttribute,
  BufferGeometry,
  DoubleSide,
  EdgesGeometry,
  FrontSide,
  Group,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
} from "three";
import { unpack } from "./data.js";

const EDGE_DEG = 35;
// Lines and areas lie a centimetre above the ground: the ground is drawn as if it were a little further off.
const UNDER = { polygonOffset: true, polygonOffsetFactor: 2, polygonOffsetUnits: 4 };
const EDGED = { polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 };

function join(data, parts) {
  const shapes = parts.map((part) => unpack(data, part.mesh));
  const points = new Float32Array(shapes.reduce((sum, shape) => sum + shape.points.length, 0));
  const corners = new Uint32Array(shapes.reduce((sum, shape) => sum + shape.corners.length, 0));
  const owners = [];
  let [pointsAt, cornersAt] = [0, 0];
  shapes.forEach((shape, i) => {
    points.set(shape.points, pointsAt);
    shape.corners.forEach((corner, k) => {
      corners[cornersAt + k] = corner + pointsAt / 3;
    });
    owners.push({ end: (cornersAt + shape.corners.length) / 3, part: parts[i] });
    pointsAt += shape.points.length;
    cornersAt += shape.corners.length;
  });
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(points, 3));
  geometry.setIndex(new BufferAttribute(corners, 1));
  return { geometry, owners };
}

function buildMaterial(finish) {
  const look = { color: finish.colour, side: finish.thin ? DoubleSide : FrontSide };
  if (finish.flat) return new MeshBasicMaterial(look);
  return new MeshLambertMaterial({ ...look, flatShading: true, ...(finish.ground ? UNDER : EDGED) });
}

export function buildWay(data, way) {
  const group = new Group();
  const solid = [];
  const dense = [];
  for (const [name, finish] of Object.entries(data.finishes)) {
    const parts = way.parts.filter((part) => data.meshes[part.mesh].group === name);
    if (parts.length === 0) continue;
    const { geometry, owners } = join(data, parts);
    geometry.computeVertexNormals();
    const mesh = new Mesh(geometry, buildMaterial(finish));
    mesh.userData.owners = owners;
    group.add(mesh);
    if (!finish.flat) solid.push(mesh);
    if (!finish.flat && !finish.slender) dense.push(mesh);
    if (finish.edge) {
      const material = new LineBasicMaterial({ color: finish.edge });
      group.add(new LineSegments(new EdgesGeometry(geometry, EDGE_DEG), material));
    }
  }
  // What can be tapped, and what hides a word behind it: one looks past rails and legs.
  return { group, solid, dense };
}

// The part that a triangle of a joined mesh belongs to.
export function findOwner(mesh, triangle) {
  return mesh.userData.owners.find((owner) => triangle < owner.end).part;
}

// The same part once more, in the colour of what is picked.
export function buildMarked(data, parts, colour) {
  const { geometry } = join(data, parts);
  const material = new MeshBasicMaterial({ color: colour, transparent: true, opacity: 0.7, depthTest: false, side: DoubleSide });
  const mesh = new Mesh(geometry, material);
  // Over everything: a leg behind a rail is to be found as well.
  mesh.renderOrder = 1;
  return mesh;
}
