// What stands on the stage besides light: trusses, the edge of the stage, heads of
// the audience, and a band for scale. Lines, in metres.

import { hallFloor } from "./stage-space.js";
import { encode, gain, keepHue, reaches } from "./stage-light.js";

/** People and instruments: [width, x, z, x, z ...] is a limb, [x, z, radius] a disc,
 *  and a list that begins with 0 is filled. Their feet are at 0, 0. */
const legs = [[0.15, -0.09, 0.86, -0.13, 0.45, -0.15, 0.06], [0.15, 0.09, 0.86, 0.14, 0.45, 0.19, 0.06], [0.09, -0.15, 0.04, -0.22, 0.04], [0.09, 0.19, 0.04, 0.26, 0.04]];
const trunk = [[0, -0.2, 1.42, 0.2, 1.42, 0.16, 0.82, -0.16, 0.82], [0.12, -0.16, 1.39, 0.16, 1.39], [0.1, 0, 1.52, 0, 1.42], [0, 1.64, 0.105]];
const strings = (side, neck) => [
  ...legs, ...trunk, [side * -0.08, 1.0, 0.17], [side * 0.13, 1.02, 0.13], [0.05, side * 0.1, 1.02, side * neck, 1.02 + 0.45 * neck],
  [0.09, side * 0.19, 1.38, side * 0.36, 1.1, side * 0.45, 1.2], [0.09, side * -0.19, 1.38, side * -0.33, 1.1, side * -0.05, 1.0],
];
const shapes = {
  voice: [...legs, ...trunk, [0.09, 0.19, 1.38, 0.28, 1.14, 0.07, 1.4], [0.09, -0.19, 1.38, -0.24, 1.1, 0, 1.16], [0.03, 0, 0.03, 0.02, 1.5], [0.04, -0.16, 0.02, 0.16, 0.02]],
  guitar: strings(1, 0.62),
  bass: strings(-1, 0.8),
  keys: [
    ...legs, ...trunk, [0.09, 0.19, 1.38, 0.3, 1.12, 0.22, 0.98], [0.09, -0.19, 1.38, -0.3, 1.12, -0.22, 0.98],
    [0.1, -0.65, 0.94, 0.65, 0.94], [0.035, -0.45, 0.9, 0.45, 0.03], [0.035, 0.45, 0.9, -0.45, 0.03],
  ],
  drums: [
    [0, 1.4, 0.105], [0, -0.2, 1.18, 0.2, 1.18, 0.17, 0.5, -0.17, 0.5], [0.12, -0.16, 1.16, 0.16, 1.16], [0.1, 0, 1.28, 0, 1.18],
    [0.09, 0.19, 1.15, 0.42, 0.96, 0.28, 0.98], [0.09, -0.19, 1.15, -0.42, 0.96, -0.3, 1.02], [0.02, 0.28, 0.98, 0.05, 1.06], [0.02, -0.3, 1.02, -0.1, 0.92],
    [0, 0.33, 0.31], [-0.24, 0.76, 0.15], [0.24, 0.76, 0.15], [0, 0.5, 0.55, 0.88, 0.55, 0.84, 0.12, 0.54, 0.12], [0, -0.75, 0.6, -0.4, 0.6, -0.42, 0.44, -0.73, 0.44],
    [0.03, -0.78, 0.03, -0.68, 1.2], [0.04, -0.95, 1.16, -0.4, 1.24], [0.03, 0.82, 0.03, 0.72, 1.25], [0.04, 0.45, 1.29, 1.0, 1.2],
  ],
};

/** The band in the light that falls on it: lit from the front, edged from behind. */
export class Band {
  constructor(space) {
    this.space = space;
    this.reach = space.lamps.map((l) => this.onEach(l));
  }

  /** A lamp points elsewhere. */
  moved(i) { this.reach[i] = this.onEach(this.space.lamps[i]); }

  onEach(l) {
    const power = l.house ? 0 : gain(this.space.lamps.length);
    return this.space.band.map(({ at: [x, y] }) => {
      const v = power * reaches(l, [x, y, 1.3]);
      return l.at[1] < y - 0.3 ? [v, 0] : [0, v];
    });
  }

  draw(g, light, ambient) {
    this.space.band.forEach((player, k) => {
      const front = ambient.map((v) => 0.1 * v + 0.0012), edge = ambient.map((v) => 0.3 * v + 0.002);
      this.reach.forEach((each, i) => {
        const [f, b] = each[k];
        for (let c = 0; c < 3; c++) { front[c] += 0.05 * f * light[3 * i + c]; edge[c] += 0.45 * b * light[3 * i + c] + 0.1 * f * light[3 * i + c]; }
      });
      const [x, y] = this.space.project(player.at), s = this.space.scale(player.at[1]);
      g.save();
      g.translate(x, y - Math.max(1, 0.02 * s));
      g.scale(s, -s);
      draw(g, shapes[player.kind], css(edge));
      g.restore();
      g.save();
      g.translate(x, y);
      g.scale(s, -s);
      const shade = g.createLinearGradient(0, 1.7, 0, 0);
      shade.addColorStop(0, css(front));
      shade.addColorStop(1, css(front.map((v) => 0.25 * v)));
      draw(g, shapes[player.kind], shade);
      g.restore();
    });
  }
}

