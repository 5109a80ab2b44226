// What the page carries: words and facts as JSON, shapes as base64 (see shapes.py for the layout).

export function readData() {
  const data = JSON.parse(document.getElementById("facts").textContent);
  const bytes = decode(document.getElementById("shapes").textContent.trim());
  const points = new Uint16Array(bytes.buffer, 0, data.shapes.points);
  const corners = new Uint16Array(bytes.buffer, 2 * data.shapes.points, data.shapes.corners);
  return { ...data, points, corners };
}

function decode(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return bytes;
}

// Points (metres, site frame less the middle) and triangles of one mesh.
export function unpack(data, number) {
  const mesh = data.meshes[number];
  const { step, low } = data.shapes;
  const points = new Float32Array(3 * mesh.points);
  for (let i = 0; i < points.length; i += 1) {
    points[i] = low[i % 3] + step * data.points[mesh.pointsAt + i];
  }
  return { points, corners: data.corners.subarray(mesh.cornersAt, mesh.cornersAt + 3 * mesh.triangles) };
}
