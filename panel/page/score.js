// The song as a score: sections stand on a stave as high as their energy, in the
// colours of the palette; notes are cues; a line goes along with the music.

const lines = [0, 2, 4, 6, 8, 10]; // energies that have a line

export class Score {
  /** go(beat) is asked for a place, where the player may be steered. */
  constructor(canvas, go) {
    this.canvas = canvas;
    this.g = canvas.getContext("2d");
    this.go = go;
    this.steers = false;
    this.beat = 0;
    canvas.addEventListener("click", (e) => {
      if (this.song && this.steers) this.go(this.barAt(this.beatAt(e.offsetX)));
    });
    canvas.addEventListener("keydown", (e) => this.key(e));
    new ResizeObserver(() => this.fit()).observe(canvas);
  }

  open(song) {
    this.song = song;
    const c = this.canvas;
    c.setAttribute("aria-valuemax", song ? song.bars.length : 1);
    this.fit();
  }

  fit() {
    const scale = Math.min(devicePixelRatio || 1, 2), c = this.canvas;
    this.w = c.clientWidth;
    this.h = c.clientHeight;
    c.width = Math.round(this.w * scale);
    c.height = Math.round(this.h * scale);
    this.g.setTransform(scale, 0, 0, scale, 0, 0);
    this.draw();
  }

  // 8 px at the sides, names on top, bars below.
  x(beat) { return 8 + beat / this.song.length * (this.w - 16); }
  beatAt(x) { return Math.max(0, Math.min(this.song.length - 1e-3, (x - 8) / (this.w - 16) * this.song.length)); }
  y(energy) { return this.h - 30 - (this.h - 62) * energy / 10; }

  bar(beat) {
    let i = this.song.bars.length - 1;
    while (i > 0 && this.song.bars[i] > beat + 1e-6) i--;
    return i;
  }
  barAt(beat) { return this.song.bars[this.bar(beat)]; }

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
    this.draw();
    const c = this.canvas;
    if (this.song) {
      c.setAttribute("aria-valuenow", this.bar(this.beat) + 1);
      c.setAttribute("aria-valuetext", m.place || "before the song");
    }
  }

  draw() {
    const g = this.g, song = this.song, m = this.m;
    if (!this.w) return;
    g.clearRect(0, 0, this.w, this.h);
    g.font = "12px system-ui, sans-serif";
    g.textAlign = "left";
    if (!song) {
      g.fillStyle = "#a9b4c3";
      g.fillText("No song is chosen.", 12, this.h / 2);
      return;
    }
    g.strokeStyle = "#39424f";
    g.lineWidth = 1;
    for (const e of lines) {
      g.beginPath();
      g.moveTo(8, Math.round(this.y(e)) + 0.5);
      g.lineTo(this.w - 8, Math.round(this.y(e)) + 0.5);
      g.stroke();
    }
    song.sections.forEach((s, i) => this.section(s, i));
    this.bars();
    for (const c of song.cues) this.cue(c);
    if (m && m.armed >= 0) this.armed(m);
    const x = this.x(this.beat);
    g.strokeStyle = "#eef2f7";
    g.lineWidth = 2;
    g.beginPath();
    g.moveTo(x, 4);
    g.lineTo(x, this.h - 4);
    g.stroke();
  }

  section(s, i) {
    const g = this.g, x = this.x(s.start), w = this.x(s.start + s.length) - x, y = this.y(s.energy), foot = this.y(0);
    const now = this.m && this.m.section === i;
    const fill = g.createLinearGradient(x, foot, x, this.y(10));
    fill.addColorStop(0, this.song.palette[0]);
    fill.addColorStop(0.6, this.song.palette[1]);
    fill.addColorStop(1, this.song.palette[2]);
    g.globalAlpha = now ? 0.95 : 0.5;
    g.fillStyle = fill;
    g.fillRect(x + 1, y, Math.max(1, w - 2), foot - y);
    g.globalAlpha = 1;
    g.fillStyle = now ? "#ffffff" : "#c3ccd8";
    g.fillRect(x + 1, y - 2, Math.max(1, w - 2), now ? 4 : 2);
    if (w > 14) {
      g.save();
      g.beginPath();
      g.rect(x, 0, w, this.h);
      g.clip();
      g.fillStyle = now ? "#ffffff" : "#c3ccd8";
      g.font = (now ? "600 " : "") + "12px system-ui, sans-serif";
      g.fillText(s.name, x + 3, 14);
      g.fillText(`${s.energy}${s.loop ? " ↻" : ""}${s.spoken ? " ❝" : ""}`, x + 3, y - 5 < 28 ? y + 14 : y - 5);
      g.restore();
    }
  }

  bars() {
    const g = this.g, song = this.song, y = this.y(0);
    const each = song.bars.length > 1 ? this.x(song.bars[1]) - this.x(song.bars[0]) : 99;
    const step = [1, 2, 4, 8, 16, 32, 64].find((n) => n * each > 34) || 64;
    g.fillStyle = "#a9b4c3";
    g.font = "11px system-ui, sans-serif";
    song.bars.forEach((b, i) => {
      const x = Math.round(this.x(b));
      if (each > 4 || i % step === 0) g.fillRect(x, y + 1, 1, i % step === 0 ? 8 : 4);
      if (i % step === 0) g.fillText(String(i + 1), x + 3, y + 20);
    });
  }

  // A cue is a note on the line it begins from.
  cue(c) {
    const g = this.g, x = this.x(Math.max(0, c.at)), y = this.y(0) - 7;
    g.fillStyle = "#eef2f7";
    g.beginPath();
    g.ellipse(x + 4, y, 4, 3, -0.4, 0, 2 * Math.PI);
    g.fill();
    g.fillRect(x + 7, y - 12, 1, 12);
  }

  armed(m) {
    const g = this.g, s = this.song.sections[m.armed];
    if (!s) return;
    const x = this.x(s.start), w = this.x(s.start + s.length) - x;
    g.setLineDash([6, 4]);
    g.strokeStyle = "#e5b659";
    g.lineWidth = 2;
    g.strokeRect(x + 2, 3, Math.max(2, w - 4), this.y(0) - 3);
    if (m.armedIn > 0 && m.armedIn < 1e4) {
      const at = this.x(Math.min(this.song.length, this.beat + m.armedIn));
      g.beginPath();
      g.moveTo(at, 3);
      g.lineTo(at, this.y(0));
      g.stroke();
    }
    g.setLineDash([]);
  }
}
