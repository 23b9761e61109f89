// Where a look is used, in words.

/** Lines such as "Lanterns on the Pier: pre-chorus, bridge". */
export function usesInWords(model, used) {
  const songs = new Map(), sets = [], ladder = [];
  for (const u of used) {
    if (u.song) {
      const song = model.songs.find((s) => s.file === u.song), name = song?.name ?? u.song;
      if (!songs.has(name)) songs.set(name, new Set());
      const place = u.section !== undefined ? song?.sections[u.section]?.name : u.cue !== undefined ? `the cue at ${song?.cues[u.cue]?.at}` : "after the end";
      songs.get(name).add(place);
    }
    if (u.set) sets.push(model.sets.find((s) => s.file === u.set)?.name ?? u.set);
    if (u.rung !== undefined) ladder.push(`energy ${model.ladder[u.rung]?.energy}`);
    if (u.moment) ladder.push(u.moment);
  }
  const lines = [...songs].map(([name, places]) => `${name}: ${[...places].join(", ")}`);
  if (sets.length) lines.push(`Between songs, in the set ${[...new Set(sets)].join(", ")}`);
  if (ladder.length) lines.push(`Ladder, from which songs are drafted: ${ladder.join(", ")}`);
  return lines;
}
