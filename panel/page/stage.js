// The stage as the audience sees it: heads where they hang, their colour, glow
// and beam. What a head shows is 7 octets of a moment's light.

const bytes = 7;

/** Warm white, for heads that have no colour of their own. */
const bulb = [255, 214, 160];

export class Stage {
  constructor(canvas, pick) {
    this.canvas = canvas;
    this.g = canvas.getContext("2d");
    this.flat = false;
    this.picked = -1;
    this.spots = [];
    canvas.addEventListener("click", (e) => {
      const at = this.nearest(e.offsetX, e.offsetY);
      if (at >= 0) pick(at);
    });
    new ResizeObserver(() => this.fit()).observe(canvas);
  }

  /** A new show. */
  open(show) {
    this.heads = show.heads;
    this.groups = show.groups;
    this.light = null;
    this.fit();
  }

  fit() {
    const scale = Math.min(devicePixelRatio || 1, 2);
    this.w = this.canvas.clientWidth;
    this.h = this.canvas.clientHeight;
    this.canvas.width = Math.round(this.w * scale);
    this.canvas.height = Math.round(this.h * scale);
    this.g.setTransform(scale, 0, 0, scale, 0, 0);
    if (this.heads) { this.place(); this.draw(); }
  }

  /** Where each head is on the canvas. */
  place() {
    const on = this.heads.filter((h) => h.at[1] > -3 && h.kind !== "haze" && !h.house);
    const all = on.length ? on : this.heads;
    const most = (f) => Math.max(...all.map(f)), least = (f) => Math.min(...all.map(f));
    this.box = {
      left: least((h) => h.at[0]) - 1, right: most((h) => h.at[0]) + 1,
      back: Math.max(1, most((h) => h.at[1])), top: Math.max(2, most((h) => h.at[2])) + 0.6,
    };
    this.size = Math.max(5, Math.min(22, this.w / Math.sqrt(this.heads.length) / 9));
    const house = this.heads.map((h, i) => i).filter((i) => this.heads[i].house);
    const cells = this.heads.length, across = Math.ceil(Math.sqrt(cells * this.w / Math.max(1, this.h)));
    const down = Math.ceil(cells / across);
    this.spots = this.heads.map((h, i) => {
      if (this.flat) {
        return [(i % across + 0.5) * this.w / across, (Math.floor(i / across) + 0.5) * this.h / down];
      }
      if (h.house) {
        return [(house.indexOf(i) + 1) * this.w / (house.length + 1), this.h - this.size * 1.2];
      }
      return this.project(h.at);
    });
    this.cell = [this.w / across, this.h / down];
  }

  /** A place in metres, seen from the middle of the hall. */
  project([x, y, z]) {
    const b = this.box, deep = Math.max(-0.6, Math.min(1, y / b.back));
    const near = 1 - 0.22 * deep; // what is further back is smaller
    const middle = (b.left + b.right) / 2, scale = Math.min(this.w * 0.92 / (b.right - b.left), this.h * 1.9 / b.top);
    const floor = this.h * (0.86 - 0.2 * Math.max(0, deep));
    return [
      this.w / 2 + (x - middle) * scale * near,
      y < -1 ? this.h * 0.93 : floor - z / b.top * (floor - this.h * 0.1) * (0.92 + 0.08 * near),
    ];
  }

  nearest(x, y) {
    let best = -1, far = (this.size * 2.5) ** 2;
    this.spots.forEach(([a, b], i) => {
      const d = (a - x) ** 2 + (b - y) ** 2;
      if (d < far) { far = d; best = i; }
    });
    return best;
  }

  /** What a head shows: colour, intensity, flashes or haze, pan, tilt. */
  shown(i) {
    const b = this.light, at = i * bytes;
    if (!b || b.length < at + bytes) return { c: bulb, v: 0, other: 0, pan: 0, tilt: 0 };
    const white = this.heads[i].kind !== "colour";
    return {
      c: white ? bulb : [b[at], b[at + 1], b[at + 2]], v: b[at + 3] / 255,
      other: b[at + 4], pan: b[at + 5] - 128, tilt: b[at + 6] - 128,
    };
  }

