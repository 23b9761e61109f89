// The score as a tool: the top edge of a section is its energy, its right edge is its end,
// notes are cues. Each edge is a slider, for pointers and for the keyboard.

import { quartersPerBeat } from "./now.js";

const ns = "http://www.w3.org/2000/svg";
const side = 26, above = 34, below = 46; // pixels around the stave
const reach = 44; // pixels in which a finger finds an edge
const holdFor = 600; // milliseconds that a press is held for a new cue

function make(name, set, ...inside) {
  const e = document.createElementNS(ns, name);
  for (const [k, v] of Object.entries(set)) e.setAttribute(k, v);
  e.append(...inside);
  return e;
}

let gestures = 0;

export class ComposeScore {
  /** does has what a hand asks for: choose(i), energy(i, energy, gesture),
   *  end(i, bars, gesture), cue(i, beat, gesture). */
  constructor(find, does) {
    this.box = find("compose-score");
    this.svg = make("svg", { role: "group", "aria-label": "Sections, energies and cues of the song" });
    this.box.append(this.svg);
    this.does = does;
    this.parts = [];
    this.strengths = [];
    this.found = [];
    this.cueChosen = -1;
    this.takesCues();
    new ResizeObserver(() => this.draw()).observe(this.box);
  }

  open(song, chosen) {
    if (this.song?.file !== song?.file) this.strengths = [];
    Object.assign(this, { song, chosen });
    this.draw();
  }

  measured(m) { this.strengths = m.sections.map((s) => s.strength); this.drawMeasured(); }

  /** Where something was found, as marks that lead to the words. */
  marks(list) { this.found = list; if (this.foundBox) this.drawFound(); }

  /** What a draft would change, before it is taken; null: nothing is drafted. */
  drafted(draft, sections) { Object.assign(this, { draft, taken: sections }); if (this.ghost) this.drawDraft(); }

  chooseCue(i) { this.cueChosen = i; this.draw(); }

  /** Two taps, or a press that is held, put a cue where they are; one tap says where the
   *  button would put it. */
  takesCues() {
    let timer = 0, from = null, held = 0;
    const stop = () => { clearTimeout(timer); from = null; };
    const beatAt = (p) => Math.max(0, Math.min(this.song.length, (p.clientX - this.svg.getBoundingClientRect().left - side) / Math.max(1, this.w - 2 * side) * this.song.length));
    const free = (p) => this.song?.sections.length && !p.target.closest?.(".edge, .cue, .found");
    this.svg.addEventListener("pointerdown", (p) => {
      if (!p.isPrimary || p.button || !free(p)) return;
      from = { x: p.clientX, y: p.clientY };
      timer = setTimeout(() => { stop(); held = performance.now(); this.does.newCue(beatAt(p)); }, holdFor);
    });
    this.svg.addEventListener("pointermove", (p) => { if (from && Math.hypot(p.clientX - from.x, p.clientY - from.y) > 10) stop(); });
    for (const kind of ["pointerup", "pointercancel", "pointerleave"]) this.svg.addEventListener(kind, stop);
    this.svg.addEventListener("contextmenu", (e) => e.preventDefault());
    this.svg.addEventListener("click", (p) => { if (free(p)) this.does.touched(this.song.bars.findLast((b) => b <= beatAt(p) + 1e-3) ?? 0); });
    this.svg.addEventListener("dblclick", (p) => { if (free(p) && performance.now() - held > 1000) this.does.newCue(beatAt(p)); });
  }

  present(beat) {
    this.beat = beat;
    if (!this.line) return;
    this.line.style.display = beat === null ? "none" : "";
    if (beat !== null) this.line.setAttribute("transform", `translate(${this.x(Math.max(0, Math.min(this.song.length, beat)))} 0)`);
  }

  x(beat) { return side + beat / Math.max(1e-9, this.song.length) * (this.w - 2 * side); }
  y(energy) { return this.h - below - (this.h - below - above) * energy / 10; }
  from(i) { return this.song.sections[i].start; }
  to(i) { const s = this.song.sections[i]; return s.start + s.beats; }

