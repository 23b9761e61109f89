// The stage in words: what is lit, where, in what colour and how bright.

const hues = [[14, "red"], [32, "orange"], [50, "amber"], [70, "yellow"], [160, "green"], [200, "cyan"], [250, "blue"], [290, "violet"], [325, "magenta"], [347, "pink"], [361, "red"]];

/** Names a colour of sRGB, 0..255, by its hue and saturation. By eye. */
export function colourName([r, g, b]) {
  const high = Math.max(r, g, b), span = (high - Math.min(r, g, b)) / (high || 1);
  if (high === 0 || span < 0.12) return "white";
  const d = high - Math.min(r, g, b);
  let hue = high === r ? (g - b) / d : high === g ? 2 + (b - r) / d : 4 + (r - g) / d;
  hue = (hue * 60 + 360) % 360;
  if (span < 0.51) {
    if (hue >= 15 && hue < 65) return "warm white";
    if (hue >= 170 && hue < 270) return "cool white";
    if (hue >= 300 || hue < 15) return "pink";
  }
  return hues.find(([below]) => hue < below)[1];
}

/** Every head once: the smallest groups that hold it, then those that no group holds. */
export function parts(show) {
  const said = new Set(), list = [];
  for (const g of [...show.groups].sort((a, b) => a.heads.length - b.heads.length)) {
    const heads = g.heads.filter((i) => !said.has(i));
    if (!heads.length || heads.length < g.heads.length) continue;
    heads.forEach((i) => said.add(i));
    list.push({ name: g.name, heads });
  }
  show.heads.forEach((h, i) => { if (!said.has(i)) list.push({ name: h.name, heads: [i] }); });
  const deep = (p) => p.heads.reduce((sum, i) => sum + show.heads[i].at[1], 0) / p.heads.length;
  return list.sort((a, b) => deep(a) - deep(b));
}

/** "The stage: front truss warm white 65 %; back truss blue 40 to 85 %. Dark: left truss." */
export function stageWords(show, parts, shown) {
  const lit = [], dark = [];
  for (const p of parts) {
    const states = p.heads.map((i) => ({ ...shown(i), kind: show.heads[i].kind }));
    const haze = states.filter((s) => s.kind === "haze");
    if (haze.length) {
      const most = Math.max(...haze.map((s) => s.other)) / 255;
      (most > 0 ? lit : dark).push(most > 0 ? `${p.name} ${percent(most)} % haze` : p.name);
      continue;
    }
    const levels = states.map((s) => percent(s.v)), low = Math.min(...levels), high = Math.max(...levels);
    if (high === 0) { dark.push(p.name); continue; }
    const colours = [...new Set(states.filter((s) => s.v > 0).map((s) => colourName(s.c)))];
    lit.push(`${p.name} ${colours.length > 3 ? "many colours" : colours.join(" and ")} ${high - low > 10 ? `${low} to ${high}` : high} %`);
  }
  if (!lit.length) return "The stage is dark.";
  return `The stage: ${lit.join("; ")}.${dark.length ? ` Dark: ${dark.join(", ")}.` : ""}`;
}

/** Rounds, but calls only darkness 0 and only full 100. */
export const percent = (v) => (v <= 0 ? 0 : v >= 1 ? 100 : Math.max(1, Math.min(99, Math.round(v * 100))));
