// A song's colours by role, chosen from swatches: the colours of all songs, and one of its own.

import { element } from "./words.js";

const roles = ["main", "second", "accent", "warm"];

export class SongColours {
  constructor(find, edit) {
    Object.assign(this, { find, edit, role: "main" });
    find("song-roles").replaceChildren(...roles.map((role) => {
      const b = element("button", undefined, "paint");
      b.type = "button";
      b.dataset.role = role;
      b.append(element("i"), element("span", role));
      b.addEventListener("click", () => { this.role = role; this.draw(); });
      return b;
    }));
    find("song-own").addEventListener("change", (e) => this.set(e.target.value));
    find("song-shared").addEventListener("click", () => this.set(null));
  }

  set(to) { this.edit({ do: "set colour", role: this.role, to }); }

  open(model, song) { Object.assign(this, { model, song }); if (song) this.draw(); }

  draw() {
    const { find, model, song, role } = this, now = song.palette[role];
    for (const b of find("song-roles").children) {
      const c = song.palette[b.dataset.role];
      b.firstChild.style.background = c.shown || c.written || "transparent";
      b.setAttribute("aria-pressed", String(b.dataset.role === role));
      b.setAttribute("aria-label", `${b.dataset.role}: ${c.written || `${c.shown}, the show's own`}`);
    }
    const all = [...new Set([...model.songs.flatMap((s) => roles.map((r) => s.palette[r].shown)), ...roles.map((r) => model.palette[r].shown)].filter((c) => /^#[0-9a-f]{6}$/.test(c)))].slice(0, 40);
    const box = find("song-swatches");
    if (box.made !== all.join()) {
      box.made = all.join();
      box.replaceChildren(...all.map((c) => {
        const b = element("button", undefined, "paint");
        b.type = "button";
        b.dataset.colour = c;
        b.append(element("i"));
        b.firstChild.style.background = c;
        b.addEventListener("click", () => this.set(c));
        return b;
      }));
    }
    for (const b of box.children) {
      b.setAttribute("aria-pressed", String(b.dataset.colour === now.shown));
      b.setAttribute("aria-label", `${role}: ${b.dataset.colour}`);
    }
    if (/^#[0-9a-f]{6}$/.test(now.shown)) find("song-own").value = now.shown;
    find("song-shared").disabled = !now.written;
  }
}