  draw(light) {
    if (light) this.light = light;
    if (!this.heads) return;
    const g = this.g;
    g.globalCompositeOperation = "source-over";
    g.fillStyle = "#050609";
    g.fillRect(0, 0, this.w, this.h);
    if (this.flat) { this.drawFlat(); return; }
    this.drawHall();
    g.globalCompositeOperation = "lighter";
    let haze = 0.12;
    this.heads.forEach((h, i) => { if (h.kind === "haze") haze = Math.max(haze, 0.12 + this.shown(i).other / 255 * 0.5); });
    this.heads.forEach((h, i) => { if (h.kind !== "haze" && !h.house) this.beam(h, i, haze); });
    this.heads.forEach((h, i) => this.glow(h, i));
    g.globalCompositeOperation = "source-over";
    this.heads.forEach((h, i) => this.lens(h, i));
  }

  drawHall() {
    const g = this.g, b = this.box;
    const corner = (x, y) => this.project([x, y, 0]);
    g.fillStyle = "#12161d";
    g.beginPath();
    for (const [i, p] of [corner(b.left, 0), corner(b.right, 0), corner(b.right, b.back), corner(b.left, b.back)].entries()) {
      g[i ? "lineTo" : "moveTo"](...p);
    }
    g.closePath();
    g.fill();
    // Bars that heads hang on: heads of a group at one height are on one.
    g.strokeStyle = "#39424f";
    g.lineWidth = 3;
    for (const group of this.groups) {
      const on = group.heads.map((i) => this.heads[i]);
      const level = on.length > 1 && on.every((h) => h.at[2] === on[0].at[2] && h.at[1] === on[0].at[1]);
      const upright = on.length > 1 && on.every((h) => h.at[0] === on[0].at[0] && h.at[1] === on[0].at[1]);
      if (!level && !upright || on[0].house || on[0].at[1] < -1) continue;
      const points = group.heads.map((i) => this.spots[i]);
      g.beginPath();
      points.forEach((p, i) => g[i ? "lineTo" : "moveTo"](...p));
      g.stroke();
    }
    g.fillStyle = "#a9b4c3";
    g.font = "12px system-ui, sans-serif";
    g.textAlign = "center";
    if (this.heads.some((h) => h.house)) g.fillText("hall", this.w / 2, this.h - this.size * 2.6);
  }

  beam(h, i, haze) {
    const s = this.shown(i);
    if (s.v < 0.004) return;
    const [x, y] = this.spots[i], g = this.g;
    let to;
    if (h.at[1] < -1) to = this.project([h.at[0] * 0.5, 1.5, 1.4]);
    else if (h.at[2] > 2.6) to = this.project([h.at[0] * 0.75 + s.pan / 128 * 4, Math.max(0.6, h.at[1] * 0.5) + s.tilt / 128 * 3, 0]);
    else to = [x + (this.w / 2 - x) * 0.35, y - this.h * 0.12];
    const wide = Math.hypot(to[0] - x, to[1] - y) * 0.24 + this.size;
    const nx = -(to[1] - y), ny = to[0] - x, n = Math.hypot(nx, ny) || 1;
    const fill = g.createLinearGradient(x, y, to[0], to[1]);
    fill.addColorStop(0, tint(s.c, s.v * haze));
    fill.addColorStop(1, tint(s.c, 0));
    g.fillStyle = fill;
    g.beginPath();
    g.moveTo(x, y);
    g.lineTo(to[0] + nx / n * wide, to[1] + ny / n * wide);
    g.lineTo(to[0] - nx / n * wide, to[1] - ny / n * wide);
    g.closePath();
    g.fill();
    const pool = g.createRadialGradient(to[0], to[1], 0, to[0], to[1], wide);
    pool.addColorStop(0, tint(s.c, s.v * 0.3));
    pool.addColorStop(1, tint(s.c, 0));
    g.fillStyle = pool;
    g.save();
    g.translate(to[0], to[1]);
    g.scale(1, 0.35);
    g.translate(-to[0], -to[1]);
    g.fillRect(to[0] - wide, to[1] - wide, wide * 2, wide * 2);
    g.restore();
  }

