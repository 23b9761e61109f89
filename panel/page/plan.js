// What "check" finds, and its pictures, beside the play.

import { get } from "./api.js";

export class Plan {
  constructor(find) { this.box = find("findings"); }
  open(show) { this.show = show; }

  async look() {
    let value;
    try { value = await get("plan"); } catch (e) { this.box.textContent = e.message; return; }
    this.box.replaceChildren(...value.songs.map((s) => {
      const part = document.createElement("section"), title = document.createElement("h3"), list = document.createElement("ul");
      title.textContent = s.name;
      part.append(title);
      if (!s.findings.length) { const p = document.createElement("p"); p.textContent = "Nothing to mend was found."; part.append(p); }
      for (const f of s.findings) {
        const li = document.createElement("li");
        li.textContent = `${f.severity}: ${f.place}: ${f.reason}. ${f.suggestion}`;
        list.append(li);
      }
      const img = document.createElement("img");
      img.src = `/api/v1/picture?song=${s.song}&revision=${this.show.revision}`;
      img.alt = `${s.name}: every head's light over the bars, and energy asked for and measured`;
      part.append(list, img);
      return part;
    }));
  }
}
