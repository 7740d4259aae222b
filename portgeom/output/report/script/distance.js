// One distance along the path for all of a port: whoever moves it, every chart, the section and the cut follow.

function newDistance(port) {
  const listeners = [];
  const shared = {
    value: port.first,
    on(listener) {
      listeners.push(listener);
    },
    set(value) {
      const next = Math.min(port.last, Math.max(port.first, value));
      if (next === shared.value) return;
      shared.value = next;
      for (const listener of listeners) listener(next);
    },
  };
  return shared;
}

// How far one press of an arrow key goes: a millimetre, or a twentieth of an inch.
function stepOf(port) {
  return port.units === "mm" ? 1 : 0.05;
}

// What a key asks of the distance, or null.
function keyedDistance(port, distance, event) {
  const step = stepOf(port) * (event.shiftKey ? 10 : 1);
  if (event.key === "ArrowRight") return distance + step;
  if (event.key === "ArrowLeft") return distance - step;
  if (event.key === "Home") return port.first;
  if (event.key === "End") return port.last;
  return null;
}
