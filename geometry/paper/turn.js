/* The building in three dimensions: turned by a finger, folded and taken apart by two sliders.

   The page carries all it needs: every part as flat outlines with their triangles, the lattices as lines of a grid,
   and the stations that a part goes through from its sheet (fold time 0) over the standing building (1) into the box
   (2). A plate moves as one; a strip of a lattice is bent in the vertex shader. Lengths are mm, y is up on the board,
   z up in the building. */
(function () {
  "use strict";
  const figure = document.getElementById("turn");
  const canvas = figure.querySelector("canvas");
  const gl = canvas.getContext("webgl", { antialias: true, preserveDrawingBuffer: true });
  if (!gl) return; // the drawing that stands in the page already stays

  const data = JSON.parse(document.getElementById("turn-boards").textContent);
  const fold = document.getElementById("turn-fold");
  const apart = document.getElementById("turn-apart");
  const play = document.getElementById("turn-play");
  const said = document.getElementById("turn-said");
  const colours = document.getElementById("turn-colours");
  const moment = document.getElementById("turn-moment");
  const links = Array.from(figure.querySelectorAll("a[data-part]"));
  const knobs = Array.from(figure.querySelectorAll("button[data-leaf]"));

  // ---- small algebra: a placement is 12 numbers, column by column, three axes and the origin ----

  const IDENTITY = [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0];

  function times(a, b) {
    const out = new Array(12);
    for (let c = 0; c < 4; c++)
      for (let r = 0; r < 3; r++)
        out[3 * c + r] = a[r] * b[3 * c] + a[3 + r] * b[3 * c + 1] + a[6 + r] * b[3 * c + 2] + (c === 3 ? a[9 + r] : 0);
    return out;
  }

  function undone(a) { // of a rigid placement
    const out = [a[0], a[3], a[6], a[1], a[4], a[7], a[2], a[5], a[8], 0, 0, 0];
    for (let r = 0; r < 3; r++) out[9 + r] = -(out[r] * a[9] + out[3 + r] * a[10] + out[6 + r] * a[11]);
    return out;
  }

  const mix = (a, b, share) => a + (b - a) * share;

  function turned(q) { // quaternion w, x, y, z to three columns
    const n = Math.hypot(q[0], q[1], q[2], q[3]), w = q[0] / n, x = q[1] / n, y = q[2] / n, z = q[3] / n;
    return [
      1 - 2 * (y * y + z * z), 2 * (x * y + w * z), 2 * (x * z - w * y),
      2 * (x * y - w * z), 1 - 2 * (x * x + z * z), 2 * (y * z + w * x),
      2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y)
    ];
  }

  function between(p, q, share) { // Shoemake's slerp
    const cosine = Math.min(1, p[0] * q[0] + p[1] * q[1] + p[2] * q[2] + p[3] * q[3]);
    let one = 1 - share, two = share;
    if (cosine < 1 - 1e-6) {
      const angle = Math.acos(cosine);
      one = Math.sin(one * angle) / Math.sin(angle);
      two = Math.sin(two * angle) / Math.sin(angle);
    }
    return p.map((value, k) => one * value + two * q[k]);
  }

  // ---- where everything is at a fold time ----

  function station(track, pivot, time) {
    const times_ = track.t;
    let k = 0;
    while (k < times_.length - 2 && times_[k + 1] <= time) k++;
    let along = Math.min(1, Math.max(0, (time - times_[k]) / (times_[k + 1] - times_[k])));
    along = along * along * (3 - 2 * along);
    const turn = turned(between(track.q[k], track.q[k + 1], along));
    const place = [0, 1, 2].map((r) => mix(track.p[k][r], track.p[k + 1][r], along));
    const origin = [0, 1, 2].map((r) => place[r] - turn[r] * pivot[0] - turn[3 + r] * pivot[1] - turn[6 + r] * pivot[2]);
    return { pose: turn.concat(origin), share: mix(track.s[k], track.s[k + 1], along) };
  }

  function farSide(strip, side, thick, angle) { // what hangs on a lattice, bent by an angle
    const width = strip.wide, half = thick / 2;
    const s = Math.sin(angle), c = Math.cos(angle), straight = Math.abs(angle) < 1e-6;
    const chord = straight ? 1 : s / angle, rise = straight ? angle / 2 : (1 - c) / angle;
    const over = [strip.c[0], strip.c[1], 0], up = [0, 0, side], along = [strip.a[0], strip.a[1], 0];
    const frame = over.concat(along, up, [strip.o[0], strip.o[1], 0]);
    const bent = [];
    for (let r = 0; r < 3; r++) {
      bent[r] = over[r] * c - up[r] * s;
      bent[3 + r] = along[r];
      bent[6 + r] = up[r] * c + over[r] * s;
      const forward = width * chord - half * s - width * c, upward = half - width * rise - half * c + width * s;
      bent[9 + r] = frame[9 + r] + over[r] * forward + up[r] * upward;
    }
    // axes over, along and up may be left-handed, yet their inverse is still their transpose
    return times(bent, undone(frame));
  }

  const NEAR_STANDING = 0.02; // leaves open while the building stands, and are shut before it is folded or taken down
  let standing = 0;

  function bendOf(strip, share) { // of a part that is folded by this share: late bends close when the others have
    if (strip.swing) return strip.swing * (strip.open || 0) * standing;
    const [start, end] = strip.span;
    return strip.angle * Math.min(1, Math.max(0, (share - start) / (end - start)));
  }

  function panelPoses(part, share) {
    const found = [IDENTITY];
    for (const strip of part.strips)
      found[strip.child] = times(found[strip.parent], farSide(strip, part.side, part.thick, bendOf(strip, share)));
    const back = undone(found[part.root] || IDENTITY);
    return part.panels.map((aside, k) => (found[k] ? times(back, found[k]) : aside));
  }

  function isHeld(part) { // of a prop: whether its leaf stands wide open
    return part.held && standing === 1 && data.parts.some((wall) => wall.strips.some((strip) =>
      strip.leaf === part.held.leaf && strip.open === 1));
  }

  function arrange(time) {
    standing = Math.max(0, 1 - Math.abs(time - 1) / NEAR_STANDING);
    for (const part of data.parts) {
      const now = station(part.track, part.pivot, time);
      part.pose = isHeld(part) ? part.held.pose : now.pose;
      part.share = now.share;
      part.poses = panelPoses(part, now.share);
    }
    for (const part of data.parts) {
      const ride = part.ride;
      if (ride && time >= ride.from) {
        const host = data.parts[ride.host];
        part.pose = times(times(host.pose, host.poses[ride.panel]), ride.pose);
        part.share = ride.bends ? host.share : 1; // cheeks of a round joiner bend with the wall that bears them
        part.poses = panelPoses(part, part.share);
      }
    }
  }

  // ---- bodies: outlines and grids become faces ----

  const FACE = 0, EDGE = 1, MARK = 2, COAT = 3, OTHER = 4; // coats of the upper and of the lower face

  function body() {
    return { points: [], normals: [], kinds: [], lines: [] };
  }

  function put(made, corners, normal, kind) {
    for (let k = 1; k + 1 < corners.length; k++)
      for (const corner of [corners[0], corners[k], corners[k + 1]]) {
        made.points.push(corner[0], corner[1], corner[2]);
        made.normals.push(normal[0], normal[1], normal[2]);
        made.kinds.push(kind);
      }
  }

  function plateBody(plate, low, high) {
    const made = body(), flat = [];
    for (let k = 0; k < plate.xy.length; k += 2) flat.push([plate.xy[k] / data.unit, plate.xy[k + 1] / data.unit]);
    for (let k = 0; k < plate.tri.length; k += 3) {
      const three = [0, 1, 2].map((j) => flat[plate.tri[k + j]]);
      put(made, three.map((p) => [p[0], p[1], high]), [0, 0, 1], FACE);
      put(made, three.map((p) => [p[0], p[1], low]), [0, 0, -1], FACE);
    }
    let start = 0;
    for (const count of plate.rings) {
      for (let k = 0; k < count; k++) {
        const a = flat[start + k], b = flat[start + ((k + 1) % count)];
        const size = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
        const normal = [(b[1] - a[1]) / size, (a[0] - b[0]) / size, 0];
        put(made, [[a[0], a[1], low], [b[0], b[1], low], [b[0], b[1], high], [a[0], a[1], high]], normal, EDGE);
        for (const z of [low, high]) made.lines.push(a[0], a[1], z, b[0], b[1], z);
      }
      start += count;
    }
    return made;
  }

  function markBody(marks, z, half, made) { // engraved lines, as thin strips
    for (let k = 0; k < marks.length; k += 4) {
      const [x0, y0, x1, y1] = marks.slice(k, k + 4).map((value) => value / data.unit);
      const size = Math.hypot(x1 - x0, y1 - y0) || 1, dx = (y0 - y1) / size * half, dy = (x1 - x0) / size * half;
      put(made, [[x0 - dx, y0 - dy, z], [x1 - dx, y1 - dy, z], [x1 + dx, y1 + dy, z], [x0 + dx, y0 + dy, z]], [0, 0, 1], MARK);
    }
    return made;
  }

  function coatBody(coat, low, high) { // a colour of a plate, and the lines of a finish on it
    const made = body(), z = coat.up ? high + 0.06 : low - 0.06; // just off the face, so that the two do not flicker
    const at = (values, k, height) => [values[k] / data.unit, values[k + 1] / data.unit, height];
    for (let k = 0; k < coat.xy.length; k += 6)
      put(made, [0, 2, 4].map((j) => at(coat.xy, k + j, z)), [0, 0, coat.up ? 1 : -1], FACE);
    return markBody(coat.lines, z + 0.1, 0.15, made);
  }

  function stripBody(strip, low, high) { // cells of a grid, across and along the lattice, are board or gap
    const made = body(), rows = strip.y.length - 1, columns = strip.x.length - 1;
    const solid = (i, j) => i >= 0 && j >= 0 && i < columns && j < rows && strip.board[i * rows + j] === "1";
    const at = (x, y, z) => [
      strip.o[0] + x * strip.c[0] + y * strip.a[0], strip.o[1] + x * strip.c[1] + y * strip.a[1], z
    ];
    const over = [strip.c[0], strip.c[1], 0], along = [strip.a[0], strip.a[1], 0];
    const against = (v) => [-v[0], -v[1], -v[2]];
    for (let i = 0; i < columns; i++)
      for (let j = 0; j < rows; j++) {
        if (!solid(i, j)) continue;
        const x0 = strip.x[i], x1 = strip.x[i + 1], y0 = strip.y[j], y1 = strip.y[j + 1];
        for (const z of [low, high])
          put(made, [at(x0, y0, z), at(x1, y0, z), at(x1, y1, z), at(x0, y1, z)], [0, 0, z === high ? 1 : -1], z === high ? COAT : OTHER);
        const wall = (a, b, normal) => put(made, [at(a[0], a[1], low), at(b[0], b[1], low), at(b[0], b[1], high), at(a[0], a[1], high)], normal, EDGE);
        if (!solid(i, j - 1)) wall([x0, y0], [x1, y0], against(along));
        if (!solid(i, j + 1)) wall([x0, y1], [x1, y1], along);
        if (!solid(i - 1, j)) wall([x0, y0], [x0, y1], against(over));
        if (!solid(i + 1, j)) wall([x1, y0], [x1, y1], over);
      }
    return made;
  }

  // ---- drawing ----

  const VERTEX = `
    attribute vec3 point; attribute vec3 normal; attribute float kind;
    uniform mat4 view; uniform mat4 pose;
    uniform vec2 origin; uniform vec2 across; uniform vec2 along;
    uniform float side; uniform float half_; uniform float wide; uniform float curve;
    varying vec3 facing; varying float face;
    void main() {
      float x = dot(point.xy - origin, across), y = dot(point.xy - origin, along), height = point.z * side - half_;
      float within = clamp(x, 0.0, wide), turn = curve * within, s = sin(turn), c = cos(turn);
      bool straight = abs(turn) < 1e-4;
      float chord = straight ? 1.0 : s / turn, rise = straight ? turn / 2.0 : (1.0 - c) / turn;
      float forward = within * chord + height * s + (x - within) * c;
      float upward = half_ - within * rise + height * c - (x - within) * s;
      vec3 bent = vec3(origin + forward * across + y * along, upward * side);
      float nx = dot(normal.xy, across), nh = normal.z * side;
      vec3 looks = vec3((nx * c + nh * s) * across + dot(normal.xy, along) * along, (nh * c - nx * s) * side);
      facing = mat3(pose[0].xyz, pose[1].xyz, pose[2].xyz) * looks;
      face = kind;
      gl_Position = view * pose * vec4(bent, 1.0);
    }`;
  const FRAGMENT = `
    precision mediump float;
    uniform vec3 faceColour; uniform vec3 edgeColour; uniform vec3 markColour; uniform vec4 flat_;
    uniform vec3 coatColour; uniform vec3 otherColour;
    varying vec3 facing; varying float face;
    void main() {
      vec3 base = face < 0.5 ? faceColour : face < 1.5 ? edgeColour : face < 2.5 ? markColour
        : face < 3.5 ? coatColour : otherColour;
      vec3 n = normalize(facing);
      float light = 0.62 + 0.2 * n.z + 0.26 * max(0.0, dot(n, normalize(vec3(0.45, -0.7, 0.55))));
      gl_FragColor = flat_.a > 0.5 ? vec4(flat_.rgb, 1.0) : vec4(base * min(light, 1.06), 1.0);
    }`;

  function shader(type, source) {
    const made = gl.createShader(type);
    gl.shaderSource(made, source);
    gl.compileShader(made);
    if (!gl.getShaderParameter(made, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(made));
    return made;
  }

  const program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, VERTEX));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, FRAGMENT));
  gl.linkProgram(program);
  gl.useProgram(program);
  const attribute = {}, uniform = {};
  for (const name of ["point", "normal", "kind"]) attribute[name] = gl.getAttribLocation(program, name);
  for (const name of ["view", "pose", "origin", "across", "along", "side", "half_", "wide", "curve", "faceColour",
    "edgeColour", "markColour", "coatColour", "otherColour", "flat_"]) uniform[name] = gl.getUniformLocation(program, name);

  function sent(values) {
    const buffer = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(values), gl.STATIC_DRAW);
    return buffer;
  }

  function onCard(made) {
    return {
      points: sent(made.points), normals: sent(made.normals), kinds: sent(made.kinds), count: made.kinds.length,
      lines: made.lines.length ? sent(made.lines) : null, ends: made.lines.length / 3
    };
  }

  for (const part of data.parts) {
    part.bodies = part.plates.map((plate) => ({ panel: plate.panel, card: onCard(plateBody(plate, part.low, part.high)) }));
    if (part.marks.length) part.bodies.push({ panel: part.plates[0].panel, card: onCard(markBody(part.marks, part.high + 0.05, 0.25, body())) });
    for (const coat of part.coats)
      part.bodies.push({ panel: coat.panel, coat: coat.coat, card: onCard(coatBody(coat, part.low, part.high)) });
    for (const strip of part.strips)
      part.bodies.push({ panel: strip.parent, strip: strip, card: onCard(stripBody(strip, part.low, part.high)) });
  }

  // leaves by their numbers, and on which of them a panel hangs
  const leaves = [];
  data.parts.forEach((part, index) => {
    part.leafOf = part.panels.map(() => -1);
    for (const strip of part.strips) {
      if (strip.leaf >= 0) leaves[strip.leaf] = { part: index, strip: strip, wanted: 0 };
      part.leafOf[strip.child] = strip.leaf >= 0 ? strip.leaf : part.leafOf[strip.parent];
    }
  });

  function leafAt(part, piece) { // the number of the leaf that a piece belongs to, -1 for none
    return piece.strip && piece.strip.leaf >= 0 ? piece.strip.leaf : part.leafOf[piece.panel];
  }

  // sheets while parts lie on them, and the box while they go into it, as lines
  function ring(corners) {
    return corners.flatMap((corner, k) => corner.concat(corners[(k + 1) % corners.length]));
  }
  const sheetLines = data.sheets.flatMap((s) => ring([0, 3, 6, 9].map((k) => s.slice(k, k + 3))));
  const [x0, y0, z0, x1, y1, z1] = data.box;
  const boxLines = [z0, z1].flatMap((z) => ring([[x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z]]))
    .concat([[x0, y0], [x1, y0], [x1, y1], [x0, y1]].flatMap((p) => p.concat(z0, p, z1)));
  const outlines = [
    { card: { lines: sent(sheetLines), ends: sheetLines.length / 3 }, from: -1, to: 0.65 },
    { card: { lines: sent(boxLines), ends: boxLines.length / 3 }, from: 1.46, to: 3 }
  ];

  function drawOutlines(time) {
    gl.uniformMatrix4fv(uniform.pose, false, new Float32Array([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]));
    gl.uniform2f(uniform.origin, 0, 0);
    gl.uniform2f(uniform.across, 1, 0);
    gl.uniform2f(uniform.along, 0, 1);
    for (const [name, value] of [["wide", 0], ["curve", 0], ["side", 1], ["half_", 0]]) gl.uniform1f(uniform[name], value);
    gl.uniform4f(uniform.flat_, FAINT[0], FAINT[1], FAINT[2], 1);
    for (const each of outlines) {
      if (time < each.from || time > each.to || !each.card.ends) continue;
      attributes(each.card, true);
      gl.drawArrays(gl.LINES, 0, each.card.ends);
    }
  }

  function colour(text) {
    return [1, 3, 5].map((k) => parseInt(text.slice(k, k + 2), 16) / 255);
  }
  for (const kind of [...Object.values(data.kinds), ...Object.values(data.painted), ...data.coats])
    for (const look of Object.keys(kind)) kind[look] = colour(kind[look]);
  const PAPER = colour("#ffffff"), LINE = colour("#4a4238"), CHOSEN = colour("#0072b2"), FAINT = colour("#9aa79f");

  const FREE = 1.1; // so much wider than what is to be seen the view is
  const eye = { turn: -0.55, height: 0.5, near: 1 };
  let chosen = -1, pointed = -1; // a part, and a leaf

  function about(time) { // corners of the box round what is to be seen, between the frames that the page names
    const frames = data.frames;
    let k = 0;
    while (k < frames.length - 2 && frames[k + 1][0] <= time) k++;
    const share = Math.min(1, Math.max(0, (time - frames[k][0]) / (frames[k + 1][0] - frames[k][0])));
    return data.apart.map((end, j) => mix(mix(frames[k][j + 1], frames[k + 1][j + 1], share), end, Number(apart.value)));
  }

  function viewMatrix(time, wide, high) {
    const box = about(time), middle = [0, 1, 2].map((k) => (box[k] + box[k + 3]) / 2);
    const ch = Math.cos(eye.height), sh = Math.sin(eye.height), ct = Math.cos(eye.turn), st = Math.sin(eye.turn);
    const back = [-st * ch, -ct * ch, sh], right = [ct, -st, 0], up = [st * sh, ct * sh, ch];
    const lens = 2.4, sx = lens * (wide > high ? high / wide : 1), sy = lens * (wide > high ? 1 : wide / high);
    let far = 1, deep = 1;
    for (let corner = 0; corner < 8; corner++) { // as near as every corner of the box lets the eye come
      const from = middle.map((m, k) => box[k + 3 * ((corner >> k) & 1)] - m);
      const along = (axis) => from[0] * axis[0] + from[1] * axis[1] + from[2] * axis[2];
      far = Math.max(far, along(back) + Math.max(Math.abs(along(right)) * sx, Math.abs(along(up)) * sy) * FREE);
      deep = Math.max(deep, Math.hypot(...from));
    }
    far /= eye.near;
    const at = middle.map((m, k) => m + back[k] * far);
    const near = Math.max(far - 4 * deep, far / 50), end = far + 4 * deep;
    const a = -(end + near) / (end - near), b = -2 * end * near / (end - near);
    const dot = (v) => v[0] * at[0] + v[1] * at[1] + v[2] * at[2];
    const columns = [];
    for (let c = 0; c < 3; c++) columns.push(sx * right[c], sy * up[c], a * back[c], -back[c]);
    columns.push(-sx * dot(right), -sy * dot(up), -a * dot(back) + b, dot(back));
    return new Float32Array(columns);
  }

  function attributes(card, lines) {
    gl.bindBuffer(gl.ARRAY_BUFFER, lines ? card.lines : card.points);
    gl.enableVertexAttribArray(attribute.point);
    gl.vertexAttribPointer(attribute.point, 3, gl.FLOAT, false, 0, 0);
    for (const [name, size, buffer] of [["normal", 3, card.normals], ["kind", 1, card.kinds]]) {
      if (attribute[name] < 0) continue;
      if (lines) { gl.disableVertexAttribArray(attribute[name]); continue; }
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.enableVertexAttribArray(attribute[name]);
      gl.vertexAttribPointer(attribute[name], size, gl.FLOAT, false, 0, 0);
    }
  }

  function drawPart(part, index, picking) {
    const painted = colours.checked;
    const kind = (painted ? data.painted : data.kinds)[part.kind], share = Number(apart.value);
    const faceOf = (coat) => (painted && coat !== undefined ? data.coats[coat].face : kind.face);
    gl.uniform3fv(uniform.edgeColour, kind.edge);
    gl.uniform3fv(uniform.markColour, kind.mark);
    gl.uniform1f(uniform.side, part.side);
    gl.uniform1f(uniform.half_, part.thick / 2);
    const away = isHeld(part) ? data.parts[leaves[part.held.leaf].part].apart : part.apart;
    for (const piece of part.bodies) {
      const leaf = leafAt(part, piece), m = times(part.pose, part.poses[piece.panel]);
      const strip = piece.strip || { o: [0, 0], c: [1, 0], a: [0, 1], wide: 0, angle: 0, span: [0, 1] };
      gl.uniformMatrix4fv(uniform.pose, false, new Float32Array([
        m[0], m[1], m[2], 0, m[3], m[4], m[5], 0, m[6], m[7], m[8], 0,
        m[9] + share * away[0], m[10] + share * away[1], m[11] + share * away[2], 1
      ]));
      const worn = new Map(strip.coats);
      gl.uniform3fv(uniform.faceColour, faceOf(piece.coat));
      gl.uniform3fv(uniform.markColour, painted && piece.coat !== undefined ? data.coats[piece.coat].line : kind.mark);
      gl.uniform3fv(uniform.coatColour, faceOf(worn.get(true)));
      gl.uniform3fv(uniform.otherColour, faceOf(worn.get(false)));
      gl.uniform2fv(uniform.origin, strip.o);
      gl.uniform2fv(uniform.across, strip.c);
      gl.uniform2fv(uniform.along, strip.a);
      gl.uniform1f(uniform.wide, strip.wide);
      gl.uniform1f(uniform.curve, strip.wide ? bendOf(strip, part.share) / strip.wide : 0);
      if (picking) gl.uniform4f(uniform.flat_, ((index + 1) & 255) / 255, ((index + 1) >> 8) / 255, (leaf + 1) / 255, 1);
      else gl.uniform4f(uniform.flat_, 0, 0, 0, 0);
      attributes(piece.card, false);
      gl.drawArrays(gl.TRIANGLES, 0, piece.card.count);
      if (!picking && piece.card.lines) {
        const ink = index === chosen || (leaf >= 0 && leaf === pointed) ? CHOSEN : LINE;
        gl.uniform4f(uniform.flat_, ink[0], ink[1], ink[2], 1);
        attributes(piece.card, true);
        gl.drawArrays(gl.LINES, 0, piece.card.ends);
      }
    }
  }

  function draw(picking) {
    const time = Number(fold.value), density = Math.min(2, window.devicePixelRatio || 1);
    const wide = Math.max(1, Math.round(canvas.clientWidth * density)), high = Math.max(1, Math.round(canvas.clientHeight * density));
    if (canvas.width !== wide || canvas.height !== high) { canvas.width = wide; canvas.height = high; }
    gl.viewport(0, 0, wide, high);
    const ground = picking ? [0, 0, 0] : PAPER;
    gl.clearColor(ground[0], ground[1], ground[2], 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(1, 1);
    arrange(time);
    gl.uniformMatrix4fv(uniform.view, false, viewMatrix(time, wide, high));
    if (!picking) drawOutlines(time);
    data.parts.forEach((part, index) => drawPart(part, index, picking));
  }

  // what is under the pointer is drawn unseen and without smoothed edges, where two numbers would mix to a third
  const unseen = gl.createFramebuffer(), marks_ = gl.createTexture(), depths = gl.createRenderbuffer();

  function drawNumbers() {
    gl.bindTexture(gl.TEXTURE_2D, marks_);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, canvas.width, canvas.height, 0, gl.RGBA, gl.UNSIGNED_BYTE, null);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    for (const way of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, way, gl.CLAMP_TO_EDGE);
    gl.bindRenderbuffer(gl.RENDERBUFFER, depths);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT16, canvas.width, canvas.height);
    gl.bindFramebuffer(gl.FRAMEBUFFER, unseen);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, marks_, 0);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depths);
    draw(true);
  }

  let waiting = false;
  function redraw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; draw(false); });
  }

  // ---- the maker's hand ----

  function say(time) {
    const step = data.steps.filter((entry) => entry[0] <= time).pop();
    moment.textContent = step ? step[1] : "";
  }

  function choose(index) {
    chosen = index;
    for (const link of links) link.classList.toggle("chosen", Number(link.dataset.part) === index);
    said.textContent = "";
    if (index >= 0) {
      const part = data.parts[index], link = document.createElement("a");
      link.href = "#" + part.anchor;
      link.textContent = part.id;
      said.append(link, " " + part.label + (part.sheet ? ", " + part.sheet : ""));
    } else said.textContent = data.hint;
    redraw();
  }

  function hitAt(event) { // the part and the leaf under the pointer, -1 for none
    drawNumbers();
    const box = canvas.getBoundingClientRect(), pixel = new Uint8Array(4);
    const x = (event.clientX - box.left) / box.width * canvas.width, y = (1 - (event.clientY - box.top) / box.height) * canvas.height;
    gl.readPixels(Math.floor(x), Math.floor(y), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return { part: pixel[0] + 256 * pixel[1] - 1, leaf: pixel[2] - 1 };
  }

  const fingers = new Map();
  let moved = 0, spread = 0;

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    moved = spread = 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const dx = event.clientX - before[0], dy = event.clientY - before[1];
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    moved += Math.abs(dx) + Math.abs(dy);
    if (fingers.size === 1) {
      eye.turn += dx * 0.008;
      eye.height = Math.min(1.55, Math.max(-1.2, eye.height + dy * 0.008));
    } else {
      const [one, two] = Array.from(fingers.values());
      const size = Math.hypot(one[0] - two[0], one[1] - two[1]);
      if (spread) zoom(size / spread);
      spread = size;
    }
    redraw();
  });
  for (const name of ["pointerup", "pointercancel"])
    canvas.addEventListener(name, (event) => {
      const held = fingers.delete(event.pointerId);
      spread = 0;
      if (!held || name !== "pointerup" || moved >= 6) return;
      const hit = hitAt(event);
      choose(hit.part);
      if (hit.leaf >= 0 && standing) swing([hit.leaf], !leaves[hit.leaf].wanted);
    });

  // ---- doors and shutters ----

  const SWINGS = 450; // ms that a leaf takes
  const still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  let before = 0;

  function swing(numbers, open) {
    for (const number of numbers) leaves[number].wanted = open ? 1 : 0;
    for (const knob of knobs) {
      const on = knob.dataset.leaf === "all" ? leaves.every((leaf) => leaf.wanted) : leaves[Number(knob.dataset.leaf)].wanted;
      knob.setAttribute("aria-pressed", on ? "true" : "false");
    }
    if (before) return; // they are on their way
    before = performance.now();
    turnLeaves(still ? before + SWINGS : before);
  }

  function turnLeaves(now) {
    const step = Math.max(0, now - before) / SWINGS;
    before = now;
    let moving = false;
    for (const leaf of leaves) {
      const at = leaf.strip.open || 0, way = leaf.wanted - at;
      leaf.strip.open = Math.abs(way) <= step ? leaf.wanted : at + Math.sign(way) * step;
      moving = moving || leaf.strip.open !== leaf.wanted;
    }
    if (moving) requestAnimationFrame(turnLeaves);
    else before = 0;
    redraw();
  }

  for (const knob of knobs) {
    const numbers = knob.dataset.leaf === "all" ? leaves.map((_, k) => k) : [Number(knob.dataset.leaf)];
    knob.addEventListener("click", () => {
      if (Number(fold.value) !== 1) { stop(); fold.value = "1"; say(1); } // they open on the standing building
      swing(numbers, knob.getAttribute("aria-pressed") !== "true");
    });
    const point = (leaf) => () => { pointed = leaf; redraw(); };
    for (const name of ["mouseenter", "focus"]) knob.addEventListener(name, point(numbers.length === 1 ? numbers[0] : -1));
    for (const name of ["mouseleave", "blur"]) knob.addEventListener(name, point(-1));
  }

  function zoom(by) {
    eye.near = Math.min(8, Math.max(0.4, eye.near * by));
    redraw();
  }
  canvas.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && document.activeElement !== canvas) return; // the page scrolls
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * 0.002));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[event.key];
    if (step) {
      eye.turn += step[0];
      eye.height = Math.min(1.55, Math.max(-1.2, eye.height + step[1]));
      redraw();
    } else if (event.key === "+" || event.key === "-") zoom(event.key === "+" ? 1.15 : 1 / 1.15);
    else return;
    event.preventDefault();
  });

  let began = 0, from = 0;
  function run(now) {
    if (!began) return;
    const time = Math.min(2, from + (now - began) / 9000);
    fold.value = String(time);
    say(time);
    draw(false);
    if (time < 2) requestAnimationFrame(run);
    else stop();
  }
  function stop() {
    began = 0;
    play.textContent = "Play";
  }
  play.addEventListener("click", () => {
    if (began) return stop();
    from = Number(fold.value) >= 2 ? 0 : Number(fold.value);
    began = performance.now();
    play.textContent = "Stop";
    requestAnimationFrame(run);
  });
  document.getElementById("turn-painted").hidden = !data.coats.length;
  colours.addEventListener("change", redraw);
  for (const slider of [fold, apart])
    slider.addEventListener("input", () => { stop(); say(Number(fold.value)); redraw(); });
  for (const link of links) {
    link.addEventListener("mouseenter", () => choose(Number(link.dataset.part)));
    link.addEventListener("focus", () => choose(Number(link.dataset.part)));
  }
  window.addEventListener("resize", redraw);

  document.documentElement.classList.add("turns");
  say(Number(fold.value));
  choose(-1);
  draw(false);
})();
