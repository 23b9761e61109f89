// The path of an effect over the picture of the stage: a numbered line in the order in which
// the wave reaches the heads, and a dot on each head as large as the wave is there now.

import { tiles } from "./stage-flat.js";

const ns = "http://www.w3.org/2000/svg";
const least = 2.5, most = 8; // radius of a dot, in pixels
const perSecond = 4; // how far a dot may go each second, in its whole range: two flashes a second at most
const labels = 60; // numbers at most

export function make(name, set, ...inside) {
  const e = document.createElementNS(ns, name);
  for (const [k, v] of Object.entries(set)) e.setAttribute(k, v);
  e.append(...inside);
  return e;
}

export class EffectPath {
  /** stage() returns the picture of the stage. */
  constructor(find, stage) {
    this.canvas = find("lights");
    this.stage = stage;
    this.svg = make("svg", { id: "effect-path", "aria-hidden": "true" });
    this.svg.style.display = "none";
    this.canvas.after(this.svg);
  }

  /** Shows the path of a drawn effect; null hides it. */
  open(drawn) {
    this.drawn = drawn;
    this.made = "";
    this.svg.style.display = drawn ? "" : "none";
  }

  /** Where a head is on the picture. */
  spot(i) {
    const s = this.stage();
    if (s.flat) return tiles(s.heads.length, s.w, s.h).centre(i);
    return s.space.lamps[i]?.spot ?? [0, 0];
  }

  /** at(head) is the wave's light for a head of the effect now, 0..1, and its colour or null.
   *  jumps: it is shown once in a while, and need not go there slowly. */
  present(at, seconds, jumps) {
    const s = this.stage(), { drawn } = this;
    if (!drawn || !s?.space || !s.w || !this.canvas.clientWidth) return;
    const made = [s.w, s.h, s.flat, s.heads.length, this.canvas.offsetTop, this.canvas.offsetLeft, drawn.tag, drawn.effect].join();
    if (made !== this.made) { this.made = made; this.build(s); }
    drawn.heads.forEach((h, i) => {
      const d = this.dots[i];
      if (!d) return;
      const { light, colour } = at(h), step = jumps ? 1 : perSecond * seconds;
      d.shown = d.shown === undefined ? light : Math.max(d.shown - step, Math.min(d.shown + step, light));
      const r = (least + (most - least) * d.shown).toFixed(1);
      if (d.r !== r) { d.r = r; d.e.setAttribute("r", r); }
      if (d.colour !== colour) { d.colour = colour; d.e.style.fill = colour ?? ""; }
    });
  }

  build(s) {
    const { svg, drawn, canvas } = this, old = new Map((this.dots ?? []).filter(Boolean).map((d) => [d.head, d.shown]));
    Object.assign(svg.style, { left: `${canvas.offsetLeft}px`, top: `${canvas.offsetTop}px`, width: `${s.w}px`, height: `${s.h}px` });
    svg.setAttribute("viewBox", `0 0 ${s.w} ${s.h}`);
    const steps = Array.from({ length: drawn.steps }, () => []);
    for (const h of drawn.heads) if (h.head < s.heads.length) steps[h.step]?.push(this.spot(h.head));
    const middle = steps.filter((l) => l.length).map((l) => [0, 1].map((k) => l.reduce((sum, p) => sum + p[k], 0) / l.length));
    const line = (points) => points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
    const parts = [];
    if (drawn.steps > 1) {
      const twigs = steps.flatMap((l, i) => (l.length > 1 ? l.map((p) => line([middle[i], p])) : [])).join("");
      parts.push(make("path", { class: "twig", d: twigs }), make("path", { class: "under", d: line(middle) }), make("path", { class: "way", d: line(middle) }));
    }
    this.dots = drawn.heads.map((h) => {
      if (h.head >= s.heads.length) return null;
      const [cx, cy] = this.spot(h.head), e = make("circle", { cx, cy, r: least, class: "dot" });
      return { e, head: h.head, shown: old.get(h.head) };
    });
    parts.push(...this.dots.filter(Boolean).map((d) => d.e));
    if (drawn.steps > 1 && drawn.heads.length <= labels) parts.push(...drawn.heads.filter((h) => h.head < s.heads.length).map((h) => this.number(h, s)));
    svg.replaceChildren(...parts);
  }

  number(h, s) {
    const [x, y] = this.spot(h.head), above = y > 34;
    const t = make("text", { x: Math.max(10, Math.min(s.w - 10, x)), y: above ? y - 14 : y + 25, "text-anchor": "middle" });
    t.textContent = String(h.step + 1);
    return t;
  }
}

/** The order of the heads in words. */
export function pathWords(drawn, heads) {
  const names = (list) => list.map((h) => heads[h.head]?.name ?? `head ${h.head + 1}`).join(", ");
  if (!drawn.heads.length) return "";
  if (drawn.steps < 2) return `All heads together: ${names(drawn.heads)}.`;
  const steps = Array.from({ length: drawn.steps }, (_, i) => drawn.heads.filter((h) => h.step === i));
  const shown = steps.slice(0, 24).map((list, i) => `${i + 1}: ${names(list)}`).join("; ");
  return `In ${drawn.steps} steps. ${shown}${steps.length > 24 ? "; and so on" : ""}.`;
}
