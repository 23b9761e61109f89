// What is, and as large what comes next: names, bars to go, beats.

import { accentFrom } from "./theme.js";

/** In 6/8, 9/8 and 12/8 a beat is a dotted quarter. */
export function quartersPerBeat(song) {
  const [upper, lower] = song.meter.split("/").map(Number);
  return lower >= 8 && upper % 3 === 0 && upper > 3 ? 12 / lower : 4 / lower;
}

const near = 1e-3; // quarter notes

/** The bars of a song that begin from one place up to before another. */
const barsIn = (song, from, to) => song.bars.filter((b) => b > from - near && b < to - near);

/** How far it is along stretches of a song, each [from, to] in quarter notes: bars, or
 *  beats in the last bar. */
export function toGo(song, ...stretches) {
  let bars = 0, quarters = 0;
  for (const [from, to] of stretches) {
    if (to < from + near) continue;
    bars += barsIn(song, from + 2 * near, to).length + 1;
    quarters += to - from;
  }
  if (bars > 1) return `in ${bars} bars`;
  const beats = Math.max(1, Math.ceil(quarters / quartersPerBeat(song) - 0.02));
  return beats === 1 ? "on the next beat" : `in ${beats} beats`;
}

/** A cue in plain words. */
export function cueWords(c) {
  if (c.sends) return "sends a message; the light stays";
  const how = c.fade ? `, over ${c.fade}` : ", at once";
  return `the look “${c.look}”${how}${c.effects.length ? `, with ${c.effects.join(" and ")}` : ""}`;
}

const withEffects = (look, effects) => effects.length ? `${look ? `${look}, with` : "With"} ${effects.join(", ")}` : look;

export const boundary = (when) => when === "section end" ? "the section's end" : `the next ${when}`;

/** Writes large, or smaller what would not fit on a line. */
function writeLarge(e, words) {
  write(e, words);
  e.classList.toggle("long", words.length > 18);
}

export function write(e, words) {
  if (e.textContent !== words) e.textContent = words;
}

export class Now {
  constructor(find) {
    this.find = find;
    this.dots = [];
  }

  open(show) { this.show = show; this.song = this.m = undefined; }

  moment(m) {
    const { find, show } = this, song = m.song >= 0 ? show.songs[m.song] : null;
    if (this.song !== song) { this.song = song; accentFrom(song?.palette ?? null); }
    this.m = m;
    const section = song && m.section >= 0 ? song.sections[m.section] : null;
    this.place = this.placeInSet(m);
    write(find("song"), song ? song.name : "No song");
    write(find("song-of"), this.place >= 0 && song ? `song ${this.place + 1} of ${show.setList.length}` : "");
    writeLarge(find("section"), section ? section.name + (m.pass > 1 ? `, pass ${m.pass}` : "") : this.between(m, song));
    write(find("look"), withEffects(song && m.look ? `Look: ${m.look}` : "", m.effects));
    write(find("place"), song ? m.place : "");
    write(find("tempo"), `${m.bpm.toFixed(1)} BPM${m.playing ? "" : ", stopped"}`);
    write(find("leader"), leader(m));
    write(find("clock-words"), `${m.source}, ${m.sync}; ${m.clock}`);
  }

  /** The song's place in the set, or -1. */
  placeInSet(m) {
    const list = this.show.setList;
    return list[m.setPlace] === m.song || m.song < 0 ? m.setPlace : list.indexOf(m.song);
  }

  between(m, song) {
    if (!song) return m.look ? `Look: ${m.look}` : "Dark";
    if (m.beat >= song.length - near) return "The song has ended";
    return m.playing ? "Before the song" : "Waiting for the song to start";
  }

  /** The picture in between; beat is carried on since the moment. */
  draw(beat) {
    const m = this.m, song = this.song;
    if (!m) return;
    const { find } = this, section = song && m.section >= 0 ? song.sections[m.section] : null;
    const next = this.next(m, song, section, beat);
    writeLarge(find("next-name"), next.name);
    write(find("next-in"), next.when);
    write(find("next"), next.words);
    write(find("next-song"), next.song);
    find("next-box").classList.toggle("armed", next.armed);
    find("next-mark").hidden = !next.armed;
    if (!section) { write(find("bar-of"), ""); this.beats(0, -1); return; }
    const bars = barsIn(song, section.start, section.start + section.length);
    let i = bars.length - 1;
    while (i > 0 && bars[i] > beat + near) i--;
    const unit = quartersPerBeat(song), end = bars[i + 1] ?? section.start + section.length;
    write(find("bar-of"), `bar ${i + 1} of ${bars.length}`);
    this.beats(Math.max(1, Math.round((end - bars[i]) / unit)), m.playing ? Math.floor((beat - bars[i]) / unit + near) : -1);
  }

  /** A square for the downbeat, a round dot for each other beat; the present is full. */
  beats(count, now) {
    if (count !== this.dots.length) {
      this.dots = Array.from({ length: count }, (_, i) => {
        const dot = document.createElement("span");
        if (i === 0) dot.className = "downbeat";
        return dot;
      });
      this.find("beats").replaceChildren(...this.dots);
    }
    this.dots.forEach((dot, i) => dot.classList.toggle("on", i === now));
  }

  /** What comes, when, and who brings it. */
  next(m, song, section, beat) {
    const { show, place } = this, following = show.songs[show.setList[place + 1]];
    const then = following ? `Then song ${place + 2} of ${show.setList.length}: ${following.name}` : show.setList.length ? "The last song of the set" : "";
    const coming = m.songWaits ? show.songs[m.armedSong] : following;
    const byProgram = (name) => name === coming.name ? "◆ By a program change" : `◆ Then, by a program change: ${coming.name}`;
    const answer = (name, when, words, armed = false) => ({ name, when, words, armed, song: m.songWaits ? byProgram(name) : name === following?.name ? "" : then });
    if (m.armedSong >= 0 && !m.songWaits) return answer(show.songs[m.armedSong].name, "on its downbeat", "The song is chosen.", true);
    if (m.armed >= 0 && song) {
      const by = m.armedByHand ? "by hand" : "by the plan's note";
      return answer(song.sections[m.armed].name, toGo(song, [beat, m.beat + m.armedIn]), `Armed: ${song.sections[m.armed].name}, ${by}, at ${m.armedPlace}${m.armedByHand ? ". It goes before the plan's notes" : ""}.`, true);
    }
    if (!song) return answer(coming?.name ?? "—", "", "The light stays until a song is chosen.");
    if (!section) {
      if (m.beat < song.length - near) return answer(song.sections[0]?.name ?? "—", m.playing && beat < 0 ? toGo(song, [beat, 0]) : "", m.playing ? "" : "When the song starts.");
      return answer(coming?.name ?? "—", "", coming ? "When it is chosen; until then the light stays." : "The light stays.");
    }
    const end = section.start + section.length, after = song.sections[m.section + 1], when = toGo(song, [beat, end]);
    if (section.loop) return answer(section.name, when, `Loops until another section is entered${after ? `; planned: ${after.name}` : ""}.`);
    if (!after) return answer(coming?.name ?? "—", when, `${section.name} is the last section of the song.`);
    return answer(after.name, when, `As planned${after.note >= 0 ? ", or by the DAW's note" : ""}.`);
  }
}

/** Who leads the tempo, in plain words. */
function leader(m) {
  if (m.source === "tap") return "tempo tapped by hand";
  if (m.source !== "midi") return "internal tempo";
  return { locked: "follows the DAW", holdover: "the DAW's clock has stopped: the last tempo continues" }[m.sync] ?? "finding the DAW's tempo";
}
