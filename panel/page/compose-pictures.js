// Small pictures of looks and effects on this rig in a song's colours, as buttons. Those that
// stay keep their place and the focus.

import { element } from "./words.js";

let version = 0, seen = "";

export class Pictures {
  /** kind: look or effects. */
  constructor(box, kind) { Object.assign(this, { box, kind }); }

  /** on(name): whether it is chosen; press(name); look: the one that effects are shown on. */
  show(model, song, look, on, press) {
    const now = JSON.stringify([song.palette, model.looks, model.effects, model.rig]);
    if (now !== seen) { seen = now; version++; }
    const names = (this.kind === "look" ? model.looks : model.effects).map((l) => l.name);
    if (this.made !== names.join("\n")) {
      this.made = names.join("\n");
      this.box.replaceChildren(...names.map((name) => {
        const b = element("button", undefined, "choice"), img = element("img");
        b.type = "button";
        b.dataset.name = name;
        img.alt = "";
        img.loading = "lazy";
        b.append(img, element("span", name));
        return b;
      }));
    }
    for (const b of this.box.children) {
      const name = b.dataset.name, query = new URLSearchParams({ song: song.file, look: this.kind === "look" ? name : look });
      if (this.kind === "effects") query.set("effects", name);
      const src = `/api/v1/compose/picture?${query}&version=${version}`;
      if (b.firstChild.getAttribute("src") !== src) b.firstChild.setAttribute("src", src);
      b.setAttribute("aria-pressed", String(on(name)));
      b.onclick = () => press(name);
    }
  }
}

/** Options of a list to choose from: [words, value]. */
export function options(select, list, value) {
  if (select.length !== list.length || list.some(([words], i) => select.options[i].textContent !== words)) {
    select.replaceChildren(...list.map(([words, v]) => new Option(words, v)));
  }
  select.selectedIndex = list.findIndex(([, v]) => v === value);
}

/** Lengths of changes. */
export const fades = ["", "snap", "1/2 beat", "1 beat", "2 beats", "1 bar", "2 bars", "1 s", "3 s", "5 s"];
