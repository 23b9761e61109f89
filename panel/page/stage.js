// The stage as the hall sees it, in the rig's own metres. What a head shows is 7
// octets of a moment's light. A painter adds up the light (stage-gl.js, or
// stage-cells.js where there is no WebGL2); lenses, trusses, the band and names are
// drawn over it here. Nothing moves by itself: a picture is drawn when light, size
// or what is asked for changes, and not while nobody can see it.

import { CellPainter } from "./stage-cells.js";
import { drawTiles, tiles } from "./stage-flat.js";
import { GLPainter } from "./stage-gl.js";
import { encode, linear } from "./stage-light.js";
import { Names } from "./stage-names.js";
import { Band, drawFrame } from "./stage-props.js";
import { StageHand } from "./stage-hand.js";
import { Space } from "./stage-space.js";
import { parts, stageWords } from "./stage-words.js";

const bytes = 8, mostPixels = 2.2e6;

export class Stage {
  constructor(canvas, pick) {
    this.canvas = canvas;
    this.g = canvas.getContext("2d", { alpha: false });
    this.frame = document.createElement("canvas");
    this.seen = true;
    this.wants = { flat: false, picked: -1, named: false, chosen: new Set(), previewed: null, box: null };
    this.hand = new StageHand(this);
    this.start();
    canvas.addEventListener("click", (e) => {
      if (this.hand.does) return; // heads are chosen
      const at = this.nearest(e.offsetX, e.offsetY);
      if (at >= 0) pick(at);
    });
    new ResizeObserver(() => this.fit()).observe(canvas);
    new IntersectionObserver((list) => { this.seen = list.at(-1).isIntersecting; this.ask(); }).observe(canvas);
  }

  /** Chooses a painter; again when WebGL's context is lost or back. */
  start() {
    const again = (painter) => { this.painter = painter; this.canvas.dataset.painter = painter.name; if (this.space) this.fit(); };
    again(GLPainter.make(() => again(new CellPainter()), () => this.start()) ?? new CellPainter());
  }

  get flat() { return this.wants.flat; }
  set flat(v) { this.want("flat", v); }
  get picked() { return this.wants.picked; }
  set picked(v) { this.want("picked", v); }
  get named() { return this.wants.named; }
  set named(v) { this.want("named", v); }
  /** Heads that somebody has chosen, by index. */
  get chosen() { return this.wants.chosen; }
  set chosen(v) { this.want("chosen", v); }
  /** Light that is drawn in place of what heads show, in the octets of a moment; null: none. */
  get previewed() { return this.wants.previewed; }
  set previewed(v) { this.want("previewed", v); }
  want(name, v) { this.wants[name] = v; this.ask(); }
  get drawn() { return this.previewed?.length === bytes * this.heads?.length ? this.previewed : this.light; }

  /** A new show. */
  open(show) {
    this.show = show;
    this.heads = show.heads;
    this.space = new Space(show.heads);
    this.order = show.heads.map((_, i) => i).sort((a, b) => this.space.lamps[b].at[1] - this.space.lamps[a].at[1]);
    this.parts = parts(show);
    this.lit = new Float32Array(3 * show.heads.length);
    this.light = null;
    this.fit();
  }

  fit() {
    const w = this.canvas.clientWidth, h = this.canvas.clientHeight;
    if (!this.space || w < 2 || h < 2) return;
    const scale = Math.min(devicePixelRatio || 1, 2, Math.sqrt(mostPixels / (w * h)));
    this.w = w;
    this.h = h;
    for (const c of [this.canvas, this.frame]) { c.width = Math.round(w * scale); c.height = Math.round(h * scale); }
    this.g.setTransform(scale, 0, 0, scale, 0, 0);
    this.space.fit(w, h);
    this.canvas.spots = this.space.lamps.map((l) => l.spot);
    this.painter.fit(this.space);
    this.band = new Band(this.space);
    this.names = new Names(this.g, this.space);
    const g = this.frame.getContext("2d");
    g.setTransform(scale, 0, 0, scale, 0, 0);
    drawFrame(g, this.space);
    this.ready = true;
    this.paint(); // at once: a canvas is empty after a change of size
  }

  /** What heads show now; nothing is drawn if that is what they showed. */
  draw(light) {
    const old = this.light;
    if (old && old.length === light.length && old.every((v, i) => v === light[i])) return;
    this.light = light;
    this.ask();
  }

