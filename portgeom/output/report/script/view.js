// One picture of a port that can be turned, cut and read: its controls, and what fingers, keys and mouse do to it.

const STILL_PX = 5;
const NEAR_PX = 24;
const TURN_DEG = 5;
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

function boundsOf(port, painter) {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  const { places } = skinOf(painter, port, port.states[0]);
  for (let k = 0; k < places.length; k += 1) {
    low[k % 3] = Math.min(low[k % 3], places[k]);
    high[k % 3] = Math.max(high[k % 3], places[k]);
  }
  return { middle: low.map((value, k) => 0.5 * (value + high[k])), size: Math.hypot(...low.map((value, k) => high[k] - value)) };
}

function newView(figure, port, shared, painter, onState) {
  const canvas = figure.querySelector("canvas");
  const pen = canvas.getContext("2d");
  const read = figure.querySelector(".picked");
  const control = (name) => figure.querySelector(`[data-control="${name}"]`);
  const view = {
    ...boundsOf(port, painter),
    camera: newCamera(),
    state: port.states[0],
    colour: control("colour").value,
    hazards: false,
    cut: [0, 0, 0],
    picked: null,
  };
  let waiting = false;

  const draw = () => {
    waiting = false;
    const per = Math.min(2, window.devicePixelRatio || 1);
    const wide = Math.round(canvas.clientWidth * per);
    const tall = Math.round(canvas.clientHeight * per);
    if (wide < 2 || tall < 2) return;
    if (canvas.width !== wide || canvas.height !== tall) Object.assign(canvas, { width: wide, height: tall });
    view.cut[1] = shared.value;
    const painted = paint(painter, port, view, wide, tall);
    pen.clearRect(0, 0, wide, tall);
    pen.drawImage(painted, 0, 0);
    drawWords(pen, port, view, wide, tall, per, getComputedStyle(canvas).color);
    canvas.dataset.drawn = String(Number(canvas.dataset.drawn || 0) + 1);
  };
  view.redraw = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(draw);
  };

  const readControls = () => {
    view.state = port.states[Number(control("state").value)];
    view.colour = control("colour").value;
    view.hazards = Boolean(control("hazards") && control("hazards").checked);
    view.cut[0] = Number(control("cut").value);
    for (const bar of figure.querySelectorAll("[data-bar]")) bar.hidden = bar.dataset.bar !== view.colour;
    if (view.picked) tellPicked();
    onState(view.state);
    view.redraw();
  };
  const tellPicked = () => {
    read.textContent = placeLine(port, view.state, view.picked.slab, view.picked.ray);
  };
  for (const name of ["state", "colour", "hazards", "cut"]) {
    const input = control(name);
    if (input) input.addEventListener("change", readControls);
  }
  for (const button of figure.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => turnTo(view, VIEWS[button.dataset.view]));
  }
  const acts = {
    nearer: () => zoomed(view.camera, 1.3),
    further: () => zoomed(view.camera, 1 / 1.3),
    whole: () => Object.assign(view.camera, newCamera()),
    read: () => pick(0.5 * canvas.clientWidth, 0.5 * canvas.clientHeight),
  };
  for (const button of figure.querySelectorAll("[data-act]")) {
    button.addEventListener("click", () => {
      acts[button.dataset.act]();
      view.redraw();
    });
  }
  const pick = (x, y) => {
    view.picked = nearestSeen(painter, port, view, canvas.clientWidth, canvas.clientHeight, x, y);
    if (!view.picked) {
      read.textContent = "No wall there.";
    } else {
      tellPicked();
      shared.set(port.distance[view.picked.slab]);
    }
    view.redraw();
  };
  followFingers(canvas, view, pick);
  followKeys(canvas, view, acts, port, shared);
  shared.on(() => {
    if (view.cut[0]) view.redraw();
  });
  new ResizeObserver(view.redraw).observe(canvas);
  readControls();
  return view;
}

function turnTo(view, way) {
  const start = { ...view.camera };
  const turn = ((way.turn - start.turn + 540) % 360) - 180;
  const began = performance.now();
  const step = (now) => {
    const share = calm.matches ? 1 : Math.min(1, (now - began) / 220);
    const eased = share * (2 - share);
    view.camera.turn = start.turn + eased * turn;
    view.camera.tilt = start.tilt + eased * (way.tilt - start.tilt);
    view.camera.zoom = start.zoom + eased * (1 - start.zoom);
    view.camera.panX = start.panX * (1 - eased);
    view.camera.panY = start.panY * (1 - eased);
    view.redraw();
    if (share < 1) requestAnimationFrame(step);
  };
  step(began);
}

// One finger turns, two zoom and move, a tap reads; so does a mouse, its wheel zooms.
function followFingers(canvas, view, pick) {
  const fingers = new Map();
  let moved = 0;
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    if (fingers.size === 0) moved = 0;
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const [x, y] = [event.clientX, event.clientY];
    const [dx, dy] = [x - before[0], y - before[1]];
    moved += Math.hypot(dx, dy);
    if (fingers.size === 1 && !event.shiftKey) {
      turned(view.camera, -0.5 * dx, 0.5 * dy);
    } else {
      const others = [...fingers.entries()].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
      if (others.length) {
        const apart = (at) => Math.hypot(at[0] - others[0][0], at[1] - others[0][1]) || 1;
        zoomed(view.camera, apart([x, y]) / apart(before));
      }
      const share = 1 / (Math.max(1, fingers.size) * canvas.clientWidth);
      view.camera.panX += dx * share;
      view.camera.panY += dy * share;
    }
    fingers.set(event.pointerId, [x, y]);
    view.redraw();
  });
  const lift = (event) => {
    const known = fingers.delete(event.pointerId);
    if (known && event.type === "pointerup" && fingers.size === 0 && moved < STILL_PX) {
      const box = canvas.getBoundingClientRect();
      pick(event.clientX - box.left, event.clientY - box.top);
    }
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener(
    "wheel",
    (event) => {
      if (document.activeElement !== canvas && !event.ctrlKey) return;
      event.preventDefault();
      zoomed(view.camera, Math.exp(-0.0015 * event.deltaY));
      view.redraw();
    },
    { passive: false },
  );
}

