// The heads of a look: chosen on the picture of the stage or by name, with their level and
// colour in the look.

import { compose } from "./api.js";
import { ColourField } from "./colour-field.js";
import { Fader } from "./fader.js";
import { write } from "./now.js";
import { RigNames } from "./rig-names.js";
import { percent } from "./stage-words.js";
import { element } from "./words.js";

const roles = ["main", "second", "accent", "warm"];

export class LookHeads {
  /** composing sends edits, and has the picture of the stage. */
  constructor(find, composing) {
    Object.assign(this, { find, composing, stage: composing.stage, chosen: new Set(), own: false, drags: 0, shown: new Map() });
    this.fader = new Fader("Level", async (share) => this.setLevel(share));
    find("the-look-level").append(...this.fader.parts);
    for (const e of [this.fader.track, this.fader.input]) e.addEventListener(e === this.fader.input ? "focus" : "pointerdown", () => { this.drags++; });
    this.field = new ColourField(find("the-look-colour"), (text, gesture) => this.setColour(text, gesture));
    find("the-look-none").addEventListener("click", () => { this.none(); this.draw(); find("the-look-groups").firstElementChild?.focus({ preventScroll: true }); });
    find("the-look-out").addEventListener("click", () => this.takeOut());
  }

  send(edits, gesture) { return this.composing.send(edits, gesture); }

  enter() {
    this.stage.hand.choose({
      press: (i) => { this.toggle([i]); },
      box: (list, more) => { this.choose(more ? [...this.chosen, ...list] : list); },
    });
    this.stage.chosen = this.chosen;
  }

  leave() {
    this.stage.hand.choose(null);
    this.stage.chosen = new Set();
  }

  none() { this.chosen = new Set(); this.own = false; }

  choose(list) {
    this.chosen = new Set(list);
    this.own = false;
    this.draw();
  }

  /** Adds heads to those that are chosen, or takes them away if all of them are. */
  toggle(list) {
    const all = list.every((i) => this.chosen.has(i)), next = new Set(this.chosen);
    for (const i of list) { if (all) next.delete(i); else next.add(i); }
    this.choose(next);
  }

  open(model, look, palette) {
    Object.assign(this, { model, look, palette });
    if (this.show !== this.stage.show) {
      this.show = this.stage.show;
      this.names = new RigNames(this.show);
      this.chosen = new Set([...this.chosen].filter((i) => i < this.show.heads.length));
    }
    this.field.open(JSON.stringify(model.rig));
    this.draw();
  }

  /** The light of the look as it comes out, in the octets of a moment. */
  lit(light) {
    this.light = light;
    if (this.look) this.values();
  }

  draw() {
    if (!this.names || !this.look) return;
    const { find } = this;
    this.stage.chosen = this.chosen;
    this.parts();
    this.buttons(find("the-look-groups"), this.show.groups.map((g) => [g.name, g.heads]));
    this.buttons(find("the-look-heads"), this.show.heads.map((h, i) => [h.name, [i]]));
    const list = [...this.chosen], names = this.names.names(list, this.look.set?.map((s) => s.on));
    write(find("the-look-chosen"), list.length ? `Chosen: ${names.join(", ")} (${list.length === 1 ? "1 head" : `${list.length} heads`})` : "No heads are chosen.");
    find("the-look-set").hidden = !list.length;
    if (list.length) this.values();
  }

  /** What the look has, each a button that chooses those heads. */
  parts() {
    const box = this.find("the-look-parts"), set = this.look.set ?? [];
    const words = set.map((s) => [s.on, Object.entries(s.levels).filter(([k]) => k !== "colour").map(([k, v]) => (k === "intensity" ? v : `${k} ${v}`)).join(", "), s.levels.colour ?? ""]);
    const made = JSON.stringify([words, this.palette]);
    if (box.made !== made) {
      box.made = made;
      const focus = [...box.children].indexOf(document.activeElement);
      box.replaceChildren(...words.map(([on, levels, colour]) => {
        const b = element("button");
        b.type = "button";
        if (colour) b.append(this.swatch(colour));
        b.append(`${on}: ${[colour, levels].filter(Boolean).join(", ") || "nothing"}`);
        b.addEventListener("click", () => this.choose(this.names.heads(on)));
        return b;
      }), ...words.length ? [] : [element("p", "Nothing: it only has effects.", "quiet")]);
      if (focus >= 0) box.children[Math.min(focus, box.children.length - 1)].focus?.({ preventScroll: true });
    }
    set.forEach((s, i) => {
      const heads = this.names.heads(s.on);
      box.children[i].setAttribute("aria-pressed", String(heads.length > 0 && heads.length === this.chosen.size && heads.every((h) => this.chosen.has(h))));
    });
  }

