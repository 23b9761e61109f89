// A control for each key of an effect. Each change is an edit; what a hand holds is not
// moved under it.

import { keys, percentOf } from "./effect-keys.js";
import { write } from "./now.js";
import { element } from "./words.js";

const roles = ["main", "second", "accent", "warm"];
const own = "a colour of its own";

let gestures = 0;

export class EffectControls {
  /** set(key, to, gesture) is asked for. */
  constructor(find, set) {
    this.box = find("effect-keys");
    this.set = set;
    this.rows = keys.map((row) => this.row(row));
    this.box.append(...this.rows.map((r) => r.box));
  }

  /** model, song, and an effect as written. waits: answers are still to come. */
  open(model, song, effect, waits) {
    Object.assign(this, { model, song, effect, waits });
    for (const r of this.rows) {
      r.box.hidden = Boolean(r.row.when) && !r.row.when(effect.keys) && !(r.row.key in effect.keys);
      if (!r.box.hidden) r.show(effect.keys[r.row.key]);
    }
  }

  /** A hand that still moves something is not disturbed. */
  busy(input) { return input.held || this.waits && document.activeElement === input; }

  row(row) {
    const box = element("div", undefined, "effect-key"), r = { row, box };
    box.dataset.key = row.key;
    const make = { choice: () => this.choice(r), share: () => this.share(r), whole: () => this.whole(r), colour: () => this.colour(r), targets: () => this.targets(r), levels: () => this.levels(r) };
    make[row.kind]();
    if (row.says) {
      const says = element("p", row.says, "quiet hint");
      says.id = `effect-says-${row.key}`;
      for (const e of box.querySelectorAll("input, select")) e.setAttribute("aria-describedby", says.id);
      box.append(says);
    }
    return r;
  }

  labelled(r, input, ...more) {
    const label = element("label", undefined, "slide");
    input.id = `effect-key-${r.row.key}`;
    label.append(element("span", r.row.name), input, ...more);
    r.box.append(label);
  }

  choice(r) {
    const { row } = r, select = element("select");
    this.labelled(r, select);
    select.addEventListener("change", () => this.set(row.key, select.value || null));
    r.show = (value) => {
      const list = [...row.none ? [[row.none, ""]] : [], ...[...new Set([...row.options, ...value ? [value] : []])].map((o) => [o, o])];
      fill(select, list, value ?? "");
    };
  }

  slider(input, change) {
    let gesture = "", pressed = 0;
    input.type = "range";
    const begin = () => { gesture = `effect ${performance.timeOrigin} ${++gestures}`; };
    input.addEventListener("pointerdown", () => { input.held = true; begin(); });
    for (const kind of ["pointerup", "pointercancel", "blur"]) input.addEventListener(kind, () => { input.held = false; });
    input.addEventListener("keydown", () => { const now = performance.now(); if (now - pressed > 1000) begin(); pressed = now; });
    input.addEventListener("input", () => change(Number(input.value), gesture));
  }

  share(r) {
    const { row } = r, input = element("input"), out = element("output");
    Object.assign(input, { min: row.least ?? 0, max: row.most ?? 100, step: 1 });
    this.labelled(r, input, out);
    out.htmlFor = input.id;
    this.slider(input, (v, gesture) => { write(out, `${v} %`); this.set(row.key, `${v} %`, gesture); });
    r.show = (value) => {
      if (this.busy(input)) return;
      input.value = percentOf(value, row.usual);
      write(out, value ?? `${row.usual} %`);
      input.setAttribute("aria-valuetext", value ?? `${row.usual} %`);
    };
  }

  whole(r) {
    const { row } = r, input = element("input");
    Object.assign(input, { type: "number", min: row.range[0], max: row.range[1], step: 1, inputMode: "numeric" });
    this.labelled(r, input);
    input.addEventListener("change", () => {
      const v = Math.round(Number(input.value));
      if (input.value.trim() === "" || !Number.isFinite(v)) { r.show(this.effect.keys[row.key]); return; }
      this.set(row.key, Math.max(row.range[0], Math.min(row.range[1], v)));
      input.value = Math.max(row.range[0], Math.min(row.range[1], v));
    });
    r.show = (value) => { if (!this.busy(input)) input.value = value ?? row.usual; };
  }

