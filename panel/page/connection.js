// The connection: moments and reports as they come, and what is said when they do
// not.

import { get, listen } from "./api.js";

const tryEvery = 2000, silence = 6000; // milliseconds

export class Connection {
  /** on(kind, value) is told what comes; admit(right) whether to go on, once it is
   *  known what may be done here; slots() whether slots are wanted. */
  constructor(find, on, admit, slots) {
    Object.assign(this, { find, on, admit, slots, source: null, turn: 0, lost: false, heard: performance.now(), since: null });
    setInterval(() => this.look(), 1000);
  }

  async start() {
    clearTimeout(this.again);
    this.close();
    const turn = ++this.turn; // a later start takes over from this one
    try {
      const admitted = await this.admit((await get("access")).right);
      if (!admitted || turn !== this.turn) return;
      this.heard = performance.now();
      this.source = listen(this.slots(), (kind, value) => {
        if (kind === "lost") { this.drop(); return; }
        this.heard = performance.now();
        if (kind !== "open") this.found();
        this.on(kind, value);
      });
    } catch {
      if (turn === this.turn) this.drop();
    }
  }

  close() { this.source?.close(); this.source = null; }

  /** A network that is gone closes nothing: silence tells. */
  look() {
    if (this.source && performance.now() - this.heard > silence) this.drop();
    if (this.lost) {
      const s = Math.round((performance.now() - this.heard) / 1000);
      this.find("lost-for").textContent = s < 60 ? `${s} s` : `${Math.floor(s / 60)} min ${s % 60} s`;
    }
  }

  drop() {
    this.close();
    if (!this.lost) {
      this.lost = true;
      this.find("lost-since").textContent = new Date(Date.now() - (performance.now() - this.heard)).toLocaleTimeString([], { hour12: false });
      this.find("lost").hidden = false;
      this.on("lost");
    }
    clearTimeout(this.again);
    this.again = setTimeout(() => this.start(), tryEvery);
  }

  found() {
    if (!this.lost) return;
    this.lost = false;
    this.find("lost").hidden = true;
    this.on("found");
  }
}