  buttons(box, list) {
    const made = list.map(([name]) => name).join("\n");
    if (box.made !== made) {
      box.made = made;
      box.replaceChildren(...list.map(([name]) => Object.assign(element("button", name), { type: "button" })));
    }
    list.forEach(([, heads], i) => {
      const b = box.children[i];
      b.onclick = () => this.toggle(heads);
      b.setAttribute("aria-pressed", String(heads.length > 0 && heads.every((h) => this.chosen.has(h))));
    });
  }

  swatch(colour) {
    const s = element("span", undefined, "swatch"), known = this.palette[colour]?.shown ?? (colour.startsWith("#") ? colour : this.shown.get(colour));
    s.setAttribute("aria-hidden", "true");
    if (known) s.style.background = known;
    else compose.colour(colour).then((c) => { this.shown.set(colour, c.colour.shown); s.style.background = c.colour.shown; }, () => {});
    return s;
  }

  // What the chosen heads have.

  /** The entries of the look that decide a level of heads, the last first. */
  deciding(key, heads) {
    return (this.look.set ?? []).filter((s) => s.levels[key] !== undefined && this.names.heads(s.on).some((i) => heads.includes(i))).reverse();
  }

  values() {
    const { find, fader } = this, lamps = this.of((h) => h.kind !== "haze"), coloured = this.of((h) => h.kind === "colour");
    if (!this.chosen.size) return;
    write(fader.label, lamps.length ? "Level" : "Haze");
    clearTimeout(this.later);
    if (fader.busy || this.composing.busy) this.later = setTimeout(() => this.values(), 30); // the fader is where a hand has put it
    else {
      const levels = (lamps.length ? lamps : [...this.chosen]).map((i) => this.level(i)), low = Math.min(...levels), high = Math.max(...levels);
      fader.draw(percent(high));
      if (percent(low) !== percent(high)) write(fader.out, `${percent(low)} to ${percent(high)} %`);
    }
    find("the-look-colour-box").hidden = !coloured.length;
    find("the-look-out").disabled = !(this.look.set ?? []).some((s) => this.names.heads(s.on).some((i) => this.chosen.has(i)));
    if (coloured.length) this.colours(coloured);
  }

  /** The level that the look gives a head, 0..1: as written, or as it comes out. */
  level(i) {
    const haze = this.show.heads[i].kind === "haze", [by] = this.deciding(haze ? "haze" : "intensity", [i]);
    if (!by) return 0;
    const written = /^(\d+(?:\.\d+)?) ?%$/.exec(by.levels[haze ? "haze" : "intensity"]);
    return written ? Number(written[1]) / 100 : (this.light?.[8 * i + (haze ? 4 : 3)] ?? 0) / 255;
  }

  of(test) { return [...this.chosen].filter((i) => test(this.show.heads[i])); }

  /** The colours to choose from, and the one that the heads have. */
  colours(heads) {
    const box = this.find("the-look-roles"), now = this.deciding("colour", heads), written = [...new Set(now.map((s) => s.levels.colour))];
    const whole = now[0] && heads.every((i) => this.names.heads(now[0].on).includes(i)) ? [now[0].levels.colour] : written;
    const one = whole.length === 1 ? whole[0] : "", isOwn = one !== "" && !roles.includes(one), made = JSON.stringify(this.palette);
    if (box.made !== made) {
      box.made = made;
      box.replaceChildren(...[...roles, "own"].map((role) => {
        const b = element("button");
        b.type = "button";
        b.dataset.role = role;
        if (role === "own") b.append("A colour of its own");
        else b.append(this.swatch(role), role);
        b.addEventListener("click", () => { this.own = role === "own"; if (this.own) this.draw(); else this.setColour(role, ""); });
        return b;
      }));
    }
    const own = this.own || isOwn;
    for (const b of box.children) b.setAttribute("aria-pressed", String(b.dataset.role === "own" ? own : !this.own && b.dataset.role === one));
    this.find("the-look-colour").hidden = !own;
    if (own) this.field.show(one && isOwn ? one : this.palette[one || "main"].shown, this.shown.get(one) ?? "", heads);
  }

