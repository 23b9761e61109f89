// Paints the stage's light without WebGL: a coarse grid of cells that the canvas
// smooths. What a head at full adds to each cell it reaches is worked out once, so
// that a frame is a sum of products.

import { encode, falls, gain, haziness, keepHue, surface } from "./stage-light.js";

const most = 24e3, share = 1.8e6; // cells in all, and cells times heads

const codes = Uint8Array.from({ length: 4097 }, (_, i) => encode((i / 4096) ** 2));
const code = (l) => codes[Math.sqrt(l) * 4096 | 0];

export class CellPainter {
  constructor() {
    this.canvas = document.createElement("canvas");
    this.g = this.canvas.getContext("2d");
    this.name = "2d";
  }

  fit(space) {
    const cells = Math.min(most, share / space.lamps.length, space.w * space.h), scale = Math.sqrt(cells / (space.w * space.h));
    const across = this.across = this.canvas.width = Math.max(1, Math.round(space.w * scale));
    const down = this.down = this.canvas.height = Math.max(1, Math.round(space.h * scale));
    this.space = space;
    this.step = [space.w / across, space.h / down];
    this.surfaces = Array.from({ length: across * down }, (_, i) => surface(space, (i % across + 0.5) * this.step[0], (Math.floor(i / across) + 0.5) * this.step[1]));
    this.sum = new Float32Array(across * down * 3);
    this.image = this.g.createImageData(across, down);
    this.image.data.fill(255);
    this.reach = space.lamps.map((l) => this.cells(l));
  }

  /** A lamp points elsewhere. */
  moved(i) { this.reach[i] = this.cells(this.space.lamps[i]); }

  /** The cells that a lamp reaches, and what it adds there to surface and haze. */
  cells(l) {
    const at = [], pool = [], beam = [];
    if (!l.house) {
      this.within(this.space.reach(l), (i) => {
        const [p, b] = falls(this.space, l, this.surfaces[i]);
        if (p > 5e-4 || b > 5e-4) { at.push(i); pool.push(p); beam.push(b); }
      });
    }
    return { at: Uint32Array.from(at), pool: Float32Array.from(pool), beam: Float32Array.from(beam) };
  }

  within([x0, y0, x1, y1], see) {
    const [sx, sy] = this.step, left = Math.max(0, Math.floor(x0 / sx)), right = Math.min(this.across, Math.ceil(x1 / sx));
    for (let y = Math.max(0, Math.floor(y0 / sy)); y < Math.min(this.down, Math.ceil(y1 / sy)); y++) {
      for (let x = left; x < right; x++) see(y * this.across + x, (x + 0.5) * sx, (y + 0.5) * sy);
    }
  }

  paint({ light, haze, ambient, halos }) {
    const sum = this.sum, k = haziness(haze), power = gain(this.space.lamps.length);
    this.surfaces.forEach((s, i) => { for (let c = 0; c < 3; c++) sum[3 * i + c] = ambient[c] * s.albedo; });
    this.reach.forEach(({ at, pool, beam }, n) => {
      const r = light[3 * n] * power, g = light[3 * n + 1] * power, b = light[3 * n + 2] * power;
      if (r + g + b === 0) return;
      for (let j = 0; j < at.length; j++) {
        const v = pool[j] + k * beam[j], i = 3 * at[j];
        sum[i] += r * v;
        sum[i + 1] += g * v;
        sum[i + 2] += b * v;
      }
    });
    for (const h of halos) {
      this.within([h.x - h.radius, h.y - h.radius, h.x + h.radius, h.y + h.radius], (i, x, y) => {
        const q = Math.max(0, 1 - Math.hypot(x - h.x, y - h.y) / h.radius), cover = h.cover * q * q;
        for (let c = 0; c < 3; c++) sum[3 * i + c] += cover * (h.colour[c] - sum[3 * i + c]);
      });
    }
    const out = this.image.data;
    for (let i = 0, o = 0; i < sum.length; i += 3, o += 4) {
      const m = keepHue(Math.max(sum[i], sum[i + 1], sum[i + 2]));
      out[o] = code(sum[i] * m);
      out[o + 1] = code(sum[i + 1] * m);
      out[o + 2] = code(sum[i + 2] * m);
    }
    this.g.putImageData(this.image, 0, 0);
  }
}
