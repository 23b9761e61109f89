// The song as a score: sections stand on a stave as high as their energy, in the
// colours of the palette; notes are cues, in a row of their own; a line goes along
// with the music.

import { cueWords, toGo, write } from "./now.js";
import { ink } from "./theme.js";

const lines = [0, 2, 4, 6, 8, 10]; // energies that have a line
const side = 8, below = 52; // pixels at the sides; for cues and numbers of bars
const letters = "12px system-ui, sans-serif";
const slant = Math.PI / 3, apart = 16; // of names that stand slanted; pixels between them
const chosenFor = 12000; // milliseconds that a cue which was asked for is shown

export class Score {
  /** go(beat) is asked for a place, where the player may be steered. */
  constructor(find, go) {
    this.canvas = find("score");
    this.says = find("cue-says");
    this.list = find("cue-list");
    this.g = this.canvas.getContext("2d");
    this.go = go;
    this.steers = false;
    Object.assign(this, { song: null, m: null, beat: 0, chosen: null });
    this.canvas.addEventListener("click", (e) => this.click(e.offsetX, e.offsetY));
    this.canvas.addEventListener("keydown", (e) => this.key(e));
    new ResizeObserver(() => this.fit()).observe(this.canvas);
  }

  open(song) {
    Object.assign(this, { song, m: null, beat: 0, chosen: null }); // the moment is of the song before
    this.canvas.setAttribute("aria-valuemax", song ? song.bars.length : 1);
    this.list.replaceChildren(...(song?.cues ?? []).map((c) => {
      const li = document.createElement("li");
      li.textContent = `${c.place}: ${cueWords(c)}`;
      return li;
    }));
    this.fit();
  }

  fit() {
    const scale = Math.min(devicePixelRatio || 1, 2), c = this.canvas;
    this.w = c.clientWidth;
    this.h = c.clientHeight;
    c.width = Math.round(this.w * scale);
    c.height = Math.round(this.h * scale);
    this.g.setTransform(scale, 0, 0, scale, 0, 0);
    this.inks = Object.fromEntries(["quiet", "text", "line", "accent", "armed"].map((name) => [name, ink(name)]));
    this.names();
    this.draw();
  }

  /** Where the names of sections stand: level if all have room, else slanted. Those
   *  that have no room even so are shortened to a point; their button has them. */
  names() {
    this.labels = [];
    this.right = side;
    this.above = 30;
    const song = this.song, g = this.g;
    if (!song || !this.w) return;
    g.font = "600 " + letters;
    const widths = song.sections.map((s) => g.measureText(s.name).width);
    const fits = song.sections.every((s, i) => this.x(s.start + s.length) - this.x(s.start) > widths[i] + 8);
    if (!fits) {
      this.above = Math.max(...widths) * Math.sin(slant) + 22;
      song.sections.forEach((s, i) => { // what would lean over the right edge moves the song to the left
        if (s.start <= 0) return;
        const need = widths[i] * Math.cos(slant) + side + 12;
        this.right = Math.max(this.right, this.w - side - (this.w - need) / s.start * song.length);
      });
    }
    let last = -Infinity;
    song.sections.forEach((s, i) => {
      const x = this.x(s.start) + (fits ? 3 : 8), room = fits || x - last >= apart;
      if (room) last = x;
      this.labels.push({ name: room ? s.name : "·", x, y: fits ? 15 : this.above - 10, width: room ? widths[i] : 4, angle: fits ? 0 : -slant });
    });
    this.canvas.labels = this.labels;
    this.canvas.classList.toggle("slanted", !fits);
  }

  // Names on top, then the stave, the cues, and the numbers of bars.
  x(beat) { return side + beat / this.song.length * (this.w - side - this.right); }
  beatAt(x) { return Math.max(0, Math.min(this.song.length - 1e-3, (x - side) / (this.w - side - this.right) * this.song.length)); }
  y(energy) { return this.h - below - (this.h - below - this.above - 6) * energy / 10; }
  get row() { return this.y(0) + 15; } // of the cues

  bar(beat) {
    let i = this.song.bars.length - 1;
    while (i > 0 && this.song.bars[i] > beat + 1e-6) i--;
    return i;
  }
  barAt(beat) { return this.song.bars[this.bar(beat)]; }

