// The rig walk: one fixture after another, to find what is patched wrong.

import { walk } from "./api.js";

export class Walk {
  /** tell(error) shows why something was not done. */
  constructor(find, tell) {
    this.find = find;
    this.tell = tell;
    for (const b of document.querySelectorAll("[data-walk]")) b.addEventListener("click", () => this.ask(b.dataset.walk));
    find("walk-find").addEventListener("change", (e) => { if (e.target.value) this.ask("find", e.target.value); });
    find("walk-wrong").addEventListener("submit", (e) => {
      e.preventDefault();
      this.ask("wrong", find("walk-why").value);
      find("walk-why").value = "";
    });
  }

  open(show, may) {
    const names = [...new Set(show.heads.map((h) => h.name)), ...show.groups.map((g) => g.name)];
    this.find("walk-find").replaceChildren(new Option("choose a fixture or group", ""), ...names.map((n) => new Option(n, n)));
    for (const e of document.querySelectorAll("#walk button, #walk select, #walk input")) e.disabled = !may;
  }

  async ask(word, ...rest) {
    try { this.find("walk-says").textContent = (await walk(word, ...rest)).says; } catch (e) { this.tell(e); }
  }
}
