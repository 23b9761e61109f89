// The controls. What changes the light at once in a way that nobody could want by
// accident takes a press that is held, or a second tap; a program that presses
// buttons for people counts as tapping.

import { ask, player } from "./api.js";

const holdFor = 600, sureFor = 3000; // milliseconds

/** act is called for a press that is held, or for the second tap of two. tap, if
 *  there is one, for the first. */
export function sure(button, act, tap) {
  let timer = 0, held = false, until = 0;
  const begin = () => {
    held = false;
    button.classList.add("filling");
    clearTimeout(timer);
    timer = setTimeout(() => { held = true; end(); doubt(); act(); }, holdFor);
  };
  const end = () => { clearTimeout(timer); button.classList.remove("filling"); };
  const doubt = () => { until = 0; button.classList.remove("sure"); };
  button.addEventListener("pointerdown", begin);
  for (const kind of ["pointerup", "pointerleave", "pointercancel", "blur"]) button.addEventListener(kind, end);
  button.addEventListener("keydown", (e) => { if ((e.key === "Enter" || e.key === " ") && !e.repeat) begin(); });
  button.addEventListener("keyup", end);
  button.addEventListener("contextmenu", (e) => e.preventDefault());
  button.addEventListener("click", (e) => {
    if (held) { held = false; e.preventDefault(); return; }
    if (performance.now() < until) { doubt(); act(); return; }
    until = performance.now() + sureFor;
    button.classList.add("sure");
    setTimeout(() => { if (performance.now() >= until) doubt(); }, sureFor + 10);
    if (tap) tap(); else say(`${button.firstChild.textContent}: once more, or press and hold`);
  });
}

let say = () => {};

/** Where a moment says that a command is in force, by the command's path. */
const inForce = { hold: "held", blackout: "blackout", "work-light/on": "workLight" };

export class Hands {
  /** tell(error) shows why something was not done; said(words) is read aloud. */
  constructor(find, tell, said) {
    this.find = find;
    this.tell = tell;
    this.said = said;
    this.plays = false;
    say = said;
    for (const b of document.querySelectorAll("[data-ask]")) {
      b.addEventListener("click", () => this.ask(this.on(b) ? b.dataset.undo : b.dataset.ask));
    }
    for (const b of document.querySelectorAll("[data-player]")) {
      b.addEventListener("click", () => this.player(b.dataset.player, ...JSON.parse(b.dataset.with)));
    }
    for (const b of document.querySelectorAll("[data-sure]")) {
      const act = () => this.ask(this.on(b) ? b.dataset.undo : b.dataset.sure);
      if (!b.dataset.undo) { sure(b, act); continue; }
      // Back from blackout is one tap: a dark stage with people on it is not safe.
      sure(b, act, () => {
        if (this.on(b)) act();
        else said(`${b.dataset.words}: once more, or press and hold`);
      });
    }
    find("go").addEventListener("click", () => this.player(this.m?.player?.plays ? "stop" : "play"));
    find("round").addEventListener("click", () => this.player("loop", this.m?.player?.loops ? 0 : 1));
    find("speed").addEventListener("change", (e) => this.player("speed", Number(e.target.value)));
  }

  /** Whether what a button asks for is in force, so that it asks for the way back. */
  on(b) { return Boolean(b.dataset.undo && this.m?.[inForce[b.dataset.ask ?? b.dataset.sure]]); }

  async ask(path, ...words) { await this.doing(() => ask(path, ...words)); }
  async player(path, ...words) { await this.doing(() => player(path, ...words)); }
  async doing(f) {
    try { await f(); } catch (e) { this.tell(e); }
  }

  /** A new show, or other rights. */
  open(show, may) {
    this.show = show;
    this.find("rehearsal").hidden = !show.player;
    this.songs();
    this.masters();
    for (const b of document.querySelectorAll("#hands button, #hands select, #hands input")) {
      if (!["leave", "click", "keys"].includes(b.id)) b.disabled = !may;
    }
    this.may = may;
    this.song = this.playing = undefined;
  }

