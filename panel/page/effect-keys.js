// What an effect may have: a row for each key of the show language, with its words, unit,
// range, and when it counts. Ranges are those of the language; a test compares them.

const waves = ["sine", "triangle", "ramp", "fall", "square", "half-sine", "gaussian", "decay", "noise", "steps"];
const parameters = ["intensity", "colour", "red", "green", "blue", "uv", "pan", "tilt", "haze", "fan"];
const paths = ["as-listed", "left-right", "right-left", "front-back", "back-front", "centre-out", "ends-in", "around", "alternate", "scatter"];
const blends = ["scale", "add", "replace", "highest", "swing"];

const lengths = ["1/4 beat", "1/2 beat", "1 beat", "2 beats", "3 beats", "4 beats", "1 bar", "2 bars", "3 bars", "4 bars", "6 bars", "8 bars", "16 bars"];
const spreads = ["even", "0 cycles", "1/8 cycle", "1/4 cycle", "1/3 cycle", "1/2 cycle", "2/3 cycle", "3/4 cycle", "1 cycle", "2 cycles", "4 cycles"];

const colour = (k) => k.moves === "colour", scatters = (k) => k.wave === "noise" || k.path === "scatter";
const bends = (k) => !["square", "noise", "steps"].includes(k.wave), hasDuty = (k) => ["square", "noise"].includes(k.wave);

/** kind says which control a key has; usual is its value where it is not written. */
export const keys = [
  { key: "on", name: "Heads", kind: "targets", says: "Groups and fixtures, at least one. The path as-listed takes them in this order." },
  { key: "wave", name: "Wave", kind: "choice", options: waves },
  { key: "moves", name: "Moves", kind: "choice", options: parameters, says: "What the wave changes." },
  { key: "period", name: "Period", kind: "choice", options: lengths, says: "Beats or bars, up to 319 quarter notes." },
  { key: "pulses", name: "Pulses", kind: "whole", range: [1, 64], usual: 1, says: "Times in a period, 1 to 64." },
  { key: "path", name: "Path", kind: "choice", options: paths, none: "as usual", says: "The order in which the wave reaches the heads." },
  { key: "spread", name: "Spread", kind: "choice", options: spreads, none: "as usual", says: "How far the last head is behind the first: 0 to 99 cycles, or even. As usual: even along a path, else all together." },
  { key: "depth", name: "Depth", kind: "share", usual: 100, says: "How strongly it acts, 0 to 100 %." },
  { key: "blend", name: "Blend", kind: "choice", options: blends, none: "as usual", says: "scale lowers the look, add puts light on top, replace takes its place, highest keeps the brighter, swing goes to both sides." },
  { key: "from", name: "Colour at the bottom", kind: "colour", when: colour, usual: "main" },
  { key: "to", name: "Colour at the top", kind: "colour", when: colour, usual: "second" },
  { key: "low", name: "Low", kind: "share", usual: 0, says: "The wave's bottom, 0 to 100 %." },
  { key: "high", name: "High", kind: "share", usual: 100, says: "The wave's top, 0 to 100 %." },
  { key: "duty", name: "Duty", kind: "share", usual: 50, when: hasDuty, says: "Part of a cycle that is high, or of the cells that light, 0 to 100 %." },
  { key: "skew", name: "Skew", kind: "share", least: 1, most: 99, usual: 50, when: bends, says: "Where in the cycle its middle is, 1 to 99 %." },
  { key: "seed", name: "Seed", kind: "whole", range: [0, 4294967295], usual: 1, when: scatters, says: "Another number gives another noise or scatter: 0 to 4294967295." },
  { key: "cells", name: "Cells", kind: "whole", range: [1, 1024], usual: 16, when: (k) => k.wave === "noise", says: "Cells in a cycle, 1 to 1024." },
  { key: "levels", name: "Levels", kind: "levels", when: (k) => k.wave === "steps", says: "1 to 64 levels of the same length, each 0 to 100 %." },
];

/** A share such as "40 %" as a number. */
export const percentOf = (text, usual) => (text === undefined ? usual : Number.parseFloat(text));

const firstLevels = ["100 %", "60 %", "80 %", "30 %"];

/** The edits that set a key, with those of keys that come or go with it. */
export function editsTo(effect, key, to) {
  const set = (k, v) => ({ do: "set effect", effect: effect.name, key: k, to: v }), list = [set(key, to)];
  const drop = (...names) => { for (const k of names) if (k in effect.keys) list.push(set(k, null)); };
  if (key === "wave") {
    const after = { ...effect.keys, wave: to };
    if (to === "steps" && !("levels" in effect.keys)) list.push(set("levels", firstLevels));
    for (const k of ["duty", "skew", "cells", "levels"]) if (!keys.find((row) => row.key === k).when(after)) drop(k);
  }
  if (key === "moves" && to === "colour") {
    drop("blend");
    for (const k of ["from", "to"]) if (!(k in effect.keys)) list.push(set(k, keys.find((row) => row.key === k).usual));
  } else if (key === "moves") {
    drop("from", "to");
    if (effect.keys.moves === "colour" || effect.keys.blend === "swing" || to === "pan" || to === "tilt") drop("blend");
  }
  return list;
}

/** The length of a period of some beats, as files write it: in bars where it is whole ones,
 *  whatever a drag has passed on its way. bar is in beats. */
export function lengthOf(beats, bar) {
  const bars = beats / bar, words = (n, one) => `${n} ${n === "1" || n.startsWith("1/") ? one : one + "s"}`;
  if (Number.isInteger(bars)) return words(String(bars), "bar");
  if (Number.isInteger(beats)) return words(String(beats), "beat");
  const parts = [2, 4, 8].find((n) => Number.isInteger(beats * n)) ?? 8;
  return words(`${Math.max(1, Math.round(beats * parts))}/${parts}`, "beat");
}

/** The lengths that a period may be dragged to, in beats: finer where they are short. */
export function stops(bar, most) {
  const list = [0.25, 0.5, 0.75, 1, 1.5, 2];
  for (let b = 3; b <= 2 * bar; b++) list.push(b);
  for (let b = 3 * bar; b <= most; b += bar) list.push(b);
  return list.filter((b) => b <= most);
}
