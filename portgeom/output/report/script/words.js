// In which words is a figure told? The same as on the rest of the page.

function plain(text) {
  return /^-[0.]*$/.test(text) ? text.slice(1) : text;
}

function lengthWords(port, value) {
  return `${plain(value.toFixed(port.digits))} ${port.units}`;
}

function areaWords(port, value) {
  return `${plain(value.toFixed(port.areaDigits))} ${port.units}2`;
}

function proudWords(port, value) {
  if (Math.abs(value) < port.atLine) return "at the line";
  if (value > 0) return `${lengthWords(port, value)} above the line: metal to take off`;
  return `already ${lengthWords(port, -value)} past the line`;
}

function wallWords(port, code) {
  if (code === NO_SHADE) return "metal behind the wall: not known";
  if (code === 0) return "metal behind the wall: none, open";
  if (code === SHADES) return `metal behind the wall: ${lengthWords(port, port.wall.high)} or more, or nothing named`;
  return `metal behind the wall: ${lengthWords(port, shadeValue(code, port.wall))}`;
}

function clockWords(port, degrees) {
  const hour = Math.round(degrees / 30) % 12 || 12;
  return `${hour} o'clock, ${port.sides[Math.round(degrees / 90) % 4]}`;
}

function placeWords(port, distance) {
  const at = betweenSlabs(port, distance);
  const square = plain(along(port.square, at).toFixed(port.digits));
  const roof = plain(along(port.along_roof, at).toFixed(port.digits));
  return `${lengthWords(port, distance)} along the path (${square} square from the face, ${roof} along the roof)`;
}

// The greatest height over the line at a distance, the least code of a wall there, null where there is none.
function worstAt(port, state, distance) {
  const at = betweenSlabs(port, distance);
  const slab = at.share < 0.5 ? at.low : at.high;
  let proud = null;
  let wall = null;
  for (let ray = 0; ray < port.rays; ray += 1) {
    const k = slab * port.rays + ray;
    if (state.proud[k] !== NO_SHADE && (proud === null || state.proud[k] > proud)) proud = state.proud[k];
    if (state.wall && state.wall[k] !== NO_SHADE && (wall === null || state.wall[k] < wall)) wall = state.wall[k];
  }
  return { proud, wall };
}

// What is told of a section, one thing a line.
function sectionLines(port, shown, distance) {
  const at = betweenSlabs(port, distance);
  const now = port.states[0];
  const target = port.states.find((state) => state.kind === "target");
  const lines = [`At ${placeWords(port, distance)}.`];
  const areas = [`${areaWords(port, along(now.flow, at))} ${now.name}`];
  if (shown !== now && shown !== target) areas.push(`${areaWords(port, along(shown.flow, at))} ${shown.name}`);
  areas.push(`${areaWords(port, along(target.flow, at))} once the metal is off`);
  lines.push(`Flow area ${areas.join(", ")}.`);
  const worst = worstAt(port, shown, distance);
  if (worst.proud !== null) {
    lines.push(`Roof, ${shown.name}, at its highest ${proudWords(port, shadeValue(worst.proud, port.proud))}.`);
  }
  if (worst.wall !== null) lines.push(`Thinnest ${wallWords(port, worst.wall)}, ${shown.name}.`);
  return lines;
}

// What is told of a place of the wall that was tapped.
function placeLine(port, state, slab, ray) {
  const k = slab * port.rays + ray;
  const tip = tipOf(port, state, slab, ray);
  const parts = [placeWords(port, port.distance[slab]), clockWords(port, clockOf(port, slab, tip[0], tip[1]))];
  const proud = shadeValue(state.proud[k], port.proud);
  if (proud !== null) parts.push(proudWords(port, proud));
  if (state.wall) parts.push(wallWords(port, state.wall[k]));
  return `${state.name}: ${parts.join("; ")}.`;
}
