// The stage in metres: where heads hang, where they point, and how the hall sees
// it. x runs from house left to house right, y from the front of the stage to the
// back, z is height above the stage floor.
//
// What a rig's files do not say is assumed, by common practice, no source: heads
// over the front light the band, heads behind it are back light, heads at the
// sides colour the wall behind, heads in the hall light faces. A moving head pans
// 540 degrees and tilts 270, and points straight down, or up from the floor, in
// the middle of both.

export const hallFloor = -0.9;

const rad = Math.PI / 180;

/** Half of a beam's angle, in radians: typical ones, no source. */
function spread(head, inHall) {
  if (head.moves) return 9 * rad;
  if (inHall) return 17 * rad;
  return head.at[2] < 2.6 ? 25 * rad : 19 * rad;
}

export class Space {
  constructor(heads) {
    this.lamps = apart(heads).map((at, i) => ({ at, head: heads[i], hall: !heads[i].house && at[1] < -1, house: heads[i].house }));
    const on = this.lamps.filter((l) => !l.hall && !l.house), all = on.length ? on : this.lamps;
    const most = (k) => Math.max(...all.map((l) => l.at[k])), least = (k) => Math.min(...all.map((l) => l.at[k]));
    const middle = (least(0) + most(0)) / 2, half = Math.max(3, (most(0) - least(0)) / 2);
    this.middle = middle;
    this.half = half;
    this.front = Math.min(0, all === on ? least(1) : 0) - 0.5;
    this.back = Math.max(4, most(1)) + 1.2;
    this.top = Math.max(2.8, most(2)) + 0.5;
    this.eye = [middle, this.front - Math.max(6, 2.1 * half), 2.3];
    this.band = this.players();
    for (const l of this.lamps) {
      const angle = spread(l.head, l.hall);
      l.cos = Math.cos(angle);
      l.tan = Math.tan(angle);
      this.point(l, 0, 0);
    }
  }

  /** Points a lamp; pan and tilt are shares of the travel, -1..1. True if that moved it. */
  point(l, pan, tilt) {
    if (l.aim && (!l.head.moves || l.pan === pan && l.tilt === tilt)) return false;
    l.pan = pan;
    l.tilt = tilt;
    l.aim = l.head.moves ? turned(l, pan, tilt) : unit(minus(this.target(l), l.at));
    l.end = this.hit(l.at, l.aim);
    // Lamps are chosen for their throw: each is as bright as the others where it points.
    l.throw2 = Math.max(4, square(minus(l.end, l.at)));
    // Haze scatters forward: beams towards the eye are seen better, and there is
    // little of it in the hall.
    const toEye = unit(minus(this.eye, l.at));
    l.seen = l.hall ? 0.25 : 0.7 + 0.8 * Math.max(0, dot(l.aim, toEye));
    return true;
  }

  /** Where a lamp that does not move points. */
  target(l) {
    const [x, y, z] = l.at, m = this.middle, dx = x - m, deep = this.back - this.front;
    if (l.hall || l.house) return [m + dx * 0.5, this.front + 0.28 * deep, 1.2];
    if (z < 2.6) return [m + dx * 0.6, this.back, z + 1.2];
    if (y < this.front + 0.55 * deep) return [m + dx * 0.9, y + 1.9, 0.8];
    return [m + dx * 0.85, y - 0.42 * z, 0];
  }

  /** Where light from a place ends: on the floor of the stage or the hall, or on
   *  the back wall; in the air after 14 m. */
  hit(from, d) {
    let best = 14;
    const reach = (t) => { if (t > 0.05 && t < best) best = t; };
    if (d[1] > 0) reach((this.back - from[1]) / d[1]);
    if (d[2] < 0) {
      const t = -from[2] / d[2], y = from[1] + t * d[1];
      if (y >= this.front) reach(t);
      else reach((hallFloor - from[2]) / d[2]);
    }
    return [from[0] + best * d[0], from[1] + best * d[1], from[2] + best * d[2]];
  }

  /** A band, for scale: people of about 1.75 m where they would stand. */
  players() {
    const deep = this.back - this.front, at = (x, y) => [this.middle + x * Math.min(this.half, 6), this.front + y * deep, 0];
    return [
      { kind: "drums", at: at(0.2, 0.62) }, { kind: "keys", at: at(-0.6, 0.46) }, { kind: "bass", at: at(0.6, 0.38) },
      { kind: "guitar", at: at(-0.34, 0.3) }, { kind: "voice", at: at(0, 0.2) },
    ];
  }

