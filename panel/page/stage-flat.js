// The heads of a rig one beside the other, as tiles: for rigs without places, and
// for levels as numbers.

import { percent } from "./stage-words.js";

export function tiles(n, w, h) {
  const across = Math.max(1, Math.ceil(Math.sqrt(n * w / Math.max(1, h)))), down = Math.ceil(n / across);
  return { across, wide: w / across, high: h / down, centre: (i) => [(i % across + 0.5) * w / across, (Math.floor(i / across) + 0.5) * h / down] };
}

export function drawTiles(g, heads, shown, marked, w, h) {
  const t = tiles(heads.length, w, h), m = 3, wide = t.wide - 2 * m, high = t.high - 2 * m;
  g.fillStyle = "#050609";
  g.fillRect(0, 0, w, h);
  g.textAlign = "center";
  g.textBaseline = "alphabetic";
  g.font = `${Math.max(12, Math.min(14, t.wide / 7))}px system-ui, sans-serif`;
  heads.forEach((head, i) => {
    const [x, y] = t.centre(i), s = shown(i), left = x - t.wide / 2 + m, top = y - t.high / 2 + m;
    const v = head.kind === "haze" ? s.other / 255 : s.v;
    g.fillStyle = "#161b23";
    g.fillRect(left, top, wide, high);
    g.fillStyle = `rgb(${s.c.join()})`;
    g.fillRect(left, top + high * (1 - v), wide, high * v);
    g.strokeStyle = marked(i) ? "#e5b659" : "#39424f";
    g.lineWidth = marked(i) ? 3 : 1;
    g.strokeRect(left, top, wide, high);
    if (t.high < 26 || t.wide < 40) return;
    g.fillStyle = "#000a";
    g.fillRect(left, y - 10, wide, t.high > 46 ? 35 : 19);
    g.fillStyle = "#eef2f7";
    g.fillText(head.name, x, y + 5, wide - 4);
    if (t.high > 46) g.fillText(`${percent(v)} %`, x, y + 21, wide - 4);
  });
}
