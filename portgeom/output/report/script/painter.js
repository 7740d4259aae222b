// How is a port painted with WebGL 2? One painter draws for every picture of the page, one after the other: a browser
// allows few drawing contexts, and a page may hold sixteen ports.

const SKIN_VERTEX = `#version 300 es
in vec3 place; in vec3 normal; in vec2 shade; in float along; in float across;
uniform mat3 axes; uniform vec3 middle; uniform vec4 fit; uniform float depth;
out vec3 facing; out vec2 colour; out float far; out float side;
void main() {
  vec3 seen = axes * (place - middle);
  facing = axes * normal; colour = shade; far = along; side = across;
  gl_Position = vec4(seen.xy * fit.xy + fit.zw, -seen.z / depth, 1.0);
}`;

const SKIN_FRAGMENT = `#version 300 es
precision highp float;
in vec3 facing; in vec2 colour; in float far; in float side;
uniform sampler2D ramp; uniform vec4 plain; uniform float coloured; uniform vec3 cut; uniform float light;
out vec4 shown;
void main() {
  if (cut.x > 0.5 && cut.x < 1.5 && far > cut.y) discard;
  if (cut.x > 1.5 && cut.x < 2.5 && far < cut.y) discard;
  if (cut.x > 2.5 && side > 0.0) discard;
  vec4 base = plain;
  if (coloured > 0.5 && colour.y > 0.5) base = vec4(texture(ramp, vec2((colour.x + 0.5) / 255.0, 0.5)).rgb, plain.a);
  vec3 n = normalize(facing);
  bool inner = n.z < 0.0;
  if (inner) n = -n;
  float lit = clamp(dot(n, normalize(vec3(-0.35, 0.55, 0.76))), 0.0, 1.0);
  float strength = inner ? 0.55 + 0.36 * lit : 0.62 + 0.42 * lit;
  strength = mix(1.0, strength, light);
  shown = vec4(min(base.rgb * strength, vec3(1.0)), base.a);
}`;

function newPainter() {
  const canvas = document.createElement("canvas");
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: true, premultipliedAlpha: false });
  if (!gl) return null;
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, SKIN_VERTEX], [gl.FRAGMENT_SHADER, SKIN_FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) return null;
    gl.attachShader(program, shader);
  }
  ["place", "normal", "shade", "along", "across"].forEach((name, k) => gl.bindAttribLocation(program, k, name));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return null;
  const uniform = {};
  for (const name of ["axes", "middle", "fit", "depth", "ramp", "plain", "coloured", "cut", "light"]) {
    uniform[name] = gl.getUniformLocation(program, name);
  }
  return { canvas, gl, program, uniform };
}

// Places, normals and shades of one state of a port: worked out when first shown, then kept.
function skinOf(painter, port, state) {
  if (state.skin) return state.skin;
  const { slabs, rays } = port;
  const count = slabs * rays;
  const places = new Float32Array(3 * count);
  const across = new Float32Array(count);
  const far = new Float32Array(count);
  for (let slab = 0; slab < slabs; slab += 1) {
    for (let ray = 0; ray < rays; ray += 1) {
      const k = slab * rays + ray;
      const tip = tipOf(port, state, slab, ray);
      places.set(inHead(port, slab, tip[0], tip[1]), 3 * k);
      across[k] = tip[0];
      far[k] = port.distance[slab];
    }
  }
  const normals = normalsOf(places, slabs, rays);
  state.skin = { places, normals, across, far, buffers: null };
  return state.skin;
}

function normalsOf(places, slabs, rays) {
  const normals = new Float32Array(places.length);
  const step = (a, b, axis) => places[3 * b + axis] - places[3 * a + axis];
  for (let slab = 0; slab < slabs; slab += 1) {
    const before = Math.max(0, slab - 1) * rays;
    const after = Math.min(slabs - 1, slab + 1) * rays;
    for (let ray = 0; ray < rays; ray += 1) {
      const left = slab * rays + ((ray + rays - 1) % rays);
      const right = slab * rays + ((ray + 1) % rays);
      const p = [0, 1, 2].map((axis) => step(left, right, axis));
      const q = [0, 1, 2].map((axis) => step(before + ray, after + ray, axis));
      // rays run anticlockwise looking in: along the port, then round it, turns out of the passage
      const n = [q[1] * p[2] - q[2] * p[1], q[2] * p[0] - q[0] * p[2], q[0] * p[1] - q[1] * p[0]];
      const size = -Math.hypot(...n) || 1;
      normals.set(n.map((value) => value / size), 3 * (slab * rays + ray));
    }
  }
  return normals;
}

function gridTriangles(slabs, rays) {
  const index = new Uint32Array(6 * (slabs - 1) * rays);
  let at = 0;
  for (let slab = 0; slab + 1 < slabs; slab += 1) {
    for (let ray = 0; ray < rays; ray += 1) {
      const a = slab * rays + ray;
      const b = slab * rays + ((ray + 1) % rays);
      index.set([a, a + rays, b, b, a + rays, b + rays], at);
      at += 6;
    }
  }
  return index;
}

