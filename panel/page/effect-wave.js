// An effect's wave over its period, in beats, as the program has worked it out. The right
// edge is the period, the far edge is the depth, the mark at the foot is its middle; each is
// a slider, for pointers and for the keyboard. A line goes along with the music, with a dot
// for each step of the path.

import { lengthOf, stops } from "./effect-keys.js";
import { make } from "./effect-path.js";

const side = 40, right = 18, above = 26, below = 44; // pixels around the drawing
const reach = 44; // pixels in which a finger finds an edge
const windows = [0.5, 1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 384, 512]; // beats across
const riders = 40; // dots on the wave at most

let gestures = 0;

export class EffectWave {
  /** does has what a hand asks for: period(words, gesture), depth(percent, gesture),
   *  middle(key, percent, gesture). */
  constructor(find, does) {
    this.box = find("effect-wave");
    this.does = does;
    this.svg = make("svg", { role: "group", "aria-label": "The wave over its period, in beats" });
    this.box.append(this.svg);
    this.back = make("g", { "aria-hidden": "true" });
    this.fill = make("linearGradient", { id: "effect-colours", x1: 0, y1: 1, x2: 0, y2: 0 });
    this.ghost = make("path", { class: "ghost", "aria-hidden": "true" });
    this.area = make("path", { class: "area", "aria-hidden": "true" });
    this.curve = make("path", { class: "curve", "aria-hidden": "true" });
    this.line = make("path", { class: "present", "aria-hidden": "true" });
    this.dots = make("g", { class: "riders", "aria-hidden": "true" });
    this.period = this.slider("period", "horizontal");
    this.depth = this.slider("depth", "vertical");
    this.middle = this.slider("middle", "horizontal");
    this.svg.append(make("defs", {}, this.fill), this.back, this.ghost, this.area, this.curve, this.dots, this.line, this.depth, this.middle, this.period);
    this.drags(this.period, () => this.drawn.beats, (from, dx) => from + dx / this.w1 * this.wide, (v, g) => this.setPeriod(v, g), (v, by) => this.nextPeriod(v, by));
    this.drags(this.depth, () => this.drawn.depth, (from, dx, dy) => from - dy / this.h1 / (this.drawn.edge[1] - this.drawn.edge[0]), (v, g) => this.setDepth(v, g), (v, by) => v + by / 100);
    this.drags(this.middle, () => this.middleAt, (from, dx) => from + dx / this.w1 * this.wide / this.drawn.beats * this.drawn.pulses, (v, g) => this.setMiddle(v, g), (v, by) => v + by / 100);
    new ResizeObserver(() => this.draw()).observe(this.box);
  }

  slider(kind, way) {
    return make("g", { class: "edge " + kind, role: "slider", tabindex: "0", "aria-orientation": way },
      make("rect", { class: "reach" }), make("rect", { class: "grip" }));
  }

  /** drawn is what the program answers; keys are the effect's as written; bar is in beats. */
  open(drawn, keys, bar) {
    const before = this.drawn;
    this.before = before?.effect === drawn.effect && before.period === drawn.period - 1 ? before.light : null;
    Object.assign(this, { drawn, keys, bar });
    this.key = ["square"].includes(keys.wave) ? "duty" : ["noise", "steps"].includes(keys.wave) ? null : "skew";
    this.middleAt = Number.parseFloat(keys[this.key] ?? "50") / 100;
    if (!this.held) this.wide = windows.find((n) => n >= drawn.beats * 1.15) ?? drawn.beats * 1.15;
    this.draw();
  }

  x(beat) { return side + beat / this.wide * this.w1; }
  y(light) { return above + (1 - light) * this.h1; }

  /** The light at a part of the period, 0..1 outside which it goes on as before. */
  light(part) {
    const { light } = this.drawn, n = light.length - 1, list = part < 0 && this.before ? this.before : light;
    return list[Math.min(n, Math.floor((part - Math.floor(part)) * n))];
  }

  /** A colour of the effect, as far as the light is on the way to the second. */
  colour(light) {
    const list = this.drawn.colours;
    return list.length ? list[Math.round(Math.max(0, Math.min(1, light)) * (list.length - 1))] : null;
  }

