// The rig as a plan, from above or from the audience: each fixture a mark that can be
// dragged, by pointers and by arrow keys.

const ns = "http://www.w3.org/2000/svg";
const dot = 9, reach = 22, pad = 34; // pixels
let gestures = 0;

function make(name, set = {}, ...inside) {
  const e = document.createElementNS(ns, name);
  put(e, set);
  e.append(...inside);
  return e;
}
function put(e, set) { for (const [k, v] of Object.entries(set)) if (e.getAttribute(k) !== String(v)) e.setAttribute(k, v); }
const round = (m) => Math.round(m * 10) / 10;
const written = (p) => p.map((m) => Math.round(m * 1000) / 1000);

/** Where the fixtures of a row hang, in metres. */
export function placesOf(f) {
  const n = f.names.length;
  if (f.at) return f.names.map(() => f.at);
  if (!f.from || !f.to) return f.names.map(() => [0, 0, 0]);
  if (n === 1) return [f.from.map((a, k) => (a + f.to[k]) / 2)];
  return f.names.map((_, i) => f.from.map((a, k) => a + (f.to[k] - a) * i / (n - 1)));
}

export class RigPlan {
  /** does has choose(name); move(fixture, {at} or {from, to}, gesture); pick(names), where
   *  marks are picked for a group. */
  constructor(box, does) {
    Object.assign(this, { box, does, rows: new Map(), held: null, chosen: "", members: null, front: false });
    this.ground = make("g", { "aria-hidden": "true" });
    this.marks = make("g");
    this.names = make("g", { "aria-hidden": "true" });
    this.ends = make("g");
    this.box1 = make("rect", { class: "picked", visibility: "hidden" });
    this.svg = make("svg", { role: "group", "aria-label": "Plan of the rig" }, this.ground, this.marks, this.names, this.ends, this.box1);
    box.append(this.svg);
    this.catchAround();
    new ResizeObserver(() => this.draw()).observe(box);
  }

  /** members: names of the fixtures in the group that is picked for, or null. */
  open(fixtures, chosen, members, front) {
    Object.assign(this, { fixtures, chosen, members, front });
    if (this.held && !this.held.down) this.held = null;
    this.box.classList.toggle("picking", members !== null);
    this.draw();
  }

  /** Metres across, and back or up, of a point, and pixels of them. */
  flat(p) { return [p[0], this.front ? p[2] : p[1]]; }
  x(p) { return this.left + (p[0] - this.least[0]) * this.scale; }
  y(p) { return this.foot - (this.flat(p)[1] - this.least[1]) * this.scale; }

  fit() {
    const least = [-5, this.front ? 0 : -1], most = [5, this.front ? 5 : 6.5];
    for (const f of this.fixtures) {
      for (const p of placesOf(f)) this.flat(p).forEach((v, k) => { least[k] = Math.min(least[k], v); most[k] = Math.max(most[k], v); });
    }
    if (!this.held?.down) Object.assign(this, { least, most });
    this.w = this.box.clientWidth;
    this.h = this.box.clientHeight;
    this.scale = Math.min((this.w - 2 * pad) / (this.most[0] - this.least[0]), (this.h - 2 * pad - 10) / (this.most[1] - this.least[1]));
    this.left = (this.w - (this.most[0] - this.least[0]) * this.scale) / 2;
    this.foot = this.h / 2 + (this.most[1] - this.least[1]) * this.scale / 2;
    put(this.svg, { viewBox: `0 0 ${this.w} ${this.h}` });
  }

  draw() {
    if (!this.fixtures || !this.box.clientWidth) return;
    this.fit();
    this.drawGround();
    const names = new Set(this.fixtures.map((f) => f.name));
    for (const [name, row] of this.rows) if (!names.has(name)) this.drop(row);
    this.fixtures.forEach((f, i) => {
      let row = this.rows.get(f.name);
      if (!row || row.dots.length !== f.names.length) {
        if (row) this.drop(row);
        this.rows.set(f.name, row = this.build(f));
      }
      if (this.marks.children[i] !== row.e) this.marks.insertBefore(row.e, this.marks.children[i] ?? null);
      row.f = this.held?.name === f.name ? { ...f, ...this.held.places } : f;
      this.drawRow(row);
    });
    this.drawNames();
    this.drawEnds();
  }