  /** Chooses the part of the picture for a canvas of w by h. */
  fit(w, h) {
    this.w = w;
    this.h = h;
    let wide = 0, up = 0;
    for (const l of this.lamps) {
      if (l.hall || l.house) continue;
      const far = l.at[1] - this.eye[1];
      wide = Math.max(wide, (Math.abs(l.at[0] - this.middle) + 0.5) / far);
      up = Math.max(up, (l.at[2] + 0.55 - this.eye[2]) / far);
    }
    wide = Math.max(wide, this.half / (this.front + 2 - this.eye[1]));
    up = Math.max(up, (2.6 - this.eye[2]) / (2 - this.eye[1]));
    const down = (this.eye[2] + 0.3) / (this.front - this.eye[1]);
    const hall = this.lamps.some((l) => l.hall), above = hall ? Math.min(34, h * 0.1) : 8, below = Math.min(24, h * 0.07);
    this.f = Math.max(1, Math.min(w / 2 / wide * 0.96, (h - above - below) / (up + down)));
    this.cx = w / 2;
    const spare = h - above - below - (up + down) * this.f;
    this.cy = above + spare * 0.45 + up * this.f;
    const house = this.lamps.filter((l) => l.house);
    for (const l of this.lamps) {
      const far = Math.max(1, l.at[1] - this.eye[1]);
      const gap = Math.min(...this.lamps.map((o) => (o !== l && o.at[1] === l.at[1] ? Math.hypot(o.at[0] - l.at[0], o.at[2] - l.at[2]) : 9)));
      l.radius = Math.max(gap < 0.3 ? 2 : 3.5, Math.min(13, Math.min(0.15, 0.45 * gap) * this.f / far));
      if (l.house) l.spot = [(house.indexOf(l) + 1) * w / (house.length + 1), h - 14];
      else if (l.hall) l.spot = this.entry(l);
      else l.spot = this.project(l.at);
      if (l.hall || l.house) l.radius = Math.min(l.radius, 8);
    }
  }

  /** Where a place is on the canvas. */
  project([x, y, z]) {
    const s = this.scale(y);
    return [this.cx + (x - this.middle) * s, this.cy - (z - this.eye[2]) * s];
  }

  /** Pixels of the canvas to a metre at a depth. */
  scale(y) { return this.f / Math.max(0.3, y - this.eye[1]); }

  /** Where the beam of a lamp in the hall, above and behind the eye, comes into the picture. */
  entry(l) {
    const from = l.at[1] - this.eye[1] < 1 ? along(l.at, l.aim, (this.eye[1] + 1 - l.at[1]) / Math.max(0.01, l.aim[1])) : l.at;
    const [ax, ay] = this.project(from), [bx, by] = this.project(l.end), y = 13;
    const t = ay >= y || by <= ay ? 0 : Math.min(1, (y - ay) / (by - ay));
    return [Math.max(14, Math.min(this.w - 14, ax + t * (bx - ax))), Math.max(y, Math.min(this.h - 14, ay + t * (by - ay)))];
  }

  /** The rectangle of the canvas that a lamp's light can reach: left, top, right, bottom. */
  reach(l) {
    const points = [], [u, v] = across(l.aim), add = (p) => { if (p[1] - this.eye[1] > 0.5) points.push(this.project(p)); else points.push([-1e4, -1e4], [1e4, 1e4]); };
    add(l.at);
    for (let i = 0; i < 12; i++) {
      const a = i * Math.PI / 6, d = [0, 1, 2].map((k) => l.aim[k] + l.tan * (u[k] * Math.cos(a) + v[k] * Math.sin(a)));
      add(this.hit(l.at, unit(d)));
    }
    const xs = points.map((p) => p[0]), ys = points.map((p) => p[1]);
    const x0 = Math.min(...xs), x1 = Math.max(...xs), y0 = Math.min(...ys), y1 = Math.max(...ys), m = 2 + 0.08 * (x1 - x0 + y1 - y0);
    return [Math.max(0, x0 - m), Math.max(0, y0 - m), Math.min(this.w, x1 + m), Math.min(this.h, y1 + m)];
  }
}

/** Heads at the very same place, as in a rig without places, side by side. */
function apart(heads) {
  const same = new Map();
  for (const h of heads) {
    const key = h.at.join();
    same.set(key, (same.get(key) ?? 0) + 1);
  }
  const seen = new Map();
  return heads.map((h) => {
    const key = h.at.join(), n = same.get(key), i = seen.get(key) ?? 0;
    seen.set(key, i + 1);
    return [h.at[0] + (i - (n - 1) / 2) * Math.min(0.5, 10 / n), h.at[1], h.at[2]];
  });
}

function turned(l, pan, tilt) {
  const p = pan * 270 * rad, t = tilt * 135 * rad, down = l.at[2] > 1.2 ? -1 : 1;
  return [Math.sin(t) * Math.sin(p), Math.sin(t) * Math.cos(p), down * Math.cos(t)];
}

export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const square = (a) => dot(a, a);
const unit = (a) => { const n = Math.sqrt(square(a)) || 1; return [a[0] / n, a[1] / n, a[2] / n]; };
const along = (p, d, t) => [p[0] + t * d[0], p[1] + t * d[1], p[2] + t * d[2]];

/** Two directions across one. */
function across(d) {
  const u = unit(Math.abs(d[2]) < 0.9 ? [-d[1], d[0], 0] : [0, -d[2], d[1]]);
  return [u, [d[1] * u[2] - d[2] * u[1], d[2] * u[0] - d[0] * u[2], d[0] * u[1] - d[1] * u[0]]];
}
