// Colours of the page: an accent from the song's own palette, and a dim mode.

const root = document.documentElement;

/** A colour of the page, for canvases. */
export const ink = (name) => getComputedStyle(root).getPropertyValue("--" + name).trim();

/** Relative luminance (WCAG 2.2). */
function luminance(rgb) {
  const [r, g, b] = rgb.map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** The colour as near to the palette's as can be read on the page's ground and does
 *  not glare: luminance from least to most. */
function readable(hex, least, most) {
  let rgb = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
  for (let i = 0; i < 40 && luminance(rgb) < least; i++) rgb = rgb.map((v) => v + (255 - v) * 0.08);
  for (let i = 0; i < 40 && luminance(rgb) > most; i++) rgb = rgb.map((v) => v * 0.94);
  return `rgb(${rgb.map(Math.round).join(" ")})`;
}

let palette = null;

/** The song's palette, or null between songs. */
export function accentFrom(colours) {
  palette = colours;
  const dim = root.classList.contains("dim");
  if (palette) root.style.setProperty("--accent", readable(palette[2], dim ? 0.22 : 0.3, dim ? 0.26 : 0.48));
  else root.style.removeProperty("--accent");
}

/** Makes the page dim for front-of-house, or bright again; kept in this browser. */
export function dimmed(on) {
  if (on !== undefined) {
    root.classList.toggle("dim", on);
    try { localStorage.setItem("dim", on ? "1" : ""); } catch { /* not allowed here: it lasts as long as the page */ }
    accentFrom(palette);
  }
  return root.classList.contains("dim");
}

try { if (localStorage.getItem("dim")) root.classList.add("dim"); } catch { /* likewise */ }