  drawGround() {
    const list = [], across = [Math.ceil(this.least[0]), Math.floor(this.most[0])], up = [Math.ceil(this.least[1]), Math.floor(this.most[1])];
    const at = (x, v) => this.front ? [x, 0, v] : [x, v, 0];
    for (let x = across[0]; x <= across[1]; x++) list.push(make("path", { class: "grid", d: `M${this.x(at(x, 0))} ${this.y(at(0, up[0]))}V${this.y(at(0, up[1]))}` }));
    for (let v = up[0]; v <= up[1]; v++) list.push(make("path", { class: "grid", d: `M${this.x(at(across[0], 0))} ${this.y(at(0, v))}H${this.x(at(across[1], 0))}` }));
    const word = (x, y, text, anchor) => { const t = make("text", { class: "word", x, y, "text-anchor": anchor }); t.textContent = text; list.push(t); };
    if (this.front) {
      list.push(make("path", { class: "deck", d: `M${this.x([-4, 0, 0])} ${this.y([0, 0, 0])}H${this.x([4, 0, 0])}` }));
      word(8, 16, "Up", "start");
    } else {
      list.push(make("rect", { class: "deck", x: this.x([-4, 0, 0]), y: this.y([0, 6, 0]), width: 8 * this.scale, height: 6 * this.scale }));
      word(8, 16, "Back of the stage", "start");
      word(8, this.h - 8, "Audience", "start");
    }
    word(this.w - 8, this.h - 8, "1 m squares", "end");
    this.ground.replaceChildren(...list);
  }

  build(f) {
    const row = { name: f.name, dots: f.names.map((_, i) => make("g", { "data-i": i }, make("circle", { class: "reach", r: reach }), make("circle", { class: "dot", r: dot }))) };
    row.reach = make("line", { class: "reach" });
    row.span = make("line", { class: "span" });
    row.title = make("text", { class: "name", "text-anchor": "middle" });
    row.patch = make("text", { class: "patch", "text-anchor": "middle" });
    this.names.append(row.title, row.patch);
    row.e = make("g", { class: "fixture", role: "button", tabindex: "0", "data-name": f.name }, row.reach, row.span, ...row.dots);
    this.moves(row.e, row, (places, d) => places.at ? { at: plus(places.at, d) } : { from: plus(places.from, d), to: plus(places.to, d) });
    return row;
  }

  drop(row) {
    for (const e of [row.e, row.title, row.patch]) e.remove();
    this.rows.delete(row.name);
  }

  drawRow(row) {
    const { f } = row, places = placesOf(f), first = f.at ?? f.from ?? [0, 0, 0], last = f.at ?? f.to ?? [0, 0, 0];
    const chosen = f.name === this.chosen, all = this.members !== null && f.names.every((n) => this.members.has(n));
    const at = { x1: this.x(first), y1: this.y(first), x2: this.x(last), y2: this.y(last) };
    put(row.e, {
      class: `fixture${chosen ? " chosen" : ""}`,
      "aria-pressed": this.members !== null ? all : chosen,
      "aria-label": `${f.name}, ${f.profile}, universe ${f.universe}, ${addresses(f)}; ${words(first)}${f.at ? "" : ` to ${words(last)}`}`,
    });
    put(row.reach, at);
    put(row.span, at);
    row.dots.forEach((g, i) => {
      put(g, { transform: `translate(${this.x(places[i])} ${this.y(places[i])})` });
      g.lastChild.classList.toggle("member", this.members?.has(f.names[i]) ?? false);
    });
    const middle = [(at.x1 + at.x2) / 2, Math.max(at.y1, at.y2)];
    put(row.title, { x: middle[0], y: middle[1] + dot + 14 });
    put(row.patch, { x: middle[0], y: middle[1] + dot + 28 });
    row.title.textContent = f.name;
    row.patch.textContent = `${f.universe} ${addresses(f)}`;
  }

