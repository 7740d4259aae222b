// From where is the port looked at? Turned about the head's own upright, always in equal lengths, near or far.

const VIEWS = {
  entry: { turn: 0, tilt: 0 },
  roof: { turn: 61.3, tilt: 44.7 },
  side: { turn: 90, tilt: 0 },
  left: { turn: -61.3, tilt: 44.7 },
  seat: { turn: 0, tilt: -74 },
};

const LEAST_ZOOM = 0.5;
const MOST_ZOOM = 16;

function newCamera() {
  return { ...VIEWS.roof, zoom: 1, panX: 0, panY: 0 };
}

// Rows: right, up and towards the person, in the head frame.
function cameraAxes(camera) {
  const turn = (camera.turn * Math.PI) / 180;
  const tilt = (camera.tilt * Math.PI) / 180;
  const out = [Math.sin(turn) * Math.cos(tilt), -Math.cos(turn) * Math.cos(tilt), Math.sin(tilt)];
  const right = [Math.cos(turn), Math.sin(turn), 0];
  const up = [
    out[1] * right[2] - out[2] * right[1],
    out[2] * right[0] - out[0] * right[2],
    out[0] * right[1] - out[1] * right[0],
  ];
  return [right, up, out];
}

function turned(camera, turn, tilt) {
  camera.turn = ((camera.turn + turn + 540) % 360) - 180;
  camera.tilt = Math.min(90, Math.max(-90, camera.tilt + tilt));
}

function zoomed(camera, factor) {
  camera.zoom = Math.min(MOST_ZOOM, Math.max(LEAST_ZOOM, camera.zoom * factor));
}

// Where places fall on a canvas: a function from x, y, z to pixels across, pixels down and nearness.
function projection(camera, middle, size, wide, tall) {
  const [right, up, out] = cameraAxes(camera);
  const scale = (1.02 * Math.min(wide, 1.5 * tall) * camera.zoom) / size;
  const panX = camera.panX * wide;
  const panY = camera.panY * wide;
  const project = (x, y, z) => {
    const a = x - middle[0];
    const b = y - middle[1];
    const c = z - middle[2];
    return [
      0.5 * wide + panX + scale * (a * right[0] + b * right[1] + c * right[2]),
      0.5 * tall + panY - scale * (a * up[0] + b * up[1] + c * up[2]),
      a * out[0] + b * out[1] + c * out[2],
    ];
  };
  return { project, right, up, out, scale, panX, panY };
}
