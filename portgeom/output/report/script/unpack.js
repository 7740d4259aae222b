// What does a port's data block hold, as places in the head and sections in their planes?

const NO_SHADE = 255;
const SHADES = 254;

function bytesOf(url) {
  const text = atob(url.slice(url.indexOf(",") + 1));
  const bytes = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k += 1) bytes[k] = text.charCodeAt(k);
  return bytes;
}

function floatsOf(url) {
  return new Float32Array(bytesOf(url).buffer);
}

function codesOf(url) {
  return new Uint16Array(bytesOf(url).buffer);
}

// Lay a port's rays out again. Every state keeps its distances; its sections and places follow from them.
function unpackPort(told) {
  const port = {
    name: told.name,
    units: told.units,
    digits: told.digits,
    areaDigits: told.area_digits,
    atLine: told.at_line,
    slabs: told.slabs,
    rays: told.rays,
    rhoStep: told.rho_step,
    sides: told.sides,
    stations: told.stations.map(([name, slab]) => ({ name, slab })),
    proud: unpackScale(told.proud),
    wall: told.wall ? unpackScale(told.wall) : null,
  };
  for (const name of ["distance", "square", "along_roof", "origin", "right", "up", "centre", "half", "foot", "direction"]) {
    port[name] = floatsOf(told[name]);
  }
  port.states = told.states.map((state) => ({
    name: state.name,
    kind: state.kind,
    rho: codesOf(state.rho),
    proud: bytesOf(state.proud),
    wall: state.wall ? bytesOf(state.wall) : null,
    flow: floatsOf(state.flow),
  }));
  port.hazards = told.hazards.map((shape) => ({
    name: shape.name,
    sheet: shape.sheet,
    places: Float32Array.from(codesOf(shape.places), (code, k) => shape.corner[k % 3] + code * shape.step),
    triangles: codesOf(shape.triangles),
  }));
  port.first = port.distance[0];
  port.last = port.distance[port.slabs - 1];
  return port;
}

function unpackScale(told) {
  return { ...told, ramp: bytesOf(told.ramp) };
}

// The value of a shade, or null where there is none.
function shadeValue(code, scale) {
  return code === NO_SHADE ? null : scale.low + (code / SHADES) * (scale.high - scale.low);
}

// Where a ray of a state ends in its section plane: across to the right, up.
function tipOf(port, state, slab, ray) {
  const rho = state.rho[slab * port.rays + ray] * port.rhoStep;
  const across = port.centre[2 * slab] + port.half[slab] * port.foot[ray] + rho * port.direction[2 * ray];
  const up = port.centre[2 * slab + 1] + rho * port.direction[2 * ray + 1];
  return [across, up];
}

function inHead(port, slab, across, up) {
  const k = 3 * slab;
  return [0, 1, 2].map((axis) => port.origin[k + axis] + across * port.right[k + axis] + up * port.up[k + axis]);
}

// Which slabs a distance lies between, and how far from the first to the second.
function betweenSlabs(port, distance) {
  let low = 0;
  let high = port.slabs - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (port.distance[middle] <= distance) low = middle;
    else high = middle;
  }
  const span = port.distance[high] - port.distance[low];
  const share = span > 0 ? (distance - port.distance[low]) / span : 0;
  return { low, high, share: Math.min(1, Math.max(0, share)) };
}

function along(values, at) {
  return values[at.low] + at.share * (values[at.high] - values[at.low]);
}

// A state's section at a distance: its points across and up, in its plane.
function sectionAt(port, state, distance) {
  const at = betweenSlabs(port, distance);
  const points = [];
  for (let ray = 0; ray < port.rays; ray += 1) {
    const first = tipOf(port, state, at.low, ray);
    const then = tipOf(port, state, at.high, ray);
    points.push([first[0] + at.share * (then[0] - first[0]), first[1] + at.share * (then[1] - first[1])]);
  }
  return points;
}

// Degrees from straight up, clockwise looking in, of a place of a section.
function clockOf(port, slab, across, up) {
  const degrees = (Math.atan2(across - port.centre[2 * slab], up - port.centre[2 * slab + 1]) * 180) / Math.PI;
  return (degrees + 360) % 360;
}