  /** Draws before the browser's next picture; a hidden tab has none. */
  ask() {
    if (this.asked || !this.seen || !this.ready) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; if (this.canvas.clientWidth) this.paint(); });
  }

  /** What a head shows: colour at full, how many times as bright as that it is, intensity,
   *  flashes or haze, pan, tilt. */
  shown(i) {
    const b = this.drawn, at = i * bytes;
    if (!b || b.length < at + bytes) return { c: [255, 255, 255], bright: 1, v: 0, other: 0, pan: 0, tilt: 0 };
    return { c: [b[at], b[at + 1], b[at + 2]], bright: b[at + 7] / 32, v: b[at + 3] / 255, other: b[at + 4], pan: (b[at + 5] - 128) / 127, tilt: (b[at + 6] - 128) / 127 };
  }

  paint() {
    const g = this.g;
    if (this.flat) { drawTiles(g, this.heads, (i) => this.shown(i), (i) => this.marked(i), this.w, this.h); this.hand.draw(g); return; }
    const state = this.state();
    this.painter.paint(state);
    g.imageSmoothingQuality = "high";
    g.drawImage(this.painter.canvas, 0, 0, this.w, this.h);
    g.drawImage(this.frame, 0, 0, this.w, this.h);
    this.band.draw(g, state.light, state.ambient);
    for (const i of this.order) this.lens(i);
    if (this.named) this.names.draw(this.heads);
    if (this.picked >= 0) this.names.one(this.picked, this.heads);
    this.hand.draw(g);
  }

  marked(i) { return i === this.picked || this.chosen.has(i); }

  /** What the painters need to know: linear light of each head, haze, light in the
   *  hall, and the glow around lenses, those behind first. */
  state() {
    const { lamps } = this.space, ambient = [0.019, 0.02, 0.023], halos = [];
    let haze = 0;
    for (const i of this.order) {
      const s = this.shown(i), l = lamps[i];
      if (l.head.kind === "haze") { haze = Math.max(haze, s.other / 255); this.lit.fill(0, 3 * i, 3 * i + 3); continue; }
      for (let c = 0; c < 3; c++) {
        this.lit[3 * i + c] = linear[s.c[c]] * s.bright * s.v;
        if (l.house) ambient[c] += 0.12 * this.lit[3 * i + c];
      }
      if (this.space.point(l, s.pan, s.tilt)) { this.painter.moved(i); this.band.moved(i); }
      if (s.v > 0) halos.push({ x: l.spot[0], y: l.spot[1], radius: l.radius * (1.6 + 1.9 * Math.sqrt(s.v)), colour: this.lit.subarray(3 * i, 3 * i + 3), cover: 0.75 });
    }
    return { light: this.lit, haze, ambient, halos };
  }

  lens(i) {
    const g = this.g, l = this.space.lamps[i], [x, y] = l.spot, r = l.radius, s = this.shown(i), haze = l.head.kind === "haze";
    const ring = (n) => { g.beginPath(); if (haze) g.rect(x - n, y - n, 2 * n, 1.4 * n); else g.arc(x, y, n, 0, 7); };
    const on = haze ? s.other > 0 : s.v > 0, lit = (k) => `rgb(${[0, 1, 2].map((c) => encode(this.lit[3 * i + c] * k)).join()})`;
    ring(r + 1.2);
    g.fillStyle = on && !haze ? lit(0.25) : "#0a0a0a";
    g.fill();
    ring(r);
    g.fillStyle = !on ? "#141414" : haze ? `rgb(${[90, 96, 104].map((n) => Math.round(n * (0.4 + 0.6 * s.other / 255))).join()})` : lit(1);
    g.fill();
    if (!on || this.marked(i)) {
      g.lineWidth = this.marked(i) ? 3 : 1;
      g.strokeStyle = this.marked(i) ? "#e5b659" : "#686868";
      if (this.marked(i)) ring(r + 4);
      g.stroke();
    }
  }

  /** The head nearest to a place of the canvas, within reach of a finger, or -1. */
  nearest(x, y) {
    let best = -1, far = 30 ** 2;
    const t = this.flat && tiles(this.heads.length, this.w, this.h);
    this.heads.forEach((_, i) => {
      const [a, b] = t ? t.centre(i) : this.space.lamps[i].spot, d = (a - x) ** 2 + (b - y) ** 2;
      if (d < (t ? t.wide ** 2 + t.high ** 2 : far) && (best < 0 || d < far)) { far = d; best = i; }
    });
    return best;
  }

  /** The heads whose places lie in a box of the canvas. */
  within(x0, y0, x1, y1) {
    const t = this.flat && tiles(this.heads.length, this.w, this.h), list = [];
    this.heads.forEach((_, i) => {
      const [x, y] = t ? t.centre(i) : this.space.lamps[i].spot;
      if (x >= x0 && x <= x1 && y >= y0 && y <= y1) list.push(i);
    });
    return list;
  }

  /** In words, for those who do not see it. */
  words() { return this.drawn ? stageWords(this.show, this.parts, (i) => this.shown(i)) : "The stage"; }
}