  colour(r) {
    const { row } = r, select = element("select"), input = element("input"), patch = element("span", undefined, "patch");
    input.type = "color";
    input.setAttribute("aria-label", `${row.name}: ${own}`);
    this.labelled(r, select, patch);
    r.box.append(input);
    let gesture = "";
    select.addEventListener("change", () => this.set(row.key, select.value === own ? input.value : select.value));
    input.addEventListener("pointerdown", () => { gesture = ""; });
    input.addEventListener("input", () => {
      gesture ||= `effect ${performance.timeOrigin} ${++gestures}`;
      this.set(row.key, input.value, gesture);
    });
    input.addEventListener("change", () => { gesture = ""; });
    r.show = (value = row.usual) => {
      const role = roles.includes(value);
      fill(select, [...roles.map((o) => [`${o} of the song`, o]), ...role ? [] : [[value, value]], [own, own]], value);
      const shown = role ? (this.song ?? this.model).palette[value]?.shown : /^#[0-9a-f]{6}$/i.test(value) ? value : "";
      patch.style.background = shown || "none";
      input.hidden = role;
      if (shown && !this.busy(input)) input.value = shown;
    };
  }

  /** Groups as buttons, and fixtures that are chosen from a list. */
  targets(r) {
    const { row } = r, group = element("div", undefined, "row"), select = element("select"), label = element("label");
    const title = element("span", row.name);
    title.id = "effect-on-title";
    group.setAttribute("role", "group");
    group.setAttribute("aria-labelledby", title.id);
    label.append("Add a fixture ", select);
    r.box.append(title, group, label);
    const named = (v) => (v === undefined ? [] : [v].flat()), write1 = (list) => this.set(row.key, list.length > 1 ? list : list[0]);
    select.addEventListener("change", () => { if (select.value) write1([...named(this.effect.keys.on), select.value]); });
    r.show = (value) => {
      const on = named(value), names = [...new Set([...this.model.rig.groups.map((g) => g.name), ...on])];
      if (group.made !== names.join("\n")) {
        group.made = names.join("\n");
        group.replaceChildren(...names.map((name) => {
          const b = element("button", name);
          b.type = "button";
          b.addEventListener("click", () => {
            const now = named(this.effect.keys.on), rest = now.filter((n) => n !== name);
            if (now.includes(name) && !rest.length) return; // an effect has heads
            write1(now.includes(name) ? rest : [...now, name]);
          });
          return b;
        }));
      }
      [...group.children].forEach((b, i) => b.setAttribute("aria-pressed", String(on.includes(names[i]))));
      fill(select, [["choose", ""], ...this.model.rig.fixtures.map((f) => f.name).filter((n) => !on.includes(n)).map((n) => [n, n])], "");
    };
  }

  /** The levels of steps, a slider each. */
  levels(r) {
    const { row } = r, list = element("div", undefined, "effect-levels"), tools = element("div", undefined, "row");
    const more = element("button", "One step more"), less = element("button", "One step less");
    for (const b of [more, less]) b.type = "button";
    list.setAttribute("role", "group");
    list.setAttribute("aria-label", row.name);
    tools.append(more, less);
    r.box.append(element("span", row.name), list, tools);
    const now = () => [this.effect.keys.levels ?? []].flat();
    more.addEventListener("click", () => this.set(row.key, [...now(), now().at(-1) ?? "100 %"]));
    less.addEventListener("click", () => this.set(row.key, now().slice(0, -1)));
    r.show = (value) => {
      const levels = [value ?? []].flat();
      more.disabled = levels.length >= 64;
      less.disabled = levels.length < 2;
      while (list.children.length > levels.length) list.lastChild.remove();
      while (list.children.length < levels.length) {
        const i = list.children.length, input = element("input"), out = element("output"), label = element("label", undefined, "slide");
        Object.assign(input, { min: 0, max: 100, step: 1 });
        label.append(element("span", `Step ${i + 1}`), input, out);
        this.slider(input, (v, gesture) => { write(out, `${v} %`); this.set(row.key, now().map((l, k) => (k === i ? `${v} %` : l)), gesture); });
        list.append(label);
      }
      [...list.children].forEach((label, i) => {
        const [, input, out] = label.children;
        if (this.busy(input)) return;
        input.value = percentOf(levels[i], 0);
        write(out, levels[i]);
      });
    };
  }
}

function fill(select, list, value) {
  if (select.length !== list.length || list.some(([words, v], i) => select.options[i].textContent !== words || select.options[i].value !== v)) {
    select.replaceChildren(...list.map(([words, v]) => new Option(words, v)));
  }
  select.value = value;
}
