// What "check" finds, and its pictures, beside the play.

import { get } from "./api.js";
import { element, sentence } from "./words.js";

export class Plan {
  /** go(place, beat) is asked for a place in the set, where the player may be steered. */
  constructor(find, go) { this.box = find("findings"); this.go = go; }

  /** A new show, or other rights. */
  open(show, steers) {
    this.steers = steers;
    if (this.revision !== show.revision && this.seen) this.look();
    this.revision = show.revision;
  }

  async look() {
    this.seen = true;
    if (this.made === this.revision && this.revision !== undefined) return;
    this.box.replaceChildren(element("p", "Playing through the set, faster than real time…", "quiet"));
    let value;
    try { value = await get("plan"); } catch (e) { this.box.replaceChildren(element("p", e.message)); return; }
    this.made = value.revision;
    const parts = value.songs.map((s, i) => this.song(s, i, value.revision));
    if (value.show.length) parts.unshift(this.list("The show", value.show, -1));
    this.box.replaceChildren(...parts);
  }

  song(s, i, revision) {
    const part = this.list(s.name, s.found, s.place), img = element("img");
    const follows = s.follows === null ? "" : ` Agreement of light and energy: ${s.follows.toFixed(2)} of 1.`;
    part.firstChild.after(element("p", `${wordsFor(s.found)}${follows}`, "quiet"));
    img.src = `/api/v1/picture?song=${i}&revision=${revision}`;
    img.alt = `${s.name}: ` + s.sections.map((x) => `${x.name}, energy ${x.energy}, light ${x.strength}`).join("; ");
    part.append(img);
    return part;
  }

  list(name, found, place) {
    const part = element("section"), list = element("ul");
    part.append(element("h3", name));
    for (const f of found) {
      const li = element("li", undefined, f.accepted ? "quiet" : f.severity);
      li.append(element("strong", f.accepted ? "accepted" : f.severity), ": ");
      if (f.place && this.steers && place >= 0) {
        const b = element("button", f.place);
        b.type = "button";
        b.addEventListener("click", () => this.go(place, f.beat));
        li.append(b, " ");
      } else if (f.place) li.append(`${f.place}: `);
      li.append(`${f.reason}.`, element("small", f.accepted ? `Accepted: ${f.accepted}` : `${sentence(f.suggestion)}. ${f.written}`));
      list.append(li);
    }
    if (found.length) part.append(list);
    return part;
  }
}

function wordsFor(found) {
  const open = found.filter((f) => !f.accepted);
  if (!open.length) return "Nothing to correct was found.";
  return `${open.length} to check.`;
}