  /** While a hand holds an edge, nothing under it is made anew. */
  draw() {
    if (!this.song || !this.box.clientWidth) return;
    this.w = this.box.clientWidth;
    this.h = this.box.clientHeight;
    this.svg.setAttribute("viewBox", `0 0 ${this.w} ${this.h}`);
    const { song } = this;
    if (this.parts.length !== song.sections.length || this.cues?.length !== song.cues.length || this.made !== song.file) this.build();
    song.sections.forEach((s, i) => this.section(s, i));
    song.cues.forEach((c, i) => this.cue(c, i));
    this.drawRuler();
    this.drawMeasured();
    this.drawDraft();
    this.drawFound();
    this.present(this.beat ?? null);
  }

  build() {
    const { song } = this;
    this.made = song.file;
    this.ruler = make("g", { class: "ruler", "aria-hidden": "true" });
    this.dashes = make("path", { class: "measured", "aria-hidden": "true" });
    this.ghost = make("g", { class: "ghost", "aria-hidden": "true" });
    this.foundBox = make("g", {});
    this.line = make("path", { class: "present", d: `M0 ${above - 8}V${this.h - 6}`, "aria-hidden": "true" });
    this.parts = song.sections.map((_, i) => this.buildSection(i));
    this.cues = song.cues.map((_, i) => this.buildCue(i));
    this.svg.replaceChildren(
      ...this.parts.map((p) => p.body), this.ruler, this.dashes, this.ghost, ...this.parts.map((p) => p.name),
      ...this.parts.flatMap((p) => [p.top, p.end].filter(Boolean)), ...this.cues, this.foundBox, this.line,
    );
  }

  buildSection(i) {
    const last = i === this.song.sections.length - 1;
    const body = make("rect", { class: "body" }), name = make("text", { class: "name", "aria-hidden": "true" });
    const top = this.slider("energy", "vertical"), end = this.slider("end", "horizontal");
    body.addEventListener("click", () => this.does.choose(i));
    name.addEventListener("click", () => this.does.choose(i));
    this.drags(top, () => this.song.sections[i].energy, (from, dx, dy) => from - dy / (this.h - below - above) * 10, (v, g) => this.setEnergy(i, v, g), () => this.does.choose(i));
    this.drags(end, () => this.song.sections[i].bars, (from, dx) => from + dx / this.bar(i), (v, g) => this.setEnd(i, v, g, last), () => this.does.choose(i));
    return { body, name, top, end };
  }

  slider(kind, way) {
    return make("g", { class: "edge " + kind, role: "slider", tabindex: "0", "aria-orientation": way },
      make("rect", { class: "reach" }), make("rect", { class: "grip" }));
  }

  /** Width of a bar of a section, in pixels. */
  bar(i) { return Math.max(1, (this.x(this.to(i)) - this.x(this.from(i))) / this.song.sections[i].bars); }

  setEnergy(i, value, gesture) {
    const energy = Math.round(Math.max(0, Math.min(10, value)));
    if (energy !== this.song.sections[i].energy) this.does.energy(i, energy, gesture);
  }

  setEnd(i, value, gesture, last) {
    const next = this.song.sections[i + 1], most = last ? 999 : this.song.sections[i].bars + next.bars - 1;
    const bars = Math.round(Math.max(1, Math.min(most, value)));
    if (bars !== this.song.sections[i].bars) this.does.end(i, bars, gesture);
  }

