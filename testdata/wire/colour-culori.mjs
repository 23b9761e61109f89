// An independent colour library's answers, for lines of JSON on standard input:
// [r, g, b, r2, g2, b2] in sRGB 0..1. A line of answer is
// {oklch: [L, C, hue], de: ΔE00, mid: [r, g, b] of the colour half way in OKLCh}.
// The first line is all colour names of CSS.
import { createInterface } from 'node:readline';
import { colorsNamed, converter, differenceCiede2000, interpolate } from 'culori';

const oklch = converter('oklch'), rgb = converter('rgb'), de = differenceCiede2000();
console.log(JSON.stringify(colorsNamed));
for await (const line of createInterface({ input: process.stdin })) {
  const [r, g, b, r2, g2, b2] = JSON.parse(line);
  const one = { mode: 'rgb', r, g, b }, two = { mode: 'rgb', r: r2, g: g2, b: b2 };
  const o = oklch(one), mid = rgb(interpolate([one, two], 'oklch')(0.5));
  console.log(JSON.stringify({ oklch: [o.l, o.c, o.h ?? 0], de: de(one, two), mid: [mid.r, mid.g, mid.b] }));
}