  /** Names that would cross others are left out, that of the chosen fixture last. */
  drawNames() {
    const taken = this.fixtures.flatMap((f) => placesOf(this.rows.get(f.name).f).map((p) => ({ x: this.x(p), y: this.y(p) + 4, w: 2 * dot - 4 })));
    const free = (x, y, w) => taken.every((t) => Math.abs(t.x - x) > (t.w + w) / 2 + 4 || Math.abs(t.y - y) > 13);
    const rows = [...this.rows.values()].sort((a, b) => (b.name === this.chosen) - (a.name === this.chosen));
    for (const row of rows) {
      for (const p of [row.title, row.patch]) {
        const w = p.textContent.length * 6.6, y = Number(p.getAttribute("y"));
        const x = Math.max(w / 2 + 2, Math.min(this.w - w / 2 - 2, Number(p.getAttribute("x"))));
        put(p, { x });
        const ok = free(x, y, w) && y < this.h - 2;
        if (ok) taken.push({ x, y, w });
        put(p, { visibility: ok ? "visible" : "hidden" });
      }
    }
  }

  /** The ends of the chosen row, each beside its last fixture. */
  drawEnds() {
    const row = this.rows.get(this.chosen), f = row?.f, has = f?.from && f.to && this.members === null;
    if (!has) { this.ends.replaceChildren(); this.endsOf = ""; return; }
    if (this.endsOf !== this.chosen) {
      this.endsOf = this.chosen;
      this.ends.replaceChildren(...["from", "to"].map((key) => {
        const e = make("g", { class: "end", role: "button", tabindex: "0" }, make("circle", { class: "reach", r: reach }), make("rect", { class: "grip", x: -8, y: -8, width: 16, height: 16, rx: 3 }));
        e.dataset.end = key;
        this.moves(e, row, (places, d) => ({ from: places.from, to: places.to, [key]: plus(places[key], d) }));
        return e;
      }));
    }
    const from = [this.x(f.from), this.y(f.from)], to = [this.x(f.to), this.y(f.to)], long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const way = long > 1 ? [(to[0] - from[0]) / long, (to[1] - from[1]) / long] : [1, 0];
    for (const [e, at, sign] of [[this.ends.firstChild, from, -1], [this.ends.lastChild, to, 1]]) {
      const x = Math.max(reach, Math.min(this.w - reach, at[0] + sign * way[0] * 30)), y = Math.max(reach, Math.min(this.h - reach, at[1] + sign * way[1] * 30));
      put(e, { transform: `translate(${x} ${y})`, "aria-label": `${sign < 0 ? "First" : "Last"} end of ${f.name}: ${words(sign < 0 ? f.from : f.to)}` });
    }
  }

