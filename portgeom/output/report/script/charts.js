// Where on a chart is a distance, and which distance is under a finger? A chart says it in rows of its own.

const SVG = "http://www.w3.org/2000/svg";

function rowsOf(svg) {
  return svg.dataset.cursor.split(";").map((row) => row.split(",").map(Number));
}

function rowAt(rows, distance) {
  let k = 1;
  while (k < rows.length - 1 && rows[k][0] < distance) k += 1;
  const [a, b] = [rows[k - 1], rows[k]];
  const share = Math.min(1, Math.max(0, (distance - a[0]) / (b[0] - a[0] || 1)));
  return a.map((value, j) => value + share * (b[j] - value));
}

function distanceToLine(x, y, row) {
  const [, x0, y0, x1, y1] = row;
  const long = (x1 - x0) ** 2 + (y1 - y0) ** 2 || 1;
  const share = Math.min(1, Math.max(0, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / long));
  return Math.hypot(x - x0 - share * (x1 - x0), y - y0 - share * (y1 - y0));
}

// The distance whose line passes nearest to a point of the drawing.
function distanceAt(rows, x, y) {
  const fine = 200;
  const [first, last] = [rows[0][0], rows[rows.length - 1][0]];
  let best = first;
  let least = Infinity;
  for (let k = 0; k <= fine; k += 1) {
    const s = first + (k / fine) * (last - first);
    const away = distanceToLine(x, y, rowAt(rows, s));
    if (away < least) [best, least] = [s, away];
  }
  const span = (last - first) / fine;
  for (let k = -10; k <= 10; k += 1) {
    const s = Math.min(last, Math.max(first, best + (k / 10) * span));
    const away = distanceToLine(x, y, rowAt(rows, s));
    if (away < least) [best, least] = [s, away];
  }
  return best;
}

function linkChart(svg, port, shared) {
  const rows = rowsOf(svg);
  const cursor = document.createElementNS(SVG, "path");
  cursor.setAttribute("class", "cursor");
  cursor.setAttribute("fill", "none");
  svg.append(cursor);
  const show = (distance) => {
    const [s, x0, y0, x1, y1] = rowAt(rows, distance);
    cursor.setAttribute("d", `M${x0},${y0}L${x1},${y1}`);
    cursor.dataset.distance = s.toFixed(port.digits);
    cursor.toggleAttribute("hidden", distance > rows[rows.length - 1][0] + 1e-6);
  };
  shared.on(show);
  const point = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    shared.set(distanceAt(rows, at.x, at.y));
  };
  svg.addEventListener("pointerdown", point);
  svg.addEventListener("pointermove", (event) => {
    if (event.pointerType === "mouse" || event.buttons) point(event);
  });
  const frame = svg.closest(".draw");
  frame.addEventListener("keydown", (event) => {
    const next = keyedDistance(port, shared.value, event);
    if (next === null || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    shared.set(next);
  });
  frame.setAttribute("aria-description", "Arrow keys move the distance that is read in all charts.");
  return show;
}
