// Marking a song while it plays: one press says that a new section begins here. It lands
// on the nearest bar.

import { write } from "./now.js";

/** Names of sections that are offered. */
export const kinds = ["intro", "verse", "pre-chorus", "chorus", "bridge", "breakdown", "instrumental", "outro", "tag", "turnaround"];

export class Marking {
  /** send(edits) makes them; said(words) is read aloud. */
  constructor(find, send, said) {
    Object.assign(this, { find, send, said, beat: null, energy: 5 });
    find("mark-here").addEventListener("click", () => this.mark());
    find("mark-kind").replaceChildren(...kinds.map((k) => new Option(k, k)));
    find("mark-kind").value = "verse";
    find("mark-energy").addEventListener("input", (e) => { this.energy = Number(e.target.value); write(find("mark-energy-says"), String(this.energy)); });
  }

  open(song, file) { this.song = song; this.file = file; }

  present(beat, playing) {
    this.beat = beat;
    write(this.find("mark-play"), beat !== null && playing ? "Stop" : "Play from the section");
    const can = beat !== null && playing && this.song?.sections.length > 0;
    this.find("mark-here").disabled = !can;
    write(this.find("mark-says"), can ? this.words(this.where()) : beat === null ? "To mark this song, play it: with the button, or from the DAW." : "Waiting for the music.");
  }

  /** The bar nearest to the music, as a section and the number of bars before it in there. */
  where() {
    const s = this.song;
    let bar = 0;
    for (let i = 1; i < s.bars.length; i++) if (Math.abs(s.bars[i] - this.beat) < Math.abs(s.bars[bar] - this.beat)) bar = i;
    const section = Math.max(0, s.sections.findLastIndex((x) => x.from - 1 <= bar));
    return { bar, section, within: bar - (s.sections[section].from - 1) };
  }

  words({ bar, section }) { return `Bar ${bar + 1}, in ${this.song.sections[section].name}`; }

  /** A new section begins at the nearest bar; where one begins already, it gets the name
   *  and the energy. */
  mark(energy = this.energy) {
    if (this.find("mark-here").disabled) return;
    const { bar, section, within } = this.where(), name = this.find("mark-kind").value, edits = [];
    const i = within > 0 ? section + 1 : section;
    if (within > 0) edits.push({ do: "split section", song: this.file, section, bars: within });
    if (this.song.sections[section].kind !== name) edits.push({ do: "rename section", song: this.file, section: i, name });
    edits.push({ do: "set energy", song: this.file, section: i, energy });
    this.send(edits);
    this.said(`${name} begins at bar ${bar + 1}, energy ${energy}`);
  }

  /** A digit, 0 to 9: the energy of the section at the nearest bar, and of the next mark. */
  digit(energy) {
    this.energy = energy;
    this.find("mark-energy").value = energy;
    write(this.find("mark-energy-says"), String(energy));
    if (this.beat === null || !this.song) return;
    this.send([{ do: "set energy", song: this.file, section: this.where().section, energy }]);
  }
}
