// The room for effects: each drawn as it moves, its path over the stage, where it is used,
// and a control for all that it may have.

import { composeEffect } from "./api.js";
import { EffectControls } from "./effect-controls.js";
import { editsTo } from "./effect-keys.js";
import { EffectPath, make, pathWords } from "./effect-path.js";
import { copyForSong, freeName, plays, usedWords } from "./effect-uses.js";
import { EffectWave } from "./effect-wave.js";
import { quartersPerBeat, write } from "./now.js";
import { sure } from "./press.js";
import { element } from "./words.js";

const still = matchMedia("(prefers-reduced-motion: reduce)");
const seldom = 2000; // milliseconds between two pictures for those who want little motion
const mostAhead = 0.15; // seconds that the waves are carried on without a new moment

export class ComposeEffects {
  constructor(find, composing) {
    Object.assign(this, { find, composing, chosen: "", drawn: null, shown: false });
    this.wave = new EffectWave(find, {
      period: (words, gesture) => this.set("period", words, gesture),
      depth: (percent, gesture) => this.set("depth", `${percent} %`, gesture),
      middle: (key, percent, gesture) => this.set(key, `${percent} %`, gesture),
    });
    this.path = new EffectPath(find, () => composing.stage);
    this.controls = new EffectControls(find, (key, to, gesture) => this.set(key, to, gesture));
    find("effect-song").addEventListener("change", (e) => { composing.song = e.target.selectedIndex; composing.section = 0; composing.draw(); composing.measure(); });
    find("effect-play").addEventListener("click", () => this.song && composing.play(this.song.name, 0));
    find("effect-half").addEventListener("click", () => this.stretch(0.5));
    find("effect-double").addEventListener("click", () => this.stretch(2));
    find("effect-new").addEventListener("submit", (e) => { e.preventDefault(); this.add(find("effect-new-name").value.trim()); });
    find("effect-rename").addEventListener("submit", (e) => { e.preventDefault(); this.rename(find("effect-name").value.trim()); });
    find("effect-copy").addEventListener("click", () => this.copy());
    find("effect-copy-song").addEventListener("click", () => this.copyForSong());
    const remove = find("effect-remove");
    sure(remove, () => this.remove(), { tap: () => this.mayRemove(), doubt: (waits) => write(remove, waits ? "Remove: tap again" : "Remove") });
  }

  get effect() { return this.model?.effects.find((e) => e.name === this.chosen); }

  open(model, song) {
    Object.assign(this, { model, song, shown: true });
    const { find } = this;
    if (this.wanted && model.effects.some((e) => e.name === this.wanted)) {
      this.chosen = this.wanted;
      write(find("effect-says"), this.done ?? "");
      this.wanted = this.done = "";
    }
    if (!this.effect) this.chosen = model.effects[0]?.name ?? "";
    this.list();
    const songs = find("effect-song"), names = model.songs.map((s) => s.name);
    if (songs.length !== names.length || names.some((n, i) => songs.options[i].textContent !== n)) songs.replaceChildren(...names.map((n) => new Option(n)));
    songs.selectedIndex = model.songs.indexOf(song);
    find("effect-box").hidden = !this.effect;
    if (!this.effect) { this.path.open(null); return; }
    this.tell();
    this.controls.open(model, song, this.effect, this.composing.waiting.length > 0);
    this.ask();
  }

  leave() {
    this.shown = false;
    this.pathOf = "";
    this.path.open(null);
  }

  choose(name) {
    this.chosen = name;
    this.wanted = this.judged = "";
    write(this.find("effect-says"), "");
    this.find("effect-caution").hidden = true;
    this.open(this.model, this.song);
  }

  set(key, to, gesture) { return this.composing.send(editsTo(this.effect, key, to), gesture); }

  /** The effects of the show, each with its wave. */
  list() {
    const box = this.find("effect-list"), names = this.model.effects.map((e) => e.name);
    if (box.made !== names.join("\n")) {
      box.made = names.join("\n");
      box.replaceChildren(...names.map((name) => {
        const b = element("button", undefined, "choice"), svg = make("svg", { viewBox: "0 0 64 24", preserveAspectRatio: "none", "aria-hidden": "true" }, make("path", {}));
        b.type = "button";
        b.dataset.name = name;
        b.append(svg, element("span", name));
        b.addEventListener("click", () => this.choose(name));
        return b;
      }));
    }
    this.model.effects.forEach((e, i) => {
      const b = box.children[i];
      b.querySelector("path").setAttribute("d", (e.wave ?? []).map((v, k) => `${k ? "L" : "M"}${k} ${(22 - 20 * v).toFixed(1)}`).join(""));
      b.setAttribute("aria-pressed", String(e.name === this.chosen));
    });
  }

