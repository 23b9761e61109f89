// The room Colours: the house's palette and those of the songs, by role; what uses a
// role, and what each type of fixture makes of its colour.

import { ColourField } from "./colour-field.js";
import { lines } from "./compose-looks.js";
import { write } from "./now.js";
import { element } from "./words.js";

const roles = ["main", "second", "accent", "warm"];

export class ComposeColours {
  constructor(find, composing) {
    Object.assign(this, { find, composing, file: "", role: "main" });
    this.field = new ColourField(find("colour-field"), (text, gesture) => this.set(text, gesture));
    find("colour-back").addEventListener("click", () => this.set(null, ""));
  }

  set(to, gesture) {
    const edit = this.file ? { do: "set colour", song: this.file, role: this.role, to } : { do: "set house colour", role: this.role, to };
    this.composing.edit(edit, gesture);
  }

  /** The song whose colour is chosen; none: it is the house's. */
  get song() { return this.model.songs.find((s) => s.file === this.file); }
  get colour() { return (this.song?.palette ?? this.model.palette)[this.role]; }

  open(model) {
    this.model = model;
    if (!this.song) this.file = "";
    this.field.open(JSON.stringify(model.rig));
    this.draw();
  }

  draw() {
    const { find, model } = this, box = find("palettes"), all = [["The house", "", model.palette], ...model.songs.map((s) => [s.name, s.file, s.palette])];
    const made = all.map(([name, file]) => `${name}\n${file}`).join("\n");
    if (box.made !== made) { box.made = made; box.replaceChildren(...all.map(([name, file]) => this.palette(name, file))); }
    all.forEach(([, file, palette], i) => roles.forEach((role, k) => {
      const b = box.children[i].querySelectorAll("button")[k], c = palette[role];
      b.querySelector(".swatch").style.background = c.shown;
      write(b.querySelector("small"), c.written || (c.shown === model.palette[role].shown ? "the house's" : "of its character"));
      b.setAttribute("aria-pressed", String(file === this.file && role === this.role));
    }));
    this.chosen();
  }

  palette(name, file) {
    const section = element("section"), row = element("div", undefined, "palette"), title = element("h3", name);
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", `Colours of ${name}`);
    row.append(...roles.map((role) => {
      const b = element("button"), words = element("span");
      b.type = "button";
      b.dataset.role = role;
      b.dataset.file = file;
      words.append(element("b", role), element("small"));
      b.append(element("span", undefined, "swatch"), words);
      b.addEventListener("click", () => { this.file = file; this.role = role; this.draw(); });
      return b;
    }));
    section.append(title, row);
    return section;
  }

  chosen() {
    const { find, model, song, role, colour } = this, own = colour.written !== "";
    find("colour-box").hidden = false;
    write(find("colour-title"), `The colour ${role} of ${song ? song.name : "the house"}`);
    write(find("colour-says"), own ? "" : colour.shown === model.palette[role].shown ? "The song writes none, and has the house's. A change here gives it its own." : "The song writes none, and has the white of its character. A change here gives it its own.");
    find("colour-says").hidden = own;
    const uses = this.uses();
    write(find("colour-used-says"), uses.length ? "A change here is seen in:" : "Nothing uses this colour.");
    lines(find("colour-used"), uses);
    this.field.show(colour.written || colour.shown, colour.shown);
    find("colour-back").hidden = !song || !own;
    const white = [...new Set((this.composing.stage.show?.heads ?? []).filter((h) => h.kind === "white").map((h) => h.profile))];
    write(find("colour-white"), white.length ? `Without colours of their own: ${white.join(", ")}. They keep the white of their lamps.` : "");
  }

  /** What has the colour: looks and effects by their role, and the songs they are in. */
  uses() {
    const { model, role, song } = this;
    const looks = model.looks.filter((l) => l.set?.some((s) => s.levels.colour === role)), effects = model.effects.filter((e) => e.keys.from === role || e.keys.to === role);
    const inSong = (used, s) => used.some((u) => u.song === s.file || u.look && inSong(model.looks.find((l) => l.name === u.look)?.used ?? [], s));
    const has = (list, s) => list.filter((x) => inSong(x.used, s)).map((x) => x.name), quoted = (names) => names.map((n) => `“${n}”`).join(", ");
    const words = (s) => [["Looks", has(looks, s)], ["Effects", has(effects, s)]].filter(([, names]) => names.length).map(([what, names]) => `${what}: ${quoted(names)}`);
    if (song) return words(song);
    const between = looks.filter((l) => l.used.some((u) => u.set)).map((l) => l.name);
    return [
      ...between.length ? [`Between songs: ${quoted(between)}`] : [],
      ...model.songs.filter((s) => !s.palette[role].written && s.palette[role].shown === model.palette[role].shown && words(s).length).map((s) => `${s.name}, which has no ${role} of its own: ${words(s).join("; ")}`),
    ];
  }
}