function followKeys(canvas, view, acts, port, shared) {
  canvas.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const { camera } = view;
    const keys = {
      ArrowLeft: () => (event.shiftKey ? (camera.panX -= 0.05) : turned(camera, TURN_DEG, 0)),
      ArrowRight: () => (event.shiftKey ? (camera.panX += 0.05) : turned(camera, -TURN_DEG, 0)),
      ArrowUp: () => (event.shiftKey ? (camera.panY -= 0.05) : turned(camera, 0, -TURN_DEG)),
      ArrowDown: () => (event.shiftKey ? (camera.panY += 0.05) : turned(camera, 0, TURN_DEG)),
      "+": acts.nearer,
      "=": acts.nearer,
      "-": acts.further,
      Home: acts.whole,
      Enter: acts.read,
      PageUp: () => shared.set(shared.value - stepOf(port)),
      PageDown: () => shared.set(shared.value + stepOf(port)),
    };
    if (!keys[event.key]) return;
    event.preventDefault();
    keys[event.key]();
    view.redraw();
  });
}

function isCut(view, along, across) {
  const [mode, at] = view.cut;
  return (mode === 1 && along > at) || (mode === 2 && along < at) || (mode === 3 && across > 0);
}

// The slab and ray of the nearest place of the skin that is seen near a point of the picture, or null.
function nearestSeen(painter, port, view, wide, tall, x, y) {
  const { places, far, across, normals } = skinOf(painter, port, view.state);
  const seen = projection(view.camera, view.middle, view.size, wide, tall);
  const found = [];
  for (let k = 0; k < far.length; k += 1) {
    if (isCut(view, far[k], across[k])) continue;
    const at = seen.project(places[3 * k], places[3 * k + 1], places[3 * k + 2]);
    const away = Math.hypot(at[0] - x, at[1] - y);
    if (away > NEAR_PX) continue;
    found.push({ k, away, near: at[2], facing: dotAt(normals, k, seen.out) });
  }
  if (!found.length) return null;
  // of the places close by, those of the nearest wall: a wall is thinner seen than a port is wide
  const closest = Math.min(...found.map((f) => f.away));
  const close = found.filter((f) => f.away <= closest + 6);
  const front = Math.max(...close.map((f) => f.near));
  const wall = close.filter((f) => f.near > front - 0.06 * view.size);
  const { k } = wall.reduce((a, b) => (b.away < a.away ? b : a));
  return { slab: Math.floor(k / port.rays), ray: k % port.rays };
}

function dotAt(vectors, k, way) {
  return vectors[3 * k] * way[0] + vectors[3 * k + 1] * way[1] + vectors[3 * k + 2] * way[2];
}

// Names of what lies behind, the place that was read, and which way is right, in and up.
function drawWords(pen, port, view, wide, tall, per, colour) {
  const seen = projection(view.camera, view.middle, view.size, wide, tall);
  pen.font = `${Math.round(12 * per)}px system-ui, sans-serif`;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineWidth = per;
  pen.fillStyle = colour;
  pen.strokeStyle = colour;
  if (view.hazards) {
    for (const shape of port.hazards) {
      let top = 0;
      for (let k = 0; k < shape.places.length; k += 3) {
        if (shape.places[k + 2] > shape.places[top + 2]) top = k;
      }
      const at = seen.project(shape.places[top], shape.places[top + 1], shape.places[top + 2]);
      const name = [...shape.name];
      pen.fillText(name.length > 24 ? `${name.slice(0, 23).join("")}…` : shape.name, at[0], at[1] - 9 * per);
    }
  }
  if (view.picked) {
    const { places } = view.state.skin;
    const k = 3 * (view.picked.slab * port.rays + view.picked.ray);
    const at = seen.project(places[k], places[k + 1], places[k + 2]);
    pen.beginPath();
    pen.arc(at[0], at[1], 5 * per, 0, 2 * Math.PI);
    pen.lineWidth = 2 * per;
    pen.stroke();
  }
  const length = (wide < 500 * per ? 16 : 26) * per;
  const corner = [1.6 * length, tall - 1.6 * length];
  pen.lineWidth = 1.5 * per;
  [["right", 0], ["in", 1], ["up", 2]].forEach(([word, axis]) => {
    const x = length * seen.right[axis];
    const y = -length * seen.up[axis];
    if (Math.hypot(x, y) < 0.25 * length) return;
    pen.beginPath();
    pen.moveTo(...corner);
    pen.lineTo(corner[0] + x, corner[1] + y);
    pen.stroke();
    pen.fillText(word, corner[0] + 1.4 * x, corner[1] + 1.4 * y);
  });
}