  glow(h, i) {
    const s = this.shown(i);
    if (h.kind === "haze" || s.v < 0.004) return;
    const [x, y] = this.spots[i], r = this.size * (1.5 + 2.5 * s.v);
    this.g.globalAlpha = 0.15 + 0.75 * s.v;
    this.g.drawImage(halo(s.c), x - r, y - r, 2 * r, 2 * r);
    this.g.globalAlpha = 1;
  }

  lens(h, i) {
    const g = this.g, s = this.shown(i), [x, y] = this.spots[i], r = this.size * 0.55;
    g.beginPath();
    if (h.kind === "haze") g.rect(x - r, y - r, 2 * r, 2 * r);
    else g.arc(x, y, r, 0, 2 * Math.PI);
    const v = h.kind === "haze" ? s.other / 255 * 0.6 : s.v;
    g.fillStyle = mix(s.c, v);
    g.fill();
    g.lineWidth = i === this.picked ? 3 : 1;
    g.strokeStyle = i === this.picked ? "#e5b659" : "#768297";
    g.stroke();
  }

  drawFlat() {
    const g = this.g, [cw, ch] = this.cell, m = 3;
    g.textAlign = "center";
    g.font = `${Math.max(9, Math.min(14, cw / 7))}px system-ui, sans-serif`;
    this.heads.forEach((h, i) => {
      const [x, y] = this.spots[i], s = this.shown(i);
      const v = h.kind === "haze" ? s.other / 255 : s.v;
      const left = x - cw / 2 + m, top = y - ch / 2 + m, w = cw - 2 * m, high = ch - 2 * m;
      g.fillStyle = "#161b23";
      g.fillRect(left, top, w, high);
      g.fillStyle = mix(s.c, 1);
      g.fillRect(left, top + high * (1 - v), w, high * v);
      g.strokeStyle = i === this.picked ? "#e5b659" : "#39424f";
      g.lineWidth = i === this.picked ? 3 : 1;
      g.strokeRect(left, top, w, high);
      if (ch > 26 && cw > 34) {
        g.fillStyle = "#000a";
        g.fillRect(left, y - 9, w, ch > 44 ? 34 : 18);
        g.fillStyle = "#eef2f7";
        g.fillText(h.name, x, y + 5, w - 4);
        if (ch > 44) g.fillText(`${Math.round(v * 100)} %`, x, y + 21, w - 4);
      }
    });
  }

  /** In words, for those who do not see it. */
  words() {
    if (!this.light) return "The stage";
    const parts = this.groups.filter((g) => g.heads.length).slice(0, 8).map((g) => {
      const mean = g.heads.reduce((sum, i) => sum + this.shown(i).v, 0) / g.heads.length;
      return `${g.name} ${Math.round(mean * 100)} %`;
    });
    return "The stage: " + parts.join(", ");
  }
}

const halos = new Map();

/** A soft round light of a colour. Few colours are on a stage at once; those that
 *  have gone are forgotten together. */
function halo(c) {
  const key = (c[0] >> 3) << 10 | (c[1] >> 3) << 5 | c[2] >> 3;
  let image = halos.get(key);
  if (image) return image;
  if (halos.size > 500) halos.clear();
  image = document.createElement("canvas");
  image.width = image.height = 64;
  const g = image.getContext("2d"), fill = g.createRadialGradient(32, 32, 0, 32, 32, 32);
  fill.addColorStop(0, tint(c, 1));
  fill.addColorStop(1, tint(c, 0));
  g.fillStyle = fill;
  g.fillRect(0, 0, 64, 64);
  halos.set(key, image);
  return image;
}

const tint = (c, a) => `rgba(${c[0]},${c[1]},${c[2]},${Math.min(1, a).toFixed(3)})`;

/** A colour at an intensity, as a lens shows it: dim ones are still seen. */
function mix(c, v) {
  const x = 0.1 + 0.9 * Math.sqrt(v), w = Math.max(0, v - 0.6) * 0.5;
  return `rgb(${c.map((n) => Math.round((n + (255 - n) * w) * x)).join(",")})`;
}