  /** A tap on a cue says what it will do; elsewhere it goes there, if it may. */
  click(x, y) {
    const song = this.song;
    if (!song) return;
    if (Math.abs(y - this.row) < 18 || !this.steers) {
      const far = (c) => Math.abs(this.x(Math.max(0, c.at)) + 4 - x);
      const near = song.cues.toSorted((a, b) => far(a) - far(b))[0];
      if (near && far(near) < 24) { this.chosen = near; this.until = performance.now() + chosenFor; this.tellCue(); this.draw(); return; }
    }
    if (this.steers) this.go(this.barAt(this.beatAt(x)));
  }

  key(e) {
    const song = this.song;
    if (!song || !this.steers) return;
    const bar = this.bar(this.beat), last = song.bars.length - 1;
    const section = song.sections.findIndex((s) => this.beat < s.start + s.length);
    let to;
    switch (e.key) {
      case "ArrowRight": case "ArrowUp": to = song.bars[Math.min(last, bar + 1)]; break;
      case "ArrowLeft": case "ArrowDown": to = song.bars[Math.max(0, bar - 1)]; break;
      case "PageUp": to = song.sections[Math.min(song.sections.length - 1, section + 1)].start; break;
      case "PageDown": to = song.sections[Math.max(0, section - 1)].start; break;
      case "Home": to = 0; break;
      case "End": to = song.bars[last]; break;
      default: return;
    }
    e.preventDefault();
    this.go(to);
  }

  /** The moment, with the beat carried on since it was made. */
  show(m, beat) {
    this.m = m;
    this.beat = Math.max(0, Math.min(this.song ? this.song.length : 0, beat));
    if (this.picture() !== this.drawn) this.draw();
    this.tellCue();
    if (this.song) {
      this.attribute("aria-valuenow", String(this.bar(this.beat) + 1));
      this.attribute("aria-valuetext", m.place || "before the song");
    }
  }

  /** Sets an attribute of the canvas if it is another. */
  attribute(name, value) {
    if (this.canvas.getAttribute(name) !== value) this.canvas.setAttribute(name, value);
  }

  /** What a drawing depends on besides the song and the size: the line of the present,
   *  to half a pixel, and what is marked. */
  picture() {
    const { song, m } = this;
    if (!song || !m) return "";
    const armed = m.armed >= 0 ? Math.round(2 * this.x(Math.min(song.length, m.beat + m.armedIn))) : 0;
    return [Math.round(2 * this.x(this.beat)), m.section, m.armed, armed, song.cues.indexOf(this.chosen ?? this.next.cue)].join();
  }

  /** The next cue, and the stretches of the song that are played until it, [from, to] in
   *  quarter notes. A section that is armed before the cue brings its own: the song is
   *  played up to the entry, then from the start of that section. */
  get next() {
    const { song, m, beat } = this, cue = song?.cues.find((c) => c.at > beat + 1e-3);
    const start = song?.sections[m?.armed]?.start, enters = m?.beat + m?.armedIn;
    if (start === undefined || cue && cue.at < enters - 1e-3) return { cue, stretches: [[beat, cue?.at]] };
    const first = song.cues.find((c) => c.at > start - 1e-3);
    return { cue: first, stretches: [[beat, enters], [start, first?.at]] };
  }

  tellCue() {
    if (this.chosen && performance.now() > this.until) this.chosen = null;
    const { cue, stretches } = this.next, c = this.chosen ?? cue;
    if (!c) { write(this.says, this.song ? "No further cue in this song." : ""); return; }
    write(this.says, this.chosen ? `Cue at ${c.place}: ${cueWords(c)}.` : `Next cue ${toGo(this.song, ...stretches)}, at ${c.place}: ${cueWords(c)}.`);
  }

  draw() {
    const g = this.g, song = this.song, m = this.m;
    if (!this.w) return;
    this.drawn = this.picture();
    g.clearRect(0, 0, this.w, this.h);
    g.font = letters;
    g.textAlign = "left";
    const { quiet, text } = this.inks;
    if (!song) {
      g.fillStyle = quiet;
      g.fillText("No song is chosen.", 12, this.h / 2);
      return;
    }
    g.strokeStyle = this.inks.line;
    g.lineWidth = 1;
    for (const e of lines) {
      g.beginPath();
      g.moveTo(side, Math.round(this.y(e)) + 0.5);
      g.lineTo(this.w - this.right, Math.round(this.y(e)) + 0.5);
      g.stroke();
    }
    song.sections.forEach((s, i) => this.section(s, i, quiet, text));
    this.bars(quiet);
    const next = this.next.cue;
    for (const c of song.cues) this.cue(c, c === (this.chosen ?? next), quiet);
    if (m && m.armed >= 0) this.armed(m);
    const x = this.x(this.beat);
    g.strokeStyle = text;
    g.lineWidth = 2;
    g.beginPath();
    g.moveTo(x, this.above - 4);
    g.lineTo(x, this.h - 4);
    g.stroke();
  }