  /** Where it is used, and what can be done with it. */
  tell() {
    const { find, model, song, effect } = this, { named, playing } = usedWords(model, effect);
    write(find("effect-title"), effect.name);
    const count = (n, one) => `${n} ${one}${n === 1 ? "" : "s"}`;
    write(find("effect-used"), !named.length ? "Nothing uses it yet. Turn it on in the room Song, for a section." : `Used in ${count(named.length, "place")}, and plays in ${count(playing.length, "song")}: a change shows in all of them.`);
    this.lines("effect-named", named);
    this.lines("effect-playing", playing);
    find("effect-used-more").hidden = !named.length;
    if (document.activeElement !== find("effect-name")) find("effect-name").value = effect.name;
    const here = song ? plays(model, song, effect.name).length : 0, own = find("effect-copy-song");
    own.disabled = !here;
    write(own, song ? `Copy for ${song.name} only` : "Copy for this song only");
    own.title = here ? "" : "It does not play in this song.";
  }

  lines(id, list) {
    const box = this.find(id), text = list.join("\n");
    if (box.made === text) return;
    box.made = text;
    box.replaceChildren(...list.map((words) => element("li", words)));
  }

  // What it looks like.

  /** Fetches the drawing, the newest wish last; then whether it flashes. */
  async ask(period = 0) {
    this.wish = { effect: this.chosen, song: this.song?.file, tag: this.model.state.tag, period };
    if (this.asking) return;
    this.asking = true;
    try {
      while (this.wish) {
        const wish = this.wish;
        this.wish = null;
        const drawn = await composeEffect(wish);
        if (drawn.effect === this.chosen && this.shown && this.effect) this.take(drawn);
      }
      clearTimeout(this.judging);
      this.judging = setTimeout(() => this.judge(), 250);
    } catch { // the files have faults, and the next edit asks again; or the program was busy
      clearTimeout(this.again);
      if (!this.model.state.faults.length) this.again = setTimeout(() => { if (this.shown && this.effect) this.ask(); }, 1000);
    } finally { this.asking = false; }
  }

  take(drawn) {
    this.drawn = drawn;
    const song = this.song;
    const beatsInBar = drawn.unit === "bars" ? drawn.beats / drawn.count : song ? Math.round((song.bars[1] ?? 4) / quartersPerBeat(song)) : 4;
    this.wave.open(drawn, this.effect.keys, Math.max(1, beatsInBar));
    if (this.pathOf !== `${drawn.tag} ${drawn.effect}`) {
      this.pathOf = `${drawn.tag} ${drawn.effect}`;
      this.path.open(drawn);
      write(this.find("effect-path-says"), pathWords(drawn, this.composing.stage.heads ?? []));
    }
    this.drawnAt = -Infinity;
  }

  /** Says whether the flash limiter would hold it back. */
  async judge() {
    const asked = `${this.model.state.tag} ${this.chosen}`, box = this.find("effect-caution");
    if (!this.shown || this.judged === asked) return;
    let flashes;
    try { flashes = (await composeEffect({ effect: this.chosen, song: this.song?.file, flashes: true })).flashes; } catch { return; }
    if (asked !== `${this.model.state.tag} ${this.chosen}`) return;
    this.judged = asked;
    this.flashes = flashes.held;
    const where = flashes.song ? ` At the tempo of ${flashes.song}, ${flashes.bpm} beats a minute,` : " At that tempo";
    write(box, !flashes.held ? "" : `Caution: this flashes too fast, and the flash limiter will hold it back.${where} it asks for ${flashes.wanted} ${flashes.kind === "red" ? "red " : ""}flashes a second (${flashes.area}); ${flashes.limit} are let through. Make the period longer or the depth smaller. Flashing light can harm people with photosensitive epilepsy. The dots on this page stand still meanwhile.`);
    box.hidden = !flashes.held;
  }

