// What a section has: energy, length, name, look, effects, fade; and what to do with it.

import { kinds } from "./marking.js";
import { write } from "./now.js";
import { sure } from "./press.js";
import { element, sentence } from "./words.js";

export const fades = ["", "1/2 beat", "1 beat", "2 beats", "1 bar", "2 bars", "1 s", "3 s", "5 s"];

export class ComposeSection {
  /** does has edit(edit, gesture), without the song; and choose(i), a section. */
  constructor(find, does) {
    Object.assign(this, { find, does, i: 0, drags: 0 });
    const energy = find("part-energy");
    energy.addEventListener("pointerdown", () => { this.drags++; });
    energy.addEventListener("input", () => this.set("set energy", { energy: Number(energy.value) }, `slider ${performance.timeOrigin} ${this.drags}`));
    find("part-less").addEventListener("click", () => this.bars(-1));
    find("part-more").addEventListener("click", () => this.bars(1));
    find("part-kind").addEventListener("change", (e) => this.set("rename section", { name: e.target.value }));
    find("part-fade").addEventListener("change", (e) => this.set("set section", { key: "fade", to: e.target.value || null }));
    find("part-split").addEventListener("click", () => this.set("split section", { bars: Math.floor(this.part.bars / 2) }));
    find("part-join").addEventListener("click", () => this.set("join sections", {}));
    find("part-add").addEventListener("click", () => { this.does.edit({ do: "add section", section: this.i + 1, name: this.part.kind, bars: this.part.bars, energy: this.part.energy }); this.does.choose(this.i + 1); });
    find("part-earlier").addEventListener("click", () => { this.set("move section", { to: this.i - 1 }); this.does.choose(this.i - 1); });
    find("part-later").addEventListener("click", () => { this.set("move section", { to: this.i + 1 }); this.does.choose(this.i + 1); });
    sure(find("part-remove"), () => this.set("remove section", { cues: "remove" }), { doubt: (waits) => write(find("part-remove"), waits ? "Remove: tap again" : "Remove") });
    find("part-choose").addEventListener("change", (e) => this.does.choose(e.target.selectedIndex));
  }

  set(what, more, gesture) { this.does.edit({ do: what, section: this.i, ...more }, gesture); }
  bars(by) { const bars = this.part.bars + by; if (bars > 0) this.set("set bars", { bars }); }

  open(model, song, i) {
    const { find } = this;
    Object.assign(this, { model, song, i, part: song?.sections[i] });
    find("part").hidden = !this.part;
    if (!this.part) return;
    const p = this.part;
    options(find("part-choose"), song.sections.map((s) => [s.name, s.name]), p.name);
    write(find("part-where"), `Bars ${p.from} to ${p.from + p.bars - 1}, ${p.bars} in all`);
    if (document.activeElement !== find("part-energy")) find("part-energy").value = p.energy;
    write(find("part-energy-says"), String(p.energy));
    options(find("part-kind"), [...new Set([...kinds, p.kind])].map((k) => [k, k]), p.kind);
    options(find("part-fade"), [...new Set([...fades, p.fade])].map((f) => [f || "as the look says", f]), p.fade);
    find("part-split").disabled = p.bars < 2;
    find("part-join").disabled = find("part-later").disabled = i === song.sections.length - 1;
    find("part-earlier").disabled = i === 0;
    find("part-remove").disabled = song.sections.length < 2;
    const up = p.up ?? { look: p.look, effects: p.effects ?? [] };
    write(find("part-look-says"), p.look ? "" : up.look ? `As before: ${up.look}` : "");
    this.pictures("part-looks", model.looks, (name) => name === p.look, (name) => this.set("set section", { key: "look", to: name === p.look ? null : name }), "look");
    this.pictures("part-effects", model.effects, (name) => up.effects.includes(name), (name) => this.effect(up.effects, name), "effects");
  }

  /** Turns an effect on or off. What the look has by itself is not written. */
  effect(now, name) {
    const list = now.includes(name) ? now.filter((e) => e !== name) : [...now, name];
    const look = this.model.looks.find((l) => l.name === this.part.look), own = look?.effects ?? null;
    const same = own && own.length === list.length && own.every((e) => list.includes(e));
    this.set("set section", { key: "effects", to: same ? null : list.length > 1 ? list : list[0] ?? "none" });
  }

  /** Small pictures of this rig in this song's colours. Those that stay keep their place
   *  and the focus. */
  pictures(id, list, on, press, key) {
    const box = this.find(id), up = this.part.up?.look || this.part.look || this.model.looks[0]?.name;
    const seen = JSON.stringify([this.song.palette, this.model.looks, this.model.effects, this.model.rig]);
    if (seen !== this.seen) { this.seen = seen; this.version = (this.version ?? 0) + 1; }
    const names = list.map((l) => l.name);
    if (box.made !== names.join("\n")) {
      box.made = names.join("\n");
      box.replaceChildren(...names.map((name) => {
        const b = element("button", undefined, "choice"), img = element("img");
        b.type = "button";
        b.dataset.name = name;
        img.alt = "";
        img.loading = "lazy";
        b.append(img, element("span", name));
        return b;
      }));
    }
    for (const b of box.children) {
      const name = b.dataset.name, query = new URLSearchParams({ song: this.song.file, look: key === "look" ? name : up ?? "" });
      if (key === "effects") query.set("effects", name);
      const src = `/api/v1/compose/picture?${query}&version=${this.version}`;
      if (b.firstChild.getAttribute("src") !== src) b.firstChild.setAttribute("src", src);
      b.setAttribute("aria-pressed", String(on(name)));
      b.onclick = () => press(name);
    }
  }

  /** What check finds in the song, at its place. */
  measured(m) {
    const box = this.find("part-found");
    box.replaceChildren(...m.found.filter((f) => !f.accepted).map((f) => {
      const li = element("li", undefined, f.severity);
      li.append(element("strong", f.place || "The song"), `: ${f.reason}.`, element("small", `${sentence(f.suggestion)}.`));
      return li;
    }));
    write(this.find("part-found-says"), box.children.length ? "" : "Nothing to correct was found in this song.");
  }
}

export function options(select, list, value) {
  if (select.length !== list.length || list.some(([words], i) => select.options[i].textContent !== words)) {
    select.replaceChildren(...list.map(([words, v]) => new Option(words, v)));
  }
  select.selectedIndex = list.findIndex(([, v]) => v === value);
}