  /** A mark follows a pointer, and the arrow keys. */
  moves(e, row, moved) {
    const places = () => row.f.at ? { at: row.f.at } : { from: row.f.from, to: row.f.to };
    const by = (from, dx, dy, gesture, down) => {
      const d = this.front ? [dx, 0, dy] : [dx, dy, 0], to = Object.fromEntries(Object.entries(moved(from, d)).map(([k, p]) => [k, written(p)]));
      if (JSON.stringify(to) === JSON.stringify(places())) return;
      this.held = { name: row.name, places: to, down };
      this.does.move(row.f, to, gesture);
      this.draw();
    };
    let from = null;
    e.addEventListener("pointerdown", (p) => {
      if (!p.isPrimary || p.button || this.members !== null) return;
      p.preventDefault();
      p.stopPropagation();
      e.setPointerCapture(p.pointerId);
      e.focus({ preventScroll: true });
      this.does.choose(row.name);
      if (!row.f.at && !row.f.from) return;
      from = { x: p.clientX, y: p.clientY, places: places(), gesture: `plan ${performance.timeOrigin} ${++gestures}` };
      this.held = { name: row.name, places: places(), down: true };
    });
    e.addEventListener("pointermove", (p) => {
      if (from) by(from.places, round((p.clientX - from.x) / this.scale), round((from.y - p.clientY) / this.scale), from.gesture, true);
    });
    for (const kind of ["pointerup", "pointercancel"]) {
      e.addEventListener(kind, () => {
        if (from && this.held) this.held.down = false;
        from = null;
      });
    }
    e.addEventListener("click", (p) => {
      if (this.members === null) { this.does.choose(row.name); return; }
      if (performance.now() - (this.around ?? -1e9) < 100) return; // the end of a drag around
      const i = p.target.closest("[data-i]")?.dataset.i;
      this.does.pick(i === undefined ? row.f.names : [row.f.names[i]], true);
    });
    e.addEventListener("focus", () => { if (this.members === null && this.chosen !== row.name) this.does.choose(row.name); });
    e.addEventListener("keydown", (k) => {
      if (k.key === "Enter" || k.key === " ") {
        k.preventDefault();
        k.stopPropagation();
        if (this.members !== null) this.does.pick(row.f.names, true);
        else this.does.choose(row.name);
        return;
      }
      const way = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[k.key];
      if (!way || this.members !== null || !row.f.at && !row.f.from) return;
      k.preventDefault();
      const step = k.shiftKey ? 0.5 : 0.1;
      by(places(), way[0] * step, way[1] * step, `keys ${row.name} ${performance.timeOrigin} ${gestures}`, false);
    });
    e.addEventListener("keyup", () => { gestures++; });
  }

  /** Fixtures for a group are picked by dragging around them. */
  catchAround() {
    let from = null;
    const here = (p) => { const r = this.svg.getBoundingClientRect(); return [p.clientX - r.left, p.clientY - r.top]; };
    this.svg.addEventListener("pointerdown", (p) => {
      if (this.members === null || !p.isPrimary || p.button) return;
      from = here(p);
    });
    addEventListener("pointermove", (p) => {
      if (!from) return;
      const to = here(p);
      put(this.box1, { x: Math.min(from[0], to[0]), y: Math.min(from[1], to[1]), width: Math.abs(to[0] - from[0]), height: Math.abs(to[1] - from[1]), visibility: "visible" });
    });
    addEventListener("pointerup", (p) => {
      if (!from) return;
      const to = here(p), box = [Math.min(from[0], to[0]), Math.min(from[1], to[1]), Math.max(from[0], to[0]), Math.max(from[1], to[1])];
      from = null;
      put(this.box1, { visibility: "hidden" });
      if (box[2] - box[0] < 8 && box[3] - box[1] < 8) return; // a tap
      const names = this.fixtures.flatMap((f) => placesOf(f).map((q, i) => [f.names[i], this.x(q), this.y(q)]))
        .filter(([, x, y]) => x >= box[0] && x <= box[2] && y >= box[1] && y <= box[3]).map(([n]) => n);
      this.around = performance.now();
      if (names.length) this.does.pick(names, false);
    });
    addEventListener("pointercancel", () => { from = null; put(this.box1, { visibility: "hidden" }); });
  }
}

const plus = (p, d) => p.map((m, k) => m + d[k]);

/** A place in words. */
export function words([x, y, z]) {
  const m = (v) => `${round(Math.abs(v))} m`;
  return [x < 0 ? `${m(x)} left` : x > 0 ? `${m(x)} right` : "in the middle", y < 0 ? `${m(y)} into the hall` : `${m(y)} back`, `${m(z)} up`].join(", ");
}

/** The slots of a row. */
export const addresses = (f) => f.last > f.address ? `${f.address}–${f.last}` : String(f.address);