  /** Called for each picture of the page. m is the last moment. */
  present(m) {
    const { drawn } = this, now = performance.now();
    this.find("effect-play").hidden = this.find("mark-play").hidden;
    write(this.find("effect-play"), m.playing ? "Stop" : "Play the song");
    if (!drawn || !this.shown || drawn.effect !== this.chosen) return;
    const part = this.place(m, now), calm = still.matches;
    if (calm && now - (this.drawnAt ?? -Infinity) < seldom) return;
    const seconds = Math.min(0.1, (now - (this.before ?? now)) / 1000);
    this.before = this.drawnAt = now;
    const period = Math.max(0, Math.floor(part));
    if (!drawn.repeats && period !== drawn.period && !this.asking && !calm && now - (this.turned ?? 0) > 500) { this.turned = now; this.ask(period); }
    const inside = part - Math.floor(part);
    this.wave.present(inside);
    this.path.present((h) => {
      if (this.flashes && this.judged?.endsWith(` ${drawn.effect}`)) return { light: 0.5, colour: this.wave.colour(0) };
      const light = this.wave.light(inside - h.delay / drawn.pulses);
      return { light, colour: this.wave.colour(light) };
    }, seconds, calm);
  }

  /** How many periods the waves have counted, carried on since the last moment as they went
   *  between the last two: with half and double time, and while the music stands. */
  place(m, now) {
    if (m !== this.moment) {
      const { moment, momentAt } = this;
      this.rate = moment && m.at > moment.at ? Object.fromEntries(["beats", "bars"].map((k) => [k, (m.waves[k] - moment.waves[k]) / (m.at - moment.at) * 1000])) : this.rate ?? { beats: 0, bars: 0 };
      this.moment = m;
      this.momentAt = now;
      if (momentAt === undefined) this.rate = { beats: 0, bars: 0 };
    }
    const { unit, count } = this.drawn, rate = this.rate[unit] > 0 && this.rate[unit] < 40 ? this.rate[unit] : 0;
    return (m.waves[unit] + rate * Math.min(mostAhead, (now - this.momentAt) / 1000)) / count;
  }

  // What can be done with it.

  stretch(by) {
    const [, count, parts, unit] = /^(\d+)(?:\/(\d+))?\s*([a-z]+)/i.exec(this.effect.keys.period ?? "") ?? [];
    if (!count) return;
    let n = Number(count), of = Number(parts ?? 1);
    if (by > 1) { if (of % 2 === 0) of /= 2; else n *= 2; } else if (n % 2 === 0) n /= 2; else of *= 2;
    const one = /^bar/i.test(unit) ? "bar" : "beat";
    this.set("period", `${of > 1 ? `${n}/${of}` : n} ${n === 1 ? one : one + "s"}`);
  }

  add(name) {
    if (!name) { this.find("effect-new-name").focus(); return; }
    const on = this.effect?.keys.on ?? this.model.rig.groups[0]?.name ?? this.model.rig.fixtures[0]?.name;
    this.wanted = name;
    this.done = "";
    this.composing.send([{ do: "add effect", effect: name, values: { on, wave: "sine", moves: "intensity", period: "4 bars", depth: "40 %" } }]);
    this.find("effect-new-name").value = "";
  }

  copy() {
    this.wanted = freeName(this.model, this.chosen, "copy");
    this.done = `Copied as ${this.wanted}. Nothing uses the copy yet.`;
    this.composing.send([{ do: "copy effect", effect: this.chosen, to: this.wanted }]);
  }

  copyForSong() {
    const name = freeName(this.model, this.chosen, "for", this.song.name), edits = copyForSong(this.model, this.song, this.chosen, name);
    this.wanted = name;
    this.done = `${this.song.name} now has ${name} instead of ${this.chosen}; other songs keep ${this.chosen}. One undo takes all of it back.`;
    this.composing.send(edits);
  }

  rename(name) {
    if (!name || name === this.chosen) return;
    this.wanted = name;
    this.done = "";
    this.composing.send([{ do: "rename effect", effect: this.chosen, to: name }]);
  }

  /** A used effect stays, and the page says what uses it. */
  mayRemove() {
    const { named } = usedWords(this.model, this.effect);
    if (named.length) write(this.find("effect-says"), `It cannot be removed, because it is used: ${named.join("; ")}. Take it out there first.`);
    return !named.length;
  }

  remove() {
    if (this.mayRemove()) this.composing.send([{ do: "remove effect", effect: this.chosen }]);
  }
}