  /** An edge follows a pointer from where it stands, and arrow keys by ones. */
  drags(e, value, moved, set, chosen) {
    let from = null;
    e.addEventListener("pointerdown", (p) => {
      if (!p.isPrimary || p.button) return;
      p.preventDefault();
      e.setPointerCapture(p.pointerId);
      e.focus({ preventScroll: true });
      chosen();
      from = { x: p.clientX, y: p.clientY, value: value(), gesture: `drag ${performance.timeOrigin} ${++gestures}` };
    });
    e.addEventListener("pointermove", (p) => {
      if (from) set(moved(from.value, p.clientX - from.x, p.clientY - from.y), from.gesture);
    });
    for (const kind of ["pointerup", "pointercancel"]) e.addEventListener(kind, () => { from = null; });
    e.addEventListener("focus", () => chosen());
    e.addEventListener("keydown", (k) => {
      const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 4, PageDown: -4 }[k.key];
      if (!by) return;
      k.preventDefault();
      set(value() + by * (e.step ?? 1), "");
    });
  }

  section(s, i) {
    const p = this.parts[i], x = this.x(this.from(i)), w = this.x(this.to(i)) - x, y = this.y(s.energy), foot = this.y(0);
    const chosen = i === this.chosen;
    const put = (e, set) => { for (const [k, v] of Object.entries(set)) e.setAttribute(k, v); };
    put(p.body, { x: x + 1, y, width: Math.max(1, w - 2), height: Math.max(2, foot - y), class: chosen ? "body chosen" : "body" });
    p.body.style.fill = this.song.palette.main.shown;
    put(p.name, { x: x + 4, y: above - 12, class: chosen ? "name chosen" : "name" });
    const room = Math.floor((w - 6) / 7.2);
    p.name.textContent = s.name.length <= room ? s.name : room > 2 ? s.name.slice(0, room - 1) + "…" : "";
    put(p.top.firstChild, { x: x + 2, y: y - reach / 2, width: Math.max(4, w - 4), height: reach });
    put(p.top.lastChild, { x: x + 1, y: y - 3, width: Math.max(3, w - 2), height: 6, rx: 3 });
    put(p.top, { "aria-label": `Energy of ${s.name}`, "aria-valuemin": 0, "aria-valuemax": 10, "aria-valuenow": s.energy });
    const edge = Math.min(reach, Math.max(10, w)), gripY = this.y(0) - 14;
    put(p.end.firstChild, { x: x + w - edge / 2, y: gripY - 22, width: edge, height: reach });
    put(p.end.lastChild, { x: x + w - 3, y: gripY - 14, width: 6, height: 28, rx: 3 });
    put(p.end, {
      "aria-label": `End of ${s.name}`, "aria-valuemin": 1, "aria-valuemax": 999, "aria-valuenow": s.bars,
      "aria-valuetext": `${s.bars} ${s.bars === 1 ? "bar" : "bars"}, to the end of bar ${s.from + s.bars - 1}`,
    });
  }

  buildCue(i) {
    const e = make("g", { class: "cue", role: "slider", tabindex: "0", "aria-orientation": "horizontal" },
      make("rect", { class: "reach" }), make("ellipse", { rx: 6, ry: 4.5, transform: "rotate(-20)" }), make("path", { d: "M5 -2V-18" }));
    e.step = quartersPerBeat(this.song);
    this.drags(e, () => this.song.cues[i].start, (from, dx) => from + dx / (this.w - 2 * side) * this.song.length, (v, g) => this.setCue(i, v, g), () => { if (this.cueChosen !== i) this.does.cueChosen(i); });
    e.addEventListener("keydown", (k) => {
      if (k.key !== "Delete" && k.key !== "Backspace") return;
      k.preventDefault();
      this.does.cueRemoved(i);
    });
    return e;
  }

  /** A cue goes to the nearest whole beat. A step of the keyboard is a beat. */
  setCue(i, value, gesture) {
    const c = this.song.cues[i], unit = quartersPerBeat(this.song);
    const beat = Math.max(0, Math.min(this.song.length - unit, Math.round(value / unit) * unit));
    if (Math.abs(beat - c.start) > unit / 2) this.does.cue(i, beat, gesture);
  }

  cue(c, i) {
    const e = this.cues[i], x = this.x(Math.max(0, c.start)), y = this.y(0) + 16;
    e.setAttribute("transform", `translate(${x} ${y})`);
    e.setAttribute("class", `cue${i === this.cueChosen ? " chosen" : ""}${c.drafted ? " drafted" : ""}`);
    const r = e.firstChild;
    for (const [k, v] of Object.entries({ x: -14, y: -20, width: 28, height: 34 })) r.setAttribute(k, v);
    for (const [k, v] of Object.entries({ "aria-label": `${c.drafted ? "Drafted cue" : "Cue"}: ${c.look ? `look ${c.look}` : c.effects?.length ? `effects ${c.effects.join(", ")}` : "levels"}`, "aria-valuemin": 0, "aria-valuemax": Math.round(this.song.length), "aria-valuenow": Math.max(0, Math.round(c.start)), "aria-valuetext": c.at })) e.setAttribute(k, v);
  }

  drawRuler() {
    const { song } = this, each = this.x(song.bars[1] ?? song.length) - this.x(0), list = [];
    const step = [1, 2, 4, 8, 16, 32, 64, 128].find((n) => n * each > 34) ?? 128;
    for (let energy = 0; energy <= 10; energy += 2) {
      list.push(make("path", { class: "stave", d: `M${side} ${this.y(energy)}H${this.w - side}` }));
      const t = make("text", { x: side - 6, y: this.y(energy) + 4, class: "number", "text-anchor": "end" });
      t.textContent = String(energy);
      list.push(t);
    }
    song.bars.forEach((b, i) => {
      if (i % step) return;
      const t = make("text", { x: this.x(b), y: this.h - 6, class: "number" });
      t.textContent = String(i + 1);
      list.push(t);
    });
    this.ruler.replaceChildren(...list);
  }

  /** The light that a draft would have, dotted; and where it would write something: rings. */
  drawDraft() {
    const { draft, song } = this;
    if (!this.ghost) return;
    if (!draft || draft.file !== song.file) { this.ghost.replaceChildren(); return; }
    const rows = draft.rows.filter((r) => this.taken.has(r.section) && r.state !== "yours" && r.state !== "same");
    const strengths = draft.strengths.length === song.sections.length ? draft.strengths : [];
    this.ghost.replaceChildren(
      make("path", { class: "dots", d: strengths.map((v, i) => this.taken.has(i) ? `M${this.x(this.from(i)) + 2} ${this.y(v)}H${this.x(this.to(i)) - 2}` : "").join("") }),
      ...rows.map((r) => make(r.state === "removed" ? "path" : "circle", r.state === "removed" ? { d: `M${this.x(r.beat) - 4} ${this.y(0) + 12}l8 8m0 -8l-8 8` } : { cx: this.x(Math.min(r.beat, song.length)), cy: this.y(0) + 16, r: 6 })),
    );
  }

  /** Marks of what was found stand over their sections. */
  drawFound() {
    if (!this.foundBox || !this.song) return;
    const nth = {}, had = this.foundBox.contains(document.activeElement) ? [...this.foundBox.children].indexOf(document.activeElement) : -1;
    this.foundBox.replaceChildren(...this.found.filter((f) => f.section < this.song.sections.length).map((f) => {
      const n = nth[f.section] = (nth[f.section] ?? -1) + 1, x = Math.min(this.w - side - 8, this.x(this.from(f.section)) + 12 + n * 20);
      const e = make("g", { class: `found ${f.severity}`, role: "button", tabindex: "0", "aria-label": f.words, transform: `translate(${x} ${above + 8})` },
        make("rect", { class: "reach", x: -10, y: -22, width: 20, height: 44 }), make("circle", { r: 8 }), make("path", { d: "M0 -4V1M0 3.5V4.5" }));
      e.addEventListener("click", () => f.show());
      e.addEventListener("keydown", (k) => { if (k.key === "Enter" || k.key === " ") { k.preventDefault(); k.stopPropagation(); f.show(); } });
      return e;
    }));
    if (had >= 0) this.foundBox.children[Math.min(had, this.foundBox.children.length - 1)]?.focus({ preventScroll: true });
  }

  drawMeasured() {
    if (!this.dashes || !this.song) return;
    const parts = this.strengths.length === this.song.sections.length ? this.strengths : [];
    this.dashes.setAttribute("d", parts.map((v, i) => `M${this.x(this.from(i)) + 2} ${this.y(v)}H${this.x(this.to(i)) - 2}`).join(""));
  }
}
