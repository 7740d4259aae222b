// The section at a distance, drawn from the same numbers as the port: as it is, the state shown, and as wanted.

function ringPath(points, scale, left, top) {
  const at = ([across, up]) => `${(left + scale * across).toFixed(2)},${(top - scale * up).toFixed(2)}`;
  return `M${points.map(at).join("L")}Z`;
}

// How far sections of a port reach from its path: one scale holds for all of them.
function reachOf(port) {
  const reach = { across: 0, up: 0, down: 0 };
  for (const state of port.states) {
    for (let slab = 0; slab < port.slabs; slab += 4) {
      for (let ray = 0; ray < port.rays; ray += 1) {
        const [across, up] = tipOf(port, state, slab, ray);
        reach.across = Math.max(reach.across, Math.abs(across));
        reach.up = Math.max(reach.up, up);
        reach.down = Math.max(reach.down, -up);
      }
    }
  }
  return reach;
}

function newSection(svg, port) {
  const reach = reachOf(port);
  const scale = 100 / reach.across;
  const tall = scale * (reach.up + reach.down) + 8;
  svg.setAttribute("viewBox", `-104 0 208 ${tall.toFixed(1)}`);
  const rings = ["target", "now", "shown", "line"].map((name) => {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("class", `ring ${name}`);
    svg.append(path);
    return path;
  });
  const cross = document.createElementNS(SVG, "path");
  cross.setAttribute("class", "ring cross");
  svg.append(cross);
  const top = 4 + scale * reach.up;
  cross.setAttribute("d", `M-5,${top.toFixed(1)}h10M0,${(top - 5).toFixed(1)}v10`);
  const target = port.states.find((state) => state.kind === "target");
  return (shown, distance) => {
    const draw = (path, state) => path.setAttribute("d", ringPath(sectionAt(port, state, distance), scale, 0, top));
    draw(rings[0], target);
    draw(rings[1], port.states[0]);
    draw(rings[2], shown);
    draw(rings[3], target);
    rings[2].toggleAttribute("hidden", shown === target || shown === port.states[0]);
  };
}