  draw() {
    if (!this.drawn || !this.box.clientWidth) return;
    this.w = this.box.clientWidth;
    this.h = this.box.clientHeight;
    this.w1 = this.w - side - right;
    this.h1 = this.h - above - below;
    this.svg.setAttribute("viewBox", `0 0 ${this.w} ${this.h}`);
    const { light, beats, over } = this.drawn, n = light.length - 1;
    const points = (from, to, most = to) => light.map((v, i) => [from + i / n * (to - from), v]).filter(([b]) => b < most + 1e-6).map(([b, v], i) => `${i ? "L" : "M"}${this.x(b).toFixed(1)} ${this.y(v).toFixed(1)}`).join("");
    const once = points(0, beats);
    this.curve.setAttribute("d", once);
    this.area.setAttribute("d", `${once}L${this.x(beats)} ${this.y(over)}L${this.x(0)} ${this.y(over)}Z`);
    this.ghost.setAttribute("d", this.ghosts(beats, points));
    this.fill.replaceChildren(...this.drawn.colours.map((c, i, all) => make("stop", { offset: i / Math.max(1, all.length - 1), "stop-color": c })));
    this.fill.setAttribute("gradientUnits", "userSpaceOnUse");
    for (const [k, v] of Object.entries({ x1: 0, x2: 0, y1: this.y(0), y2: this.y(1) })) this.fill.setAttribute(k, v);
    for (const e of [this.curve, this.area]) e.classList.toggle("coloured", this.drawn.colours.length > 0);
    this.line.setAttribute("d", `M0 ${above - 6}V${this.h - below + 6}`);
    this.ruler();
    this.edges();
    this.makeRiders();
  }

  /** The wave goes on behind its period, paler. */
  ghosts(beats, points) {
    if (!this.drawn.repeats) return "";
    let d = "";
    for (let from = beats, i = 0; from < this.wide - 1e-6 && i < 8; from += beats, i++) d += points(from, from + beats, this.wide);
    return d;
  }

  ruler() {
    const list = [], text = (x, y, words, anchor = "middle") => {
      const t = make("text", { x, y, class: "number", "text-anchor": anchor });
      t.textContent = words;
      list.push(t);
    };
    for (const v of [0, 0.5, 1]) {
      list.push(make("path", { class: "stave", d: `M${side} ${this.y(v)}H${this.w - right}` }));
      text(side - 6, this.y(v) + 4, `${v * 100} %`, "end");
    }
    const beat = this.w1 / this.wide, step = [1, 2, 4, 8, 16, 32, 64].find((k) => k * beat > 26) ?? 128;
    for (let b = 0; b < this.wide; b++) {
      const bar = b % this.bar === 0;
      if (bar || beat > 6) list.push(make("path", { class: bar ? "barline" : "beatline", d: `M${this.x(b)} ${this.y(1)}V${this.y(0) + (bar ? 8 : 4)}` }));
      if (b % step === 0) text(this.x(b) + 2, this.h - below + 22, String(b + 1), "start");
    }
    text(this.w - right, this.h - 6, "beats", "end");
    this.back.replaceChildren(...list);
  }

  edges() {
    const { beats, depth, edge, pulses } = this.drawn, put = (e, set) => { for (const [k, v] of Object.entries(set)) e.setAttribute(k, v); };
    const box = (e, x, y, w, h) => put(e, { x, y, width: w, height: h });
    const px = this.x(Math.min(beats, this.wide)), dy = this.y(edge[0] + depth * (edge[1] - edge[0]));
    box(this.period.firstChild, px - reach / 2, above, reach, this.h1 - reach / 2);
    box(this.period.lastChild, px - 3, above, 6, this.h1);
    put(this.period, { "aria-label": "Period", "aria-valuemin": 0, "aria-valuemax": 319, "aria-valuenow": beats, "aria-valuetext": this.keys.period ?? "" });
    box(this.depth.firstChild, side, dy - reach / 2, Math.max(reach, px - side - reach / 2), reach);
    box(this.depth.lastChild, side, dy - 2.5, Math.max(8, px - side), 5);
    put(this.depth, { "aria-label": "Depth", "aria-valuemin": 0, "aria-valuemax": 100, "aria-valuenow": Math.round(depth * 100), "aria-valuetext": `${Math.round(depth * 100)} %` });
    this.middle.style.display = this.key ? "" : "none";
    if (!this.key) return;
    const mx = this.x(this.middleAt * beats / pulses), my = this.y(0) + 2;
    box(this.middle.firstChild, mx - reach / 2, my, reach, Math.min(reach, this.h - my));
    box(this.middle.lastChild, mx - 5, my, 10, 16);
    put(this.middle, { "aria-label": this.key === "duty" ? "Duty: how long it is high" : "Skew: where its middle is", "aria-valuemin": this.key === "duty" ? 0 : 1, "aria-valuemax": this.key === "duty" ? 100 : 99, "aria-valuenow": Math.round(this.middleAt * 100), "aria-valuetext": `${Math.round(this.middleAt * 100)} % of a cycle` });
  }

