// Single keys, in every view and in either case; they can be turned off (WCAG 2.2,
// 2.1.4). The question mark shows them.

export class Keys {
  /** list() returns the keys that do something now: [key, words, act]. */
  constructor(find, list) {
    this.list = list;
    this.box = find("keys-box");
    this.on = find("keys");
    this.names = find("key-list");
    find("keys-open").addEventListener("click", () => this.show());
    find("keys-close").addEventListener("click", () => this.box.close());
    addEventListener("keydown", (e) => this.key(e));
  }

  show() {
    this.names.replaceChildren(...this.list().filter((k) => k[1]).flatMap(([key, words]) => {
      const [shown, ...rest] = words.split(": "), a = document.createElement("dt"), b = document.createElement("dd");
      a.textContent = shown || key;
      b.textContent = rest.join(": ");
      return [a, b];
    }));
    this.box.showModal();
  }

  key(e) {
    if (e.ctrlKey || e.metaKey || e.altKey || e.repeat) return;
    const t = e.target;
    if (e.key === "?" && this.box.open) { e.preventDefault(); this.box.close(); return; }
    if (document.querySelector("dialog[open]") || t.matches?.("input:not([type=range]):not([type=checkbox]), select, textarea")) return;
    if (e.key === "?") { e.preventDefault(); this.show(); return; }
    if (!this.on.checked || e.key === " " && t.matches?.("button, summary, a, input") || e.key.startsWith("Arrow") && t.matches?.("input, canvas")) return;
    const key = this.list().find((k) => k[0] === e.key.toLowerCase());
    if (!key) return;
    e.preventDefault();
    key[2]();
  }
}