  songs() {
    const list = this.find("songs");
    list.replaceChildren(...this.show.setList.map((s, place) => {
      const item = document.createElement("li"), b = button(this.show.songs[s].name, `${this.show.songs[s].meter}, ${this.show.songs[s].bpm} BPM`);
      b.dataset.song = s;
      if (this.show.player) b.addEventListener("click", () => this.player("jump", place + 1, 0));
      else sure(b, () => this.ask("song/select", place + 1));
      item.append(b);
      return item;
    }));
  }

  masters() {
    const row = (name, label, path, ...first) => {
      const id = "master-" + name.replace(/\W+/g, "-");
      const l = document.createElement("label"), s = document.createElement("input"), o = document.createElement("output");
      l.htmlFor = id; l.textContent = label;
      Object.assign(s, { type: "range", id, min: 0, max: 100, value: 100 });
      o.textContent = "100 %";
      s.addEventListener("input", () => { o.textContent = s.value + " %"; this.ask(path, ...first, Number(s.value) / 100); });
      if (name === "all") { this.master = s; this.masterOut = o; }
      return [l, s, o];
    };
    this.find("masters").replaceChildren(
      ...row("all", "Grand master", "master"),
      ...this.show.groups.flatMap((g) => row("group " + g.name, g.name, "group", g.name)),
    );
  }

  parts(song) {
    const box = this.find("parts");
    if (!song) {
      box.replaceChildren();
      return;
    }
    box.replaceChildren(...song.sections.map((s, i) => {
      const b = button(s.name, `energy ${s.energy}${s.loop ? ", goes round" : ""}${s.note >= 0 ? `, note ${s.note}` : ""}`);
      b.style.borderLeftColor = song.palette[s.energy >= 7 ? 2 : s.energy >= 4 ? 1 : 0];
      b.dataset.section = i;
      b.disabled = !this.may;
      sure(b, () => this.ask("section/fire", i + 1), () => {
        const when = this.find("when").value;
        this.ask("section/arm", i + 1, when);
        this.said(`${s.name} armed for the ${when === "section end" ? "section's end" : "next " + when}; once more to enter it now`);
      });
      return b;
    }));
  }

  moment(m) {
    this.m = m;
    const find = this.find;
    const song = m.song >= 0 ? this.show.songs[m.song] : null;
    if (this.song !== song) { this.song = song; this.parts(song); this.now = this.waits = undefined; }
    if (this.now !== m.section || this.waits !== m.armed) {
      for (const b of find("parts").children) {
        const i = Number(b.dataset.section);
        b.setAttribute("aria-current", String(i === m.section));
        b.classList.toggle("armed", i === m.armed);
      }
      this.now = m.section;
      this.waits = m.armed;
    }
    if (this.playing !== m.song) {
      for (const b of document.querySelectorAll("#songs button")) b.setAttribute("aria-current", String(Number(b.dataset.song) === m.song));
      this.playing = m.song;
    }
    for (const b of document.querySelectorAll("[data-undo]")) pressed(b, this.on(b), this.on(b) ? b.dataset.undoWords : b.dataset.words);
    find("section-disarm").disabled = !this.may || m.armed < 0;
    if (this.bars !== m.bars) {
      this.bars = m.bars;
      find("bars").hidden = !m.bars;
      find("bars-say").textContent = m.bars && m.bars[0].toUpperCase() + m.bars.slice(1) + ".";
      if (m.bars) this.said(m.bars);
    }
    if (m.player) {
      pressed(find("go"), m.player.plays, m.player.plays ? "Stop" : "Play");
      pressed(find("round"), m.player.loops, "Go round");
    }
    if (this.master && document.activeElement !== this.master) {
      this.master.value = Math.round(m.master * 100);
      this.masterOut.textContent = Math.round(m.master * 100) + " %";
    }
  }
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
