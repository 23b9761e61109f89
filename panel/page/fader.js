// A level that moves by dragging from where it stands, or by steps: a touch at one
// end of it does nothing.

const step = 10, // percent
  slack = 6; // pixels that a finger may move before it drags

let count = 0;

export class Fader {
  /** send(share) asks for a level, 0..1, and returns a promise. */
  constructor(label, send) {
    const make = (name, set) => Object.assign(document.createElement(name), set);
    const id = "fader-" + ++count;
    this.send = send;
    this.label = make("label", { htmlFor: id, textContent: label });
    this.input = make("input", { type: "range", id, min: 0, max: 100, value: 100 });
    this.out = make("output", { htmlFor: id, textContent: "100 %" });
    this.track = make("div", { className: "track" });
    this.track.append(this.input);
    const button = (sign, words, by) => {
      const b = make("button", { type: "button", textContent: sign, className: "step" });
      b.setAttribute("aria-label", `${label} ${words} ${step} %`);
      b.addEventListener("click", () => this.set(Number(this.input.value) + by));
      return b;
    };
    this.parts = [this.label, button("−", "down", -step), this.track, button("+", "up", step), this.out];
    this.busy = false; // a level is on its way
    this.until = 0; // what comes from the show counts again
    this.input.addEventListener("input", () => this.set(Number(this.input.value)));
    this.input.addEventListener("keydown", (e) => { if (e.key === "Home" || e.key === "End") e.preventDefault(); });
    this.drags();
  }

  drags() {
    const t = this.track;
    let from = null, level = 0, moves = false;
    t.addEventListener("pointerdown", (e) => {
      if (this.input.matches(":disabled") || !e.isPrimary) return;
      e.preventDefault();
      from = e.clientX;
      level = Number(this.input.value);
      moves = false;
      t.setPointerCapture(e.pointerId);
      this.input.focus({ preventScroll: true });
    });
    t.addEventListener("pointermove", (e) => {
      if (from === null) return;
      const way = e.clientX - from;
      moves ||= Math.abs(way) > slack;
      if (moves) this.set(level + way / Math.max(1, t.clientWidth - 16) * 100);
    });
    for (const kind of ["pointerup", "pointercancel"]) t.addEventListener(kind, () => { from = null; });
  }

  draw(percent) {
    const words = percent + " %";
    if (this.out.textContent === words) return;
    this.input.value = percent;
    this.out.textContent = words;
  }

  /** Somebody moves it here. */
  set(percent) {
    const next = Math.round(Math.max(0, Math.min(100, percent)));
    this.draw(next);
    this.until = performance.now() + 500;
    this.wanted = next;
    if (!this.busy) this.deliver();
  }

  /** One request at a time, of the newest level. */
  async deliver() {
    this.busy = true;
    while (this.wanted !== undefined) {
      const level = this.wanted;
      this.wanted = undefined;
      await this.send(level / 100);
    }
    this.until = performance.now() + 500;
    this.busy = false;
  }

  /** Where the show has it. */
  show(share) {
    if (!this.busy && performance.now() > this.until) this.draw(Math.round(share * 100));
  }
}