  /** An edge follows a pointer from where it stands, and arrow keys by steps. */
  drags(e, value, moved, set, next) {
    let from = null;
    e.addEventListener("pointerdown", (p) => {
      if (!p.isPrimary || p.button || !this.drawn) return;
      p.preventDefault();
      e.setPointerCapture(p.pointerId);
      e.focus({ preventScroll: true });
      this.held = true;
      from = { x: p.clientX, y: p.clientY, value: value(), gesture: `wave ${performance.timeOrigin} ${++gestures}` };
    });
    // A part of a drawing has no touch-action of its own: without this the page would scroll.
    e.addEventListener("touchstart", (t) => { if (t.touches.length === 1 && t.cancelable) t.preventDefault(); }, { passive: false });
    e.addEventListener("pointermove", (p) => { if (from) set(moved(from.value, p.clientX - from.x, p.clientY - from.y), from.gesture); });
    for (const kind of ["pointerup", "pointercancel", "lostpointercapture"]) e.addEventListener(kind, () => { from = null; this.held = false; });
    e.addEventListener("keydown", (k) => {
      const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[k.key];
      if (!by || !this.drawn) return;
      k.preventDefault();
      // Presses that come faster than answers go on from each other; those of a second are one gesture.
      const now = performance.now(), quick = now - (e.pressed ?? -1e9) < 1000;
      if (!quick) e.presses = `keys ${performance.timeOrigin} ${++gestures}`;
      e.wanted = next(quick ? e.wanted : value(), by);
      e.pressed = now;
      set(e.wanted, e.presses);
    });
  }

  setPeriod(beats, gesture) {
    const list = stops(this.bar, this.held ? this.wide : 300), near = list.reduce((a, b) => (Math.abs(b - beats) < Math.abs(a - beats) ? b : a));
    const words = lengthOf(near, this.bar);
    const asked = `${words} ${gesture}`;
    if (asked !== this.asked && (near !== this.drawn.beats || this.asked?.endsWith(gesture))) this.does.period(words, gesture);
    this.asked = asked;
  }

  nextPeriod(beats, by) {
    const list = stops(this.bar, 300), ahead = list.filter((b) => (by > 0 ? b > beats + 1e-6 : b < beats - 1e-6));
    return (by > 0 ? ahead[0] : ahead.at(-1)) ?? beats;
  }

  setDepth(share, gesture) {
    const percent = Math.round(Math.max(0, Math.min(1, share)) * 100);
    if (percent !== Math.round(this.drawn.depth * 100)) this.does.depth(percent, gesture);
  }

  setMiddle(share, gesture) {
    const [least, most] = this.key === "duty" ? [0, 100] : [1, 99], percent = Math.round(Math.max(least, Math.min(most, share * 100)));
    if (this.key && percent !== Math.round(this.middleAt * 100)) this.does.middle(this.key, percent, gesture);
  }

  /** A dot for each step of the path. */
  makeRiders() {
    const steps = new Map(this.drawn.heads.map((h) => [h.step, h.delay]));
    const list = [...steps].slice(0, riders);
    if (this.riders?.length !== list.length) {
      this.riders = list.map(() => ({ e: make("circle", { r: 5 }) }));
      this.dots.replaceChildren(...this.riders.map((r) => r.e));
    }
    list.forEach(([, delay], i) => { this.riders[i].delay = delay / this.drawn.pulses; });
  }

  /** Where the waves are: part of the period, 0..1; null: not known. */
  present(part) {
    if (!this.drawn || !this.w1) return;
    for (const e of [this.line, this.dots]) e.style.display = part === null ? "none" : "";
    if (part === null) return;
    const { beats } = this.drawn;
    this.line.setAttribute("transform", `translate(${this.x(part * beats).toFixed(1)} 0)`);
    for (const r of this.riders ?? []) {
      const at = part - r.delay, inside = at - Math.floor(at);
      r.e.setAttribute("transform", `translate(${this.x(inside * beats).toFixed(1)} ${this.y(this.light(at)).toFixed(1)})`);
    }
  }
}
