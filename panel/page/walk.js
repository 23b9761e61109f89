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

  open(show) {
    const names = [...new Set(show.heads.map((h) => h.name)), ...show.groups.map((g) => g.name)];
    this.find("walk-find").replaceChildren(new Option("choose a fixture or group", ""), ...names.map((n) => new Option(n, n)));
  }

  /** Keys of a walk, as of a show. */
  keys() {
    return [
      ["n", "n, arrow right: the next fixture", () => this.ask("next")], ["arrowright", "", () => this.ask("next")],
      ["p", "p, arrow left: the one before", () => this.ask("back")], ["arrowleft", "", () => this.ask("back")],
      ["g", "g: the next group", () => this.ask("group")],
      ["c", "c: the next colour", () => this.ask("colour")],
      ["a", "a: everything", () => this.ask("all")],
      ["d", "d: dark", () => this.ask("dark")],
    ];
  }

  async ask(word, ...rest) {
    try { this.find("walk-says").textContent = (await walk(word, ...rest)).says; } catch (e) { this.tell(e); }
  }
}