  section(s, i, quiet, text) {
    const g = this.g, x = this.x(s.start), w = this.x(s.start + s.length) - x, y = this.y(s.energy), foot = this.y(0);
    const now = this.m && this.m.section === i, label = this.labels[i];
    const fill = g.createLinearGradient(x, foot, x, this.y(10));
    fill.addColorStop(0, this.song.palette[0]);
    fill.addColorStop(0.6, this.song.palette[1]);
    fill.addColorStop(1, this.song.palette[2]);
    g.globalAlpha = now ? 0.75 : 0.35;
    g.fillStyle = fill;
    g.fillRect(x + 1, y, Math.max(1, w - 2), foot - y);
    g.globalAlpha = 1;
    g.fillStyle = now ? this.inks.accent : quiet;
    g.fillRect(x + 1, y - 2, Math.max(1, w - 2), now ? 4 : 2);
    g.save();
    g.fillStyle = now ? text : quiet;
    g.font = (now ? "600 " : "") + letters;
    g.translate(label.x, label.y);
    g.rotate(label.angle);
    g.fillText(label.name, 0, 0);
    g.restore();
    const words = `${s.energy}${s.loop ? " ↻" : ""}${s.spoken ? " ❝" : ""}`;
    g.font = letters;
    if (g.measureText(words).width + 5 > w) return;
    const inside = foot - y > 20;
    g.fillStyle = text;
    g.fillText(words, x + 4, inside ? y + 15 : y - 6);
  }

  bars(quiet) {
    const g = this.g, song = this.song, y = this.y(0) + 26;
    const each = song.bars.length > 1 ? this.x(song.bars[1]) - this.x(song.bars[0]) : 99;
    const step = [1, 2, 4, 8, 16, 32, 64].find((n) => n * each > 34) || 64;
    g.fillStyle = quiet;
    g.font = "11px system-ui, sans-serif";
    song.bars.forEach((b, i) => {
      const x = Math.round(this.x(b));
      if (each > 4 || i % step === 0) g.fillRect(x, y, 1, i % step === 0 ? 8 : 4);
      if (i % step === 0 && x + 20 < this.w) g.fillText(String(i + 1), x + 3, y + 19);
    });
  }

  // A cue is a note at the place where it begins; the one that is told of is larger.
  cue(c, told, quiet) {
    const g = this.g, x = this.x(Math.max(0, c.at)), y = this.row, size = told ? 1.5 : 1;
    g.fillStyle = told ? this.inks.accent : quiet;
    g.beginPath();
    g.ellipse(x + 4, y, 4 * size, 3 * size, -0.4, 0, 2 * Math.PI);
    g.fill();
    g.fillRect(x + 3 + 4 * size, y - 11, 1, 11);
  }

  armed(m) {
    const g = this.g, s = this.song.sections[m.armed];
    if (!s) return;
    const x = this.x(s.start), w = this.x(s.start + s.length) - x, top = this.above - 4;
    g.setLineDash([6, 4]);
    g.strokeStyle = this.inks.armed;
    g.lineWidth = 2;
    g.strokeRect(x + 2, top, Math.max(2, w - 4), this.y(0) - top);
    if (m.armedIn > 0 && m.armedIn < 1e4) {
      const at = this.x(Math.min(this.song.length, m.beat + m.armedIn));
      g.beginPath();
      g.moveTo(at, top);
      g.lineTo(at, this.y(0));
      g.stroke();
      g.setLineDash([]);
      g.fillStyle = this.inks.armed;
      g.beginPath();
      for (const [a, b] of [[0, -6], [6, 0], [0, 6], [-6, 0]]) g.lineTo(at + a, top + 6 + b);
      g.fill();
    }
    g.setLineDash([]);
  }
}
