// The energy of a whole night in one line: as written, and the light as measured.

import { write } from "./now.js";
import { element, sentence } from "./words.js";

const ns = "http://www.w3.org/2000/svg";
const side = 22, above = 22, below = 8; // pixels around the line

function make(name, set, words) {
  const e = document.createElementNS(ns, name);
  for (const [k, v] of Object.entries(set)) e.setAttribute(k, v);
  if (words !== undefined) e.textContent = words;
  return e;
}

/** Seconds as minutes and seconds. */
export const minutes = (s) => `${Math.floor(Math.round(s) / 60)}:${String(Math.round(s) % 60).padStart(2, "0")}`;

export class SetNight {
  /** choose(file) is called for a song of the line. */
  constructor(find, choose) {
    Object.assign(this, { find, choose, strengths: new Map() });
    this.box = find("set-night");
    this.svg = make("svg", { role: "img" });
    this.box.append(this.svg);
    new ResizeObserver(() => this.draw()).observe(this.box);
  }

  /** colourOf(file) is a song's own colour. */
  open(night, colourOf) {
    if (this.night?.set !== night.set) this.strengths.clear();
    Object.assign(this, { night, colourOf });
    this.draw();
  }

  measured(m) {
    this.strengths = new Map(m.songs.map((s) => [this.night.songs.find((n) => n.place === s.place)?.file, s.sections.map((x) => x.strength)]));
    this.draw();
    this.find("set-found").replaceChildren(...m.show.filter((f) => !f.accepted).map((f) => {
      const li = element("li", undefined, f.severity);
      li.append(element("strong", f.severity), `: ${f.reason}.`, element("small", `${sentence(f.suggestion)}.`));
      return li;
    }));
  }

  x(s) { return side + s / Math.max(1, this.night.length) * (this.w - side - 4); }
  y(energy) { return this.h - below - (this.h - below - above) * energy / 10; }

  draw() {
    const { night } = this;
    if (!night || !this.box.clientWidth) return;
    this.w = this.box.clientWidth;
    this.h = this.box.clientHeight;
    this.svg.setAttribute("viewBox", `0 0 ${this.w} ${this.h}`);
    const list = [];
    for (const energy of [0, 5, 10]) {
      list.push(make("path", { class: "stave", d: `M${side} ${this.y(energy)}H${this.w - 4}` }));
      list.push(make("text", { class: "number", x: side - 5, y: this.y(energy) + 4, "text-anchor": "end" }, energy));
    }
    list.push(this.rest(0, night.songs[0]?.start ?? 0, "Walk-in"));
    night.songs.forEach((s, i) => {
      if (i + 1 < night.songs.length) list.push(this.rest(s.start + s.length, s.rest, `Rest of ${Math.round(s.rest)} seconds`));
      list.push(...this.song(s, i));
    });
    this.svg.replaceChildren(...list);
    this.svg.setAttribute("aria-label", this.words());
    write(this.find("set-night-says"), `${night.songs.length} ${night.songs.length === 1 ? "song" : "songs"}, ${minutes(night.music)} of music, ${minutes(night.length)} with the rests as planned.`);
  }

  rest(from, length, words) {
    const x = this.x(from), e = make("rect", { class: "rest", x, y: this.y(0) - 3, width: Math.max(0, this.x(from + length) - x), height: 3 });
    e.append(make("title", {}, words));
    return e;
  }

  song(s, i) {
    const x = this.x(s.start), w = this.x(s.start + s.length) - x, list = [];
    const ground = make("rect", { class: "song", x, y: 2, width: Math.max(1, w), height: this.y(0) - 2, rx: 3 });
    ground.append(make("title", {}, `${i + 1} ${s.name}, ${minutes(s.length)}`));
    ground.addEventListener("click", () => this.choose(s.file));
    const room = Math.floor((w - 6) / 7), name = `${i + 1} ${s.name}`;
    const label = make("text", { class: "name", x: x + 4, y: 15 }, name.length <= room ? name : room > 4 ? name.slice(0, room - 1) + "…" : room > 0 ? i + 1 : "");
    let steps = `M${x} ${this.y(0)}`, line = "";
    for (const p of s.sections) {
      const y = this.y(p.energy), to = this.x(p.start + p.length);
      steps += `V${y}H${to}`;
      line += `${line ? "V" : `M${x} `}${y}H${to}`;
    }
    const fill = make("path", { class: "energy", d: `${steps}V${this.y(0)}Z` });
    fill.style.fill = this.colourOf(s.file);
    list.push(ground, fill, make("path", { class: "written", d: line }), label);
    const measured = this.strengths.get(s.file);
    if (measured?.length === s.sections.length) {
      const d = s.sections.map((p, k) => `M${this.x(p.start) + 1} ${this.y(measured[k])}H${this.x(p.start + p.length) - 1}`).join("");
      list.push(make("path", { class: "measured", d }));
    }
    return list;
  }

  /** The line in words. */
  words() {
    return "Energy through the night. " + this.night.songs.map((s, i) => {
      const measured = this.strengths.get(s.file);
      return `${i + 1} ${s.name}: ` + s.sections.map((p, k) => `${p.name} ${p.energy}${measured ? `, light ${measured[k]}` : ""}`).join("; ");
    }).join(". ");
  }
}
