// How light falls: the one set of formulas that both painters use. The
// stage-gl.js shader has the same in GLSL.
//
//   surface  albedo * spot(angle) * cosine / distance^2: pools on floor and wall
//   haze     of a beam, where the eye's ray passes nearest to its axis, before the
//            surface that the ray ends on: beams end where they meet floor or wall
//
// All light is linear and adds up; the sum is clipped softly by its largest part,
// which keeps hue (keepHue).

import { hallFloor } from "./stage-space.js";

/** Surfaces are dark, so that light and not paint is seen. By eye. */
export const paint = { floor: 0.34, wall: 0.2, hall: 0.1, skirt: 0.05, beam: 0.17 };

/** How much haze a hazer's output 0..1 hangs in the air: a little goes far. By eye. */
export const haziness = (output) => 1 - Math.exp(-6 * output);

/** Rigs of many heads are seen less bright a head, or all would be white. */
export const gain = (heads) => 1 / Math.sqrt(Math.max(1, heads / 24));

/** The eye's ray through a place of the canvas, and the surface where it ends:
 *  direction, distance, normal and albedo. */
export function surface(space, px, py) {
  const d = [(px - space.cx) / space.f, 1, (space.cy - py) / space.f], n = Math.hypot(...d);
  const [ex, ey, ez] = space.eye;
  let t = space.back - ey, kind = "wall", normal = [0, -1, 0];
  if (d[2] < 0) {
    const floor = -ez / d[2], skirt = space.front - ey;
    if (floor < t) {
      normal = [0, 0, 1];
      kind = "floor";
      t = floor;
      if (floor < skirt) {
        kind = "hall";
        t = (hallFloor - ez) / d[2];
        if (t > skirt) { t = skirt; kind = "skirt"; normal = [0, -1, 0]; }
      }
    }
  }
  const x = ex + t * d[0];
  let albedo = paint[kind];
  if (kind === "wall") albedo *= 0.8 + 0.2 * Math.sin(9 * x + 1.7 * Math.sin(2.3 * x)); // folds of the curtain
  albedo *= 1 - step(space.half + 0.6, space.half + 1.6, Math.abs(x - space.middle)) * 0.85; // black legs at the sides
  return { d: [d[0] / n, d[1] / n, d[2] / n], t: t * n, normal, albedo };
}

/** What a lamp at full adds on a surface, and in haze of 1. */
export function falls(space, l, s) {
  const [ex, ey, ez] = space.eye, [hx, hy, hz] = l.at, [ax, ay, az] = l.aim, d = s.d;
  const x = ex + s.t * d[0] - hx, y = ey + s.t * d[1] - hy, z = ez + s.t * d[2] - hz, far2 = x * x + y * y + z * z, far = Math.sqrt(far2);
  const spot = step(l.cos, 1 + (l.cos - 1) * 0.12, (x * ax + y * ay + z * az) / far);
  const cosine = Math.max(0, -(x * s.normal[0] + y * s.normal[1] + z * s.normal[2]) / far);
  const pool = s.albedo * spot * cosine * Math.min(4, l.throw2 / far2);

  const wx = ex - hx, wy = ey - hy, wz = ez - hz;
  const b = d[0] * ax + d[1] * ay + d[2] * az, e = wx * ax + wy * ay + wz * az, w = d[0] * wx + d[1] * wy + d[2] * wz;
  const t = Math.max(0, Math.min(s.t, (b * e - w) / Math.max(0.02, 1 - b * b))), a = e + b * t;
  if (a <= 0) return [pool, 0];
  const rx = wx + t * d[0] - a * ax, ry = wy + t * d[1] - a * ay, rz = wz + t * d[2] - a * az;
  const wide = a * l.tan + 0.08, q = 1 - (rx * rx + ry * ry + rz * rz) / (wide * wide);
  return [pool, q <= 0 ? 0 : q * q * paint.beam * l.seen / (a * l.tan + 0.12)];
}

/** What a lamp at full adds at a place in the air, facing it. */
export function reaches(l, p) {
  const x = p[0] - l.at[0], y = p[1] - l.at[1], z = p[2] - l.at[2], far2 = x * x + y * y + z * z;
  return step(l.cos, 1 + (l.cos - 1) * 0.12, (x * l.aim[0] + y * l.aim[1] + z * l.aim[2]) / Math.sqrt(far2)) * Math.min(4, l.throw2 / far2);
}

export const knee = 0.55;

/** By what to multiply a colour, by its largest part, so that it stays below 1. */
export const keepHue = (top) => (top <= knee ? 1 : (knee + (1 - knee) * (1 - Math.exp((knee - top) / (1 - knee)))) / top);

export function step(a, b, x) {
  const t = Math.max(0, Math.min(1, (x - a) / (b - a)));
  return t * t * (3 - 2 * t);
}

/** sRGB of linear light and back, 0..1 and 0..255 (IEC 61966-2-1). */
export const encode = (l) => Math.round(255 * (l <= 0.0031308 ? 12.92 * Math.max(0, l) : 1.055 * Math.min(1, l) ** (1 / 2.4) - 0.055));
export const linear = Float32Array.from({ length: 256 }, (_, i) => (i / 255 <= 0.04045 ? i / 255 / 12.92 : ((i / 255 + 0.055) / 1.055) ** 2.4));
