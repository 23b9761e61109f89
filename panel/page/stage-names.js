// Names of heads on the picture, on request: clear of each other and of all lenses.
// Where the names of a row do not fit, one name stands for it: "wash 5-8".

const size = 12, high = 17;

export class Names {
  constructor(g, space) {
    this.g = g;
    this.space = space;
  }

  draw(heads) {
    this.placed ??= this.place(heads);
    for (const p of this.placed) this.label(p);
  }

  /** The name of one head, over all else. */
  one(i, heads) {
    const l = this.space.lamps[i], box = this.boxes(heads[i].name, l.spot, l.radius)[0];
    this.label(box);
  }

  place(heads) {
    const taken = this.space.lamps.map((l) => ({ x: l.spot[0] - l.radius, y: l.spot[1] - l.radius, w: 2 * l.radius, h: 2 * l.radius }));
    const rows = new Map(), list = [];
    heads.forEach((h, i) => {
      const stem = h.name.replace(/[ .#-]*(\d+ head)?[\d. #-]+$/, "") || h.name, l = this.space.lamps[i], key = `${stem} ${l.at[1].toFixed(1)} ${l.hall}`;
      if (!rows.has(key)) rows.set(key, { stem, heads: [] });
      rows.get(key).heads.push(i);
    });
    const fits = (box) => box.x >= 2 && box.x + box.w <= this.space.w - 2 && box.y >= 2 && box.y + box.h <= this.space.h - 2
      && !taken.some((t) => box.x < t.x + t.w + 2 && t.x < box.x + box.w + 2 && box.y < t.y + t.h + 1 && t.y < box.y + box.h + 1);
    const put = (text, spot, radius) => {
      const box = this.boxes(text, spot, radius).find(fits);
      if (box) { taken.push(box); list.push(box); }
      return Boolean(box);
    };
    for (const { stem, heads: on } of rows.values()) {
      const before = [taken.length, list.length], lamps = on.map((i) => this.space.lamps[i]);
      if (on.every((i) => put(heads[i].name, this.space.lamps[i].spot, this.space.lamps[i].radius))) continue;
      [taken.length, list.length] = before;
      const number = (i) => heads[i].name.slice(stem.length).trim(), mean = (k) => lamps.reduce((sum, l) => sum + l.spot[k], 0) / lamps.length;
      put(on.length > 1 ? `${stem} ${number(on[0])}-${number(on.at(-1))}` : heads[on[0]].name, [mean(0), mean(1)], Math.max(...lamps.map((l) => l.radius)));
    }
    return list;
  }

  /** Where a name may stand: below, above, to the sides, further below. */
  boxes(text, [x, y], r) {
    this.g.font = `${size}px system-ui, sans-serif`;
    const w = this.g.measureText(text).width + 8, at = (dx, dy) => ({ text, x: x + dx - w / 2, y: y + dy - high / 2, w, h: high }), d = r + 4 + high / 2;
    const clamp = (b) => ({ ...b, x: Math.max(2, Math.min(this.space.w - w - 2, b.x)), y: Math.max(2, Math.min(this.space.h - high - 2, b.y)) });
    const list = [at(0, d), at(0, -d), at(r + 4 + w / 2, 0), at(-r - 4 - w / 2, 0), at(0, d + high), at(0, -d - high)];
    return [y + d + high / 2 < this.space.h - 2 ? list[0] : clamp(list[1]), ...list.slice(1)].map((b, i) => (i ? b : clamp(b)));
  }

  label({ text, x, y, w, h }) {
    const g = this.g;
    g.fillStyle = "#05060acc";
    g.fillRect(x, y, w, h);
    g.font = `${size}px system-ui, sans-serif`;
    g.textAlign = "center";
    g.textBaseline = "middle";
    g.fillStyle = "#eef2f7";
    g.fillText(text, x + w / 2, y + h / 2 + 1);
  }
}
