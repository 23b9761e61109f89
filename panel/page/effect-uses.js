// Where an effect is used: who names it, and in which sections it plays; and what is to be
// edited so that one song has a copy of its own.

const listed = (names) => names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;

/** The places that name an effect, in words. */
export function places(model, effect) {
  return effect.used.map((u) => {
    const song = model.songs.find((s) => s.file === u.song);
    if (song && u.section !== undefined) return `${song.name}, ${song.sections[u.section]?.name}`;
    if (song && u.cue !== undefined) return `${song.name}, the cue at ${song.cues[u.cue]?.at}`;
    if (u.look) return `the look ${u.look}`;
    if (u.rung !== undefined) return `the ladder at energy ${model.ladder[u.rung]?.energy} (${model.ladder[u.rung]?.look})`;
    if (u.moment) return `the ladder's ${u.moment}`;
    return `the character ${u.character}`;
  });
}

/** The effects that a section or cue brings by itself; null: it leaves them as they are. */
function brings(model, light) {
  if (light.effects) return light.effects.filter((e) => e !== "none");
  return light.look ? model.looks.find((l) => l.name === light.look)?.effects ?? [] : null;
}

/** The parts of a song in which an effect plays, in words. */
export function plays(model, song, name) {
  const sections = song.sections.filter((s) => s.up.effects.includes(name)).map((s) => s.name);
  const cues = song.cues.filter((c) => brings(model, c)?.includes(name)).map((c) => `from ${c.at}`);
  return [...sections, ...cues];
}

/** Where an effect is used, as two lists of words: what names it, and where it plays. */
export function usedWords(model, effect) {
  const playing = model.songs.map((s) => [s.name, plays(model, s, effect.name)]).filter(([, list]) => list.length);
  return { named: places(model, effect), playing: playing.map(([name, list]) => `${name}: ${listed(list)}`) };
}

/** The edits that give a song a copy of an effect under another name; the rest of the show
 *  keeps the first. */
export function copyForSong(model, song, name, copy) {
  const edits = [{ do: "copy effect", effect: name, to: copy }];
  const swap = (light, edit) => {
    const list = brings(model, light);
    if (!list?.includes(name)) return;
    const now = list.map((e) => (e === name ? copy : e));
    edits.push({ ...edit, song: song.file, key: "effects", to: now.length > 1 ? now : now[0] });
  };
  song.sections.forEach((s, section) => swap(s, { do: "set section", section }));
  song.cues.forEach((c, cue) => swap(c, { do: "set cue", cue }));
  return edits;
}

/** A name that no effect has, for a copy. */
export function freeName(model, ...words) {
  const name = words.join(" ").replace(/[^\p{L}\p{N}'’&.()/! +-]+/gu, " ").replace(/\s+/g, " ").trim().slice(0, 58).trim();
  const taken = (n) => model.effects.some((e) => e.name === n);
  let n = 2, free = name;
  while (taken(free)) free = `${name} ${n++}`;
  return free;
}
