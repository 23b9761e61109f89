// The controls. What changes the light at once in a way that nobody could want by
// accident takes a press that is held, or a second tap.

import { ask, changeOver, player } from "./api.js";
import { Fader } from "./fader.js";
import { boundary, write } from "./now.js";
import { sure } from "./press.js";
import { sentence } from "./words.js";

/** Where a moment says that a command is in force, by the command's path. */
const inForce = { hold: "held", blackout: "blackout", "work-light/on": "workLight" };

export class Controls {
  /** tell(error) shows why something was not done; said(words) is read aloud. */
  constructor(find, tell, said) {
    Object.assign(this, { find, tell, said, until: 0 });
    for (const b of document.querySelectorAll("[data-ask]")) {
      b.addEventListener("click", () => this.ask(this.on(b) ? b.dataset.undo : b.dataset.ask));
    }
    for (const b of document.querySelectorAll("[data-player]")) {
      b.addEventListener("click", () => this.player(b.dataset.player, ...JSON.parse(b.dataset.with)));
    }
    for (const b of document.querySelectorAll("[data-sure]")) {
      // Back from blackout is one tap: a dark stage with people on it is not safe.
      this.twice(b, () => this.ask(this.on(b) ? b.dataset.undo : b.dataset.sure), () => this.on(b));
    }
    this.twice(find("look-show"), () => this.ask("look", find("look-name").value));
    this.twice(find("change-over"), () => this.doing(changeOver), undefined, true);
    find("go").addEventListener("click", () => this.player(this.m?.player?.plays ? "stop" : "play"));
    find("round").addEventListener("click", () => this.player("loop", this.m?.player?.loops ? 0 : 1));
    find("speed").addEventListener("change", (e) => this.player("speed", Number(e.target.value)));
    find("when").addEventListener("change", () => this.hint());
  }

  /** A button that takes a second tap says so, to eye and ear. Of the others see sure. */
  twice(b, act, undoes, toggles) {
    const words = b.firstChild.textContent;
    sure(b, act, { undoes, toggles, doubt: (waits) => {
      if (this.on(b)) return;
      b.firstChild.textContent = waits ? `${words}: tap again` : words;
      if (waits) this.said(`${words}: tap again, or press and hold`);
    } });
  }

  /** Whether what a button asks for is in force, so that it asks for the way back. */
  on(b) { return Boolean(b.dataset.undo && this.m?.[inForce[b.dataset.ask ?? b.dataset.sure]]); }

  async ask(path, ...words) { await this.doing(() => ask(path, ...words)); }
  async player(path, ...words) { await this.doing(() => player(path, ...words)); }
  async doing(f) {
    this.until = performance.now() + 2000; // what changes now was asked for here
    try { await f(); } catch (e) { this.tell(e); }
  }

  /** Which of two computers is on the lamps, in every view. */
  report(r) {
    const { find } = this, p = r.pair;
    find("pair").hidden = !p;
    if (!p) return;
    const [place, rest] = pairWords(p), words = `${place} ${rest}`;
    write(find("pair-place"), place);
    write(find("pair-say"), rest);
    find("pair").classList.toggle("lamps", p.onLamps);
    find("pair").classList.toggle("alone", !p.follows);
    find("change-over").disabled = !p.follows;
    if (this.pair !== undefined && this.pair !== words) this.said(words);
    this.pair = words;
  }

  /** A new show, or other rights. */
  open(show) {
    this.show = show;
    this.find("rehearsal").hidden = !show.player;
    this.songs();
    this.masters();
    this.find("look-name").replaceChildren(...show.looks.map((name) => new Option(name, name)));
    this.song = this.playing = this.moves = undefined;
  }

  songs() {
    const go = Boolean(this.show.player);
    this.find("songs-hint").textContent = go ? "Tap to go to its start." : "Press and hold, or tap twice.";
    this.find("songs").replaceChildren(...this.show.setList.map((s, place) => {
      const item = document.createElement("li"), b = button(this.show.songs[s].name, `${place + 1}: ${this.show.songs[s].meter}, ${this.show.songs[s].bpm} BPM`);
      b.dataset.place = place;
      if (go) b.addEventListener("click", () => this.player("jump", place + 1, 0));
      else this.twice(b, () => this.ask("song/select", place + 1));
      item.append(b);
      return item;
    }));
  }

  masters() {
    this.master = new Fader("Grand master", (share) => this.ask("master", share));
    this.groups = this.show.groups.map((g) => new Fader(g.name, (share) => this.ask("group", g.name, share)));
    this.find("masters").replaceChildren(...[this.master, ...this.groups].flatMap((f) => f.parts));
  }