function bufferOf(gl, kind, data) {
  const buffer = gl.createBuffer();
  gl.bindBuffer(kind, buffer);
  gl.bufferData(kind, data, gl.STATIC_DRAW);
  return buffer;
}

// Shades and whether there is one, for each place. A place without takes a neighbour's shade, so that colours run
// clean up to the middle between the two, where they end.
function shadePairs(codes, slabs, rays) {
  const pairs = new Float32Array(2 * codes.length);
  for (let slab = 0; slab < slabs; slab += 1) {
    for (let ray = 0; ray < rays; ray += 1) {
      const k = slab * rays + ray;
      let code = codes[k];
      if (code !== NO_SHADE) pairs[2 * k + 1] = 1;
      for (const [up, round] of [[0, 1], [0, -1], [1, 0], [-1, 0], [1, 1], [1, -1], [-1, 1], [-1, -1]]) {
        if (code !== NO_SHADE) break;
        if (slab + up < 0 || slab + up >= slabs) continue;
        code = codes[(slab + up) * rays + ((ray + round + rays) % rays)];
      }
      pairs[2 * k] = code;
    }
  }
  return pairs;
}

function buffersOf(painter, port, state) {
  const skin = skinOf(painter, port, state);
  if (skin.buffers) return skin.buffers;
  const { gl } = painter;
  const kind = gl.ARRAY_BUFFER;
  skin.buffers = {
    place: bufferOf(gl, kind, skin.places),
    normal: bufferOf(gl, kind, skin.normals),
    along: bufferOf(gl, kind, skin.far),
    across: bufferOf(gl, kind, skin.across),
    proud: bufferOf(gl, kind, shadePairs(state.proud, port.slabs, port.rays)),
    wall: state.wall ? bufferOf(gl, kind, shadePairs(state.wall, port.slabs, port.rays)) : null,
  };
  return skin.buffers;
}

function rampOf(painter, scale) {
  if (scale.texture) return scale.texture;
  const { gl } = painter;
  scale.texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, scale.texture);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGB8, scale.ramp.length / 3, 1, 0, gl.RGB, gl.UNSIGNED_BYTE, scale.ramp);
  for (const [name, value] of [
    [gl.TEXTURE_MIN_FILTER, gl.NEAREST],
    [gl.TEXTURE_MAG_FILTER, gl.NEAREST],
    [gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE],
    [gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE],
  ]) {
    gl.texParameteri(gl.TEXTURE_2D, name, value);
  }
  return scale.texture;
}

function attribute(gl, at, buffer, size, fallback) {
  if (!buffer) {
    gl.disableVertexAttribArray(at);
    gl.vertexAttrib4fv(at, fallback);
    return;
  }
  gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
  gl.enableVertexAttribArray(at);
  gl.vertexAttribPointer(at, size, gl.FLOAT, false, 0, 0);
}

// Paint one picture and return the canvas that holds it.
function paint(painter, port, look, wide, tall) {
  const { gl, uniform } = painter;
  painter.canvas.width = wide;
  painter.canvas.height = tall;
  const seen = projection(look.camera, look.middle, look.size, wide, tall);
  gl.viewport(0, 0, wide, tall);
  gl.clearColor(0, 0, 0, 0);
  gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
  gl.enable(gl.DEPTH_TEST);
  gl.disable(gl.BLEND);
  gl.useProgram(painter.program);
  gl.uniformMatrix3fv(uniform.axes, true, [...seen.right, ...seen.up, ...seen.out]);
  gl.uniform3fv(uniform.middle, look.middle);
  gl.uniform4f(uniform.fit, (2 * seen.scale) / wide, (2 * seen.scale) / tall, (2 * seen.panX) / wide, (-2 * seen.panY) / tall);
  gl.uniform1f(uniform.depth, 4 * look.size);
  gl.uniform3fv(uniform.cut, look.cut);
  paintSkin(painter, port, look);
  paintRings(painter, port, look);
  if (look.cut[0] > 0.5 && look.cut[0] < 2.5) paintSection(painter, port, look);
  if (look.hazards) paintGlass(painter, port);
  return painter.canvas;
}

