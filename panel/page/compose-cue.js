// A cue of a song: put where the music is or at a chosen bar, with its look, effects and
// fade, moved in bars and beats, and taken out.

import { fades, options, Pictures } from "./compose-pictures.js";
import { quartersPerBeat, write } from "./now.js";

export class ComposeCue {
  /** does has edit(edit) and place(beat), which returns the words of a place. */
  constructor(find, does, said) {
    Object.assign(this, { find, does, said, i: -1, at: null, beat: null, looks: new Pictures(find("cue-looks"), "look"), effects: new Pictures(find("cue-effects"), "effects") });
    find("cue-here").addEventListener("click", () => this.put(this.here()));
    find("cue-choose").addEventListener("change", (e) => this.choose(e.target.selectedIndex - 1));
    find("cue-remove").addEventListener("click", () => this.remove());
    find("cue-fade").addEventListener("change", (e) => this.set("fade", e.target.value || null));
    for (const [id, bars, beats] of [["cue-bar-less", -1, 0], ["cue-beat-less", 0, -1], ["cue-beat-more", 0, 1], ["cue-bar-more", 1, 0]]) find(id).addEventListener("click", () => this.move(bars, beats));
  }

  get cue() { return this.song?.cues[this.i]; }

  open(model, song, section) {
    const was = this.i;
    if (this.song?.file !== song?.file) { this.i = -1; this.at = null; }
    if (this.section !== section) this.at = null;
    Object.assign(this, { model, song, section });
    if (!song?.sections.length) return;
    if (this.placed) { this.i = song.cues.findIndex((c) => c.at === this.placed); if (this.i >= 0) this.placed = null; }
    if (this.i >= song.cues.length) this.i = -1;
    if (this.i !== was) this.does.chosen(this.i);
    this.draw();
  }

  /** Where a new cue would go: where the music is, the bar that was touched, or the middle
   *  of the section. */
  here() {
    if (this.beat !== null && this.playing) return this.nearest(this.beat);
    if (this.at !== null) return this.at;
    const s = this.song.sections[this.section];
    return this.song.bars[s.from - 1 + Math.floor(s.bars / 2)] ?? s.start;
  }

  nearest(beat) {
    const unit = quartersPerBeat(this.song);
    return Math.max(0, Math.min(this.song.length - unit, Math.round(beat / unit) * unit));
  }

  present(beat, playing) {
    Object.assign(this, { beat, playing });
    if (this.song?.sections.length) write(this.find("cue-here"), `Cue at ${this.does.place(this.here())}`);
  }

  /** Puts a cue at a beat; one that is there is chosen. It begins with the look that is up. */
  put(beat) {
    const at = this.does.place(beat), there = this.song.cues.findIndex((c) => Math.abs(c.start - beat) < 1e-3 && !c.in);
    if (there >= 0) { this.choose(there); return; }
    const start = this.song.sections.findIndex((s) => Math.abs(s.start - beat) < 1e-3);
    if (start >= 0 && this.song.sections[start].look) { this.said("The section's own look begins there: change it below."); write(this.find("cue-where"), "The section's own look begins there: change it below."); return; }
    this.placed = at;
    this.does.edit({ do: "place cue", at, look: this.lookAt(beat) });
    this.said(`Cue at ${at}`);
  }

  /** The look that is up at a beat. */
  lookAt(beat) {
    const before = this.song.cues.filter((c) => c.look && c.start <= beat).sort((a, b) => b.start - a.start)[0];
    const s = this.song.sections.findLast((x) => x.start <= beat + 1e-3);
    return (before && before.start >= s.start ? before.look : s.up?.look) || this.model.looks[0]?.name || "";
  }

  choose(i) {
    this.i = i;
    this.draw();
    this.does.chosen(i);
  }

  touched(beat) { this.at = beat; this.present(this.beat, this.playing); }

  set(key, to) { this.does.edit({ do: "set cue", cue: this.i, key, to }); }

  remove(i = this.i) {
    if (!this.song.cues[i]) return;
    this.said(`Cue at ${this.song.cues[i].at} taken out`);
    this.i = -1;
    this.does.chosen(-1);
    this.does.edit({ do: "remove cue", cue: i });
    this.find("cue-choose").focus({ preventScroll: true });
  }

  move(bars, beats) {
    const { song, cue } = this, unit = quartersPerBeat(song);
    let to = cue.start + beats * unit;
    if (bars) {
      const bar = song.bars.findLastIndex((b) => b <= cue.start + 1e-3), next = song.bars[bar + bars];
      if (next === undefined) return;
      to = next + (cue.start - song.bars[bar]);
    }
    if (to >= 0 && to < song.length) this.does.edit({ do: "move cue", cue: this.i, at: this.does.place(to) });
  }

  draw() {
    const { find, song, cue } = this;
    options(find("cue-choose"), [["none", -1], ...song.cues.map((c, i) => [c.in ? `${c.at} (${c.in})` : c.at, i])], cue ? this.i : -1);
    find("cue-set").hidden = !cue;
    write(find("cue-where"), cue ? cue.drafted ? "Drafted: the next draft may change it. Change anything, and it is yours." : "" : song.cues.length ? "Choose a note on the score, or put one there." : "A cue changes the light inside a section.");
    this.present(this.beat, this.playing);
    if (!cue) return;
    options(find("cue-fade"), [...new Set([...fades, cue.fade])].map((f) => [f || "as the look says", f]), cue.fade);
    const effects = cue.effects?.filter((e) => e !== "none"), look = cue.look || this.lookAt(cue.start), own = this.model.looks.find((l) => l.name === cue.look)?.effects ?? [], now = effects ?? own;
    this.looks.show(this.model, song, "", (name) => name === cue.look, (name) => this.set("look", name === cue.look && (cue.effects || cue.set) ? null : name));
    this.effects.show(this.model, song, look, (name) => now.includes(name), (name) => {
      const list = now.includes(name) ? now.filter((e) => e !== name) : [...now, name];
      this.set("effects", list.length > 1 ? list : list[0] ?? "none");
    });
  }
}