  // Edits.

  /** Edits that set a key for heads: written where the heads are named already, else under
   *  as few names as possible. What the look sets for some of them apart goes. */
  edits(key, heads, to) {
    const set = this.look.set ?? [], names = this.names.names(heads, set.map((s) => s.on)).filter((n) => this.can(n, key)), hit = new Set(heads);
    const make = (on, value) => (key === "colour" ? { do: "set look colour", look: this.look.name, on, to: value } : { do: "set look level", look: this.look.name, on, level: key, to: value });
    const inside = set.filter((s) => s.levels[key] !== undefined && !names.includes(s.on) && this.names.heads(s.on).every((i) => hit.has(i)));
    const list = [...names.map((on) => make(on, to)), ...inside.map((s) => make(s.on, null))];
    const later = (on) => set.slice(set.findIndex((s) => s.on === on) + 1).filter((s) => s.levels[key] !== undefined && !names.includes(s.on) && !inside.includes(s));
    const over = new Set(names.filter((on) => set.some((s) => s.on === on)).flatMap((on) => {
      const own = this.names.heads(on);
      return later(on).flatMap((s) => this.names.heads(s.on).filter((i) => own.includes(i)));
    }));
    for (const on of over.size ? this.names.names([...over]) : []) list.push(make(on, to));
    return list;
  }

  /** Whether any head of a name has what a key sets. */
  can(name, key) {
    const kinds = this.names.heads(name).map((i) => this.show.heads[i].kind);
    if (key === "haze") return kinds.includes("haze");
    return kinds.some((k) => (key === "colour" ? k === "colour" : k === "colour" || k === "white"));
  }

  setLevel(share) {
    const to = `${Math.round(share * 100)} %`, lamps = this.of((h) => h.kind !== "haze"), haze = this.of((h) => h.kind === "haze");
    const edits = [...lamps.length ? this.edits("intensity", lamps, to) : [], ...haze.length ? this.edits("haze", haze, to) : []];
    return this.send(edits, `level ${performance.timeOrigin} ${this.drags} ${[...this.chosen].join()}`);
  }

  setColour(text, gesture) {
    const heads = this.of((h) => h.kind === "colour");
    if (heads.length) this.send(this.edits("colour", heads, text), gesture);
  }

  /** What the look sets for just these heads is taken away; where it is set for others too,
   *  these go dark. */
  takeOut() {
    const set = this.look.set ?? [], edits = [], left = new Set(this.chosen);
    for (const s of set) {
      const heads = this.names.heads(s.on);
      if (!heads.length || !heads.every((i) => this.chosen.has(i))) continue;
      for (const key of Object.keys(s.levels)) edits.push(key === "colour" ? { do: "set look colour", look: this.look.name, on: s.on, to: null } : { do: "set look level", look: this.look.name, on: s.on, level: key, to: null });
    }
    const still = set.filter((s) => !this.names.heads(s.on).every((i) => this.chosen.has(i))).flatMap((s) => this.names.heads(s.on)).filter((i) => left.has(i));
    const lamps = [...new Set(still)].filter((i) => ["colour", "white"].includes(this.show.heads[i].kind));
    for (const on of lamps.length ? this.names.names(lamps) : []) edits.push({ do: "set look level", look: this.look.name, on, level: "intensity", to: "0 %" });
    if (edits.length) this.send(edits, "");
  }

  /** The levels of a new look: what is chosen, or the largest group of the stage, at half. */
  first() {
    const free = (i) => !this.show.heads[i].keep && ["colour", "white"].includes(this.show.heads[i].kind);
    const groups = [...this.show.groups].filter((g) => g.heads.some(free)).sort((a, b) => b.heads.filter(free).length - a.heads.filter(free).length);
    const lamps = this.of((h) => h.kind !== "haze"), names = lamps.length ? this.names.names(lamps) : groups.length ? [groups[0].name] : this.names.names(this.show.heads.map((_, i) => i).filter(free));
    return Object.fromEntries(names.map((on) => [on, { ...this.can(on, "colour") && { colour: "main" }, intensity: "50 %" }]));
  }
}