function paintSkin(painter, port, look) {
  const { gl, uniform } = painter;
  const buffers = buffersOf(painter, port, look.state);
  const scale = look.colour === "wall" ? port.wall : port.proud;
  const shade = look.colour === "plain" ? null : buffers[look.colour];
  attribute(gl, 0, buffers.place, 3);
  attribute(gl, 1, buffers.normal, 3);
  attribute(gl, 2, shade, 2, [0, 0, 0, 0]);
  attribute(gl, 3, buffers.along, 1);
  attribute(gl, 4, buffers.across, 1);
  gl.activeTexture(gl.TEXTURE0);
  gl.bindTexture(gl.TEXTURE_2D, rampOf(painter, scale));
  gl.uniform1i(uniform.ramp, 0);
  gl.uniform4f(uniform.plain, 0.725, 0.753, 0.776, 1);
  gl.uniform1f(uniform.coloured, shade ? 1 : 0);
  gl.uniform1f(uniform.light, look.colour === "plain" ? 1 : 0.75);
  if (!port.triangles) port.triangles = bufferOf(gl, gl.ELEMENT_ARRAY_BUFFER, gridTriangles(port.slabs, port.rays));
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, port.triangles);
  gl.enable(gl.POLYGON_OFFSET_FILL);
  gl.polygonOffset(1, 1);
  gl.drawElements(gl.TRIANGLES, 6 * (port.slabs - 1) * port.rays, gl.UNSIGNED_INT, 0);
  gl.disable(gl.POLYGON_OFFSET_FILL);
}

// Lines round the port where it was measured.
function paintRings(painter, port, look) {
  const { gl, uniform } = painter;
  attribute(gl, 1, null, 3, [0, 0, 1, 0]);
  attribute(gl, 2, null, 2, [0, 0, 0, 0]);
  gl.uniform4f(uniform.plain, 0.13, 0.15, 0.17, 1);
  gl.uniform1f(uniform.coloured, 0);
  gl.uniform1f(uniform.light, 0);
  for (const station of port.stations) gl.drawArrays(gl.LINE_LOOP, station.slab * port.rays, port.rays);
}

// The section where the port is cut: its passage, and round it the metal that is still to come off.
function paintSection(painter, port, look) {
  const { gl, uniform } = painter;
  const at = betweenSlabs(port, look.cut[1]);
  const tips = (state) => sectionAt(port, state, look.cut[1]);
  const lay = ([across, up]) => {
    const a = inHead(port, at.low, across, up);
    const b = inHead(port, at.high, across, up);
    return a.map((value, axis) => value + at.share * (b[axis] - value));
  };
  const feet = [];
  for (let ray = 0; ray < port.rays; ray += 1) {
    feet.push([along(port.half, at) * port.foot[ray], 0]);
  }
  const centre = [0, 1].map((k) => port.centre[2 * at.low + k] + at.share * (port.centre[2 * at.high + k] - port.centre[2 * at.low + k]));
  const spine = feet.map(([u, v]) => [u + centre[0], v + centre[1]]);
  const target = port.states.find((state) => state.kind === "target");
  const inner = tips(look.state);
  const outer = tips(target).map((tip, ray) => {
    const reach = (p) => Math.hypot(p[0] - spine[ray][0], p[1] - spine[ray][1]);
    return reach(tip) > reach(inner[ray]) ? tip : inner[ray];
  });
  attribute(gl, 1, null, 3, [0, 0, 1, 0]);
  attribute(gl, 2, null, 2, [0, 0, 0, 0]);
  attribute(gl, 3, null, 1, [look.cut[1], 0, 0, 0]);
  attribute(gl, 4, null, 1, [0, 0, 0, 0]);
  gl.uniform1f(uniform.light, 0);
  for (const [from, to, colour] of [
    [spine, inner, [0.937, 0.925, 0.902, 1]],
    [inner, outer, [0.941, 0.659, 0.376, 1]],
  ]) {
    const strip = [];
    for (let ray = 0; ray <= port.rays; ray += 1) {
      const k = ray % port.rays;
      strip.push(...lay(from[k]), ...lay(to[k]));
    }
    const buffer = bufferOf(gl, gl.ARRAY_BUFFER, new Float32Array(strip));
    attribute(gl, 0, buffer, 3);
    gl.uniform4fv(uniform.plain, colour);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, strip.length / 3);
    gl.deleteBuffer(buffer);
  }
}

// What lies behind the walls, as through glass.
function paintGlass(painter, port) {
  const { gl, uniform } = painter;
  gl.enable(gl.BLEND);
  gl.blendFuncSeparate(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA, gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
  gl.depthMask(false);
  gl.uniform3f(uniform.cut, 0, 0, 0);
  gl.uniform1f(uniform.light, 0);
  attribute(gl, 1, null, 3, [0, 0, 1, 0]);
  attribute(gl, 2, null, 2, [0, 0, 0, 0]);
  attribute(gl, 3, null, 1, [0, 0, 0, 0]);
  attribute(gl, 4, null, 1, [0, 0, 0, 0]);
  for (const shape of port.hazards) {
    if (!shape.buffers) {
      shape.buffers = {
        places: bufferOf(gl, gl.ARRAY_BUFFER, shape.places),
        triangles: bufferOf(gl, gl.ELEMENT_ARRAY_BUFFER, shape.triangles),
      };
    }
    attribute(gl, 0, shape.buffers.places, 3);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, shape.buffers.triangles);
    gl.uniform4f(uniform.plain, 0.247, 0.29, 0.42, shape.sheet ? 0.14 : 0.26);
    gl.drawElements(gl.TRIANGLES, shape.triangles.length, gl.UNSIGNED_SHORT, 0);
  }
  gl.depthMask(true);
}
