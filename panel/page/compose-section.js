// What a section has: energy, length, name, look, effects, fade; and what to do with it.

import { kinds } from "./marking.js";
import { write } from "./now.js";
import { sure } from "./press.js";
import { fades, options, Pictures } from "./compose-pictures.js";

/** A section with the light that is written at its first beat: its own, or that of a cue that stands there. An edit of the section's light changes the one that is there. */
function withLight(song, part) {
  const cue = part && song.cues.find((c) => c.start === part.start && !c.in && !c.lands);
  return cue ? { ...part, look: cue.look, effects: cue.effects, fade: cue.fade, build: cue.build } : part;
}

export class ComposeSection {
  /** does has edit(edit, gesture), without the song; and choose(i), a section. */
  constructor(find, does) {
    Object.assign(this, { find, does, i: 0, drags: 0, looks: new Pictures(find("part-looks"), "look"), effects: new Pictures(find("part-effects"), "effects") });
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
    const on = (e) => e.currentTarget.getAttribute("aria-pressed") !== "true";
    find("part-breath").addEventListener("click", (e) => this.set("set breath", { before: "start", on: on(e) }));
    find("part-breath-end").addEventListener("click", (e) => this.set("set breath", { before: "end", on: on(e) }));
    find("part-rise").addEventListener("click", (e) => this.set("set section", { key: "build", to: on(e) ? "rise" : null }));
    find("part-spoken").addEventListener("click", (e) => this.set("set section", { key: "spoken", to: on(e) ? true : null }));
    find("part-choose").addEventListener("change", (e) => this.does.choose(e.target.selectedIndex));
  }

  set(what, more, gesture) { this.does.edit({ do: what, section: this.i, ...more }, gesture); }
  bars(by) { const bars = this.part.bars + by; if (bars > 0) this.set("set bars", { bars }); }

  open(model, song, i) {
    const { find } = this;
    Object.assign(this, { model, song, i, part: withLight(song, song?.sections[i]) });
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
    this.looks.show(model, song, "", (name) => name === p.look, (name) => this.set("set section", { key: "look", to: name === p.look ? null : name }));
    this.effects.show(model, song, up.look || p.look || model.looks[0]?.name || "", (name) => up.effects.includes(name), (name) => this.effect(up.effects, name));
    this.moments();
  }

  /** Breaths of dark, a rise and speech: what is there is pressed, and a press takes it out. */
  moments() {
    const { find, song, i, part: p, model } = this, next = song.sections[i + 1];
    const breath = (place) => song.cues.some((c) => c.at === `${place} - 1 beat` && c.look === model.breath);
    const show = (id, on, can) => { find(id).setAttribute("aria-pressed", String(on)); find(id).disabled = !can; };
    show("part-breath", breath(p.name), i > 0 && Boolean(model.breath));
    show("part-breath-end", breath(next ? next.name : `${p.name} end`), Boolean(model.breath));
    show("part-rise", p.build === "rise", true);
    show("part-spoken", p.spoken, true);
    write(find("part-moments-says"), !model.breath ? "No look of this show is dark, so there is none for a breath." : p.spoken ? "Someone speaks here: faces stay lit, and nobody's front light is coloured." : "");
  }

  /** Turns an effect on or off. What the look has by itself is not written. */
  effect(now, name) {
    const list = now.includes(name) ? now.filter((e) => e !== name) : [...now, name];
    const look = this.model.looks.find((l) => l.name === this.part.look), own = look?.effects ?? null;
    const same = own && own.length === list.length && own.every((e) => list.includes(e));
    this.set("set section", { key: "effects", to: same ? null : list.length > 1 ? list : list[0] ?? "none" });
  }
}