function draw(g, list, colour) {
  g.fillStyle = g.strokeStyle = colour;
  g.lineCap = g.lineJoin = "round";
  for (const shape of list) {
    g.beginPath();
    if (shape.length === 3) {
      g.arc(shape[0], shape[1], shape[2], 0, 7);
      g.fill();
      continue;
    }
    for (let i = 1; i < shape.length; i += 2) g.lineTo(shape[i], shape[i + 1]);
    if (shape[0] === 0) g.fill();
    else { g.lineWidth = shape[0]; g.stroke(); }
  }
}

/** A sum of light as a colour of a page, clipped softly. */
export function css(c) {
  const m = keepHue(Math.max(...c));
  return `rgb(${c.map((v) => encode(v * m)).join()})`;
}

/** Trusses, the edges of the stage and the audience, which light does not change. */
export function drawFrame(g, space) {
  const line = (a, b) => { g.beginPath(); g.moveTo(...space.project(a)); g.lineTo(...space.project(b)); g.stroke(); };
  const left = space.middle - space.half - 1.6, right = space.middle + space.half + 1.6;
  g.lineCap = "round";
  g.strokeStyle = "#9090901c";
  g.lineWidth = 1;
  line([left, space.back, 0], [right, space.back, 0]);
  g.strokeStyle = "#9090904d";
  g.lineWidth = 1.5;
  line([-1e3, space.front, 0], [1e3, space.front, 0]);
  for (const [a, b] of trusses(space)) truss(g, space, a, b);
  audience(g, space);
}

/** Rows of heads at one depth and height, and columns of them, hang on one truss. */
function trusses(space) {
  const rows = new Map(), list = [];
  const on = space.lamps.filter((l) => !l.hall && !l.house && l.head.kind !== "haze").map((l) => l.at);
  const upright = (p) => on.some((o) => Math.abs(o[0] - p[0]) + Math.abs(o[1] - p[1]) < 0.05 && Math.abs(o[2] - p[2]) > 0.3);
  for (const p of on) {
    const key = upright(p) ? `column ${p[0].toFixed(1)} ${p[1].toFixed(1)}` : `row ${p[1].toFixed(1)} ${p[2].toFixed(1)}`;
    if (!rows.has(key)) rows.set(key, []);
    rows.get(key).push(p);
  }
  for (const [key, heads] of rows) {
    const most = (k) => Math.max(...heads.map((p) => p[k])), [x, y, z] = heads[0];
    if (key[0] === "c") list.push([[x, y, 0], [x, y, most(2) + 0.5]]);
    else if (z > 1 && heads.length > 1) list.push([[Math.min(...heads.map((p) => p[0])) - 0.7, y, z + 0.3], [most(0) + 0.7, y, z + 0.3]]);
  }
  return list.sort((a, b) => b[0][1] - a[0][1]);
}

/** Two chords and a zigzag, 0.3 m apart, as box trusses have. */
function truss(g, space, [x0, y, z0], [x1, , z1]) {
  const upright = x0 === x1, n = Math.max(2, Math.round(Math.max(x1 - x0, z1 - z0) / 0.45)), s = space.scale(y);
  const at = (t, side) => space.project(upright ? [x0 + side * 0.15, y, z0 + t * (z1 - z0)] : [x0 + t * (x1 - x0), y, z0 + side * 0.15]);
  g.strokeStyle = "#444";
  for (const side of [-1, 1]) {
    g.lineWidth = Math.max(1, 0.045 * s);
    g.beginPath();
    g.moveTo(...at(0, side));
    g.lineTo(...at(1, side));
    g.stroke();
  }
  g.lineWidth = Math.max(0.7, 0.022 * s);
  g.beginPath();
  for (let i = 0; i <= n; i++) g.lineTo(...at(i / n, i % 2 ? 1 : -1));
  g.stroke();
  if (upright) return;
  g.strokeStyle = "#44444480";
  g.lineWidth = 1;
  for (const t of [0.12, 0.88]) { // what it hangs from
    const [x, y0] = at(t, 1);
    g.beginPath();
    g.moveTo(x, y0);
    g.lineTo(x, 0);
    g.stroke();
  }
}

/** The nearest row of the hall, seen from behind. */
function audience(g, space) {
  const y = space.front - 0.45 * (space.front - space.eye[1]), s = space.scale(y), [, floor] = space.project([0, y, hallFloor]);
  const top = Math.max(space.h - Math.min(24, space.h * 0.07), floor - 1.75 * s);
  g.fillStyle = "#030406";
  const gap = 0.62 * s;
  for (let x = -0.3 * gap, i = 0; x < space.w + gap; x += gap, i++) {
    const lean = Math.sin(i * 12.9) * 0.16 * gap, high = top + Math.abs(Math.sin(i * 7.3)) * 0.2 * s, r = 0.115 * s;
    g.beginPath();
    g.ellipse(x + lean, high + r, r * 0.9, r * 1.1, 0, 0, 7);
    g.ellipse(x + lean, high + 2.9 * r + 0.4 * s, 0.27 * s, 0.5 * s, 0, 0, 7);
    g.fill();
  }
}