  parts(song) {
    const sections = song?.sections ?? [];
    this.find("parts").replaceChildren(...sections.map((s, i) => {
      const b = button(s.name, ""), colour = song.palette[s.energy >= 7 ? 2 : s.energy >= 4 ? 1 : 0];
      b.style.setProperty("--part", colour);
      b.dataset.section = i;
      b.dataset.words = `energy ${s.energy}${s.loop ? ", loops" : ""}`;
      sure(b, () => this.ask("section/fire", i + 1), {
        tap: () => {
          const when = this.find("when").value;
          this.ask("section/arm", i + 1, when);
          if (!this.m?.playing) return false; // there is no boundary to wait for: it is entered
          this.said(`${s.name} armed for ${boundary(when)}; tap again to enter it now`);
        },
        doubt: () => this.marks(),
      });
      return b;
    }));
    this.find("part-notes").replaceChildren(...sections.flatMap((s) => {
      const a = document.createElement("dt"), b = document.createElement("dd");
      a.textContent = s.name;
      b.textContent = s.note < 0 ? "has no note" : `note ${s.note}`;
      return [a, b];
    }));
  }

  /** Which section is played and which waits, by shape and words as well as colour. */
  marks() {
    const m = this.m;
    for (const b of this.find("parts").children) {
      const i = Number(b.dataset.section), now = i === m.section, armed = i === m.armed;
      b.setAttribute("aria-current", String(now));
      b.classList.toggle("armed", armed);
      const words = [now ? "▶ now" : "", armed ? "◆ armed" : "", b.classList.contains("sure") ? "tap again: now" : ""].filter(Boolean);
      b.lastChild.textContent = words.join(" · ") || b.dataset.words;
    }
  }

  hint() {
    this.find("parts-hint").textContent = this.m?.playing
      ? `Tap: armed for ${boundary(this.find("when").value)}. Tap twice, or press and hold: entered now.`
      : "The music is stopped: a tap enters the section at once.";
  }

  moment(m) {
    const { find, m: before } = this;
    this.m = m;
    const song = m.song >= 0 ? this.show.songs[m.song] : null;
    if (this.song !== song) { this.song = song; this.parts(song); this.now = this.waits = undefined; }
    if (this.moves !== m.playing) { this.moves = m.playing; this.hint(); }
    if (this.now !== m.section || this.waits !== m.armed) {
      if (before?.armedByHand && m.armed < 0 && m.section !== this.waits && performance.now() > this.until) {
        this.tell(new Error(`${this.show.songs[before.song]?.sections[this.waits]?.name ?? "The section"} is no longer armed: the song position jumped, another song was chosen, or somebody else disarmed it.`));
      }
      this.now = m.section;
      this.waits = m.armed;
      this.marks();
    }
    if (this.playing !== m.setPlace) {
      for (const b of document.querySelectorAll("#songs button")) b.setAttribute("aria-current", String(Number(b.dataset.place) === m.setPlace));
      this.playing = m.setPlace;
    }
    for (const b of document.querySelectorAll("[data-undo]")) {
      if (!b.classList.contains("sure")) pressed(b, this.on(b), this.on(b) ? b.dataset.undoWords : b.dataset.words);
    }
    for (const [id, level] of [["house-up", 1], ["house-half", 0.5], ["house-out", 0], ["house-cued", -1]]) {
      if (!find(id).classList.contains("sure")) pressed(find(id), m.house === level, find(id).textContent);
    }
    find("section-disarm").disabled = m.armed < 0 && m.armedSong < 0;
    find("overrides-release").disabled = !m.overrides.length;
    if (this.bars !== m.bars) {
      this.bars = m.bars;
      find("bars").hidden = !m.bars;
      find("bars-say").textContent = m.bars && `${sentence(m.bars)}.`;
      if (m.bars) this.said(m.bars);
    }
    if (m.player) {
      pressed(find("go"), m.player.plays, m.player.plays ? "Stop" : "Play");
      pressed(find("round"), m.player.loops, "Loop");
      if (document.activeElement !== find("speed")) find("speed").value = String(m.player.share);
    }
    this.master?.show(m.master);
    this.groups?.forEach((f, i) => f.show(m.masters[i] ?? 1));
  }
}

/** Which computer counts, and whether the other could take over. */
function pairWords(p) {
  if (p.onLamps) {
    const other = p.follows ? "The other follows, and would take over."
      : p.connected ? "The other does not follow yet."
      : "The other is not connected: nobody would take over.";
    return ["● This computer is on the lamps.", other];
  }
  if (!p.connected) return ["○ This computer is not on the lamps.", "The other is not connected."];
  return ["○ The other computer is on the lamps.", p.follows ? "This one only follows: use the other’s page, or change over." : "This one does not follow yet."];
}

function button(words, small) {
  const b = document.createElement("button"), s = document.createElement("small");
  b.type = "button";
  s.textContent = small;
  b.append(words, s);
  return b;
}

function pressed(b, on, words) {
  const text = String(on);
  if (b.getAttribute("aria-pressed") !== text) b.setAttribute("aria-pressed", text);
  if (b.textContent !== words) b.textContent = words;
}
