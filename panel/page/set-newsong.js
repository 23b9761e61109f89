// A new song, by a few words or from a MIDI file: in the show and in the set as one change.

import { compose, Refusal } from "./api.js";
import { write } from "./now.js";
import { fileFor, meters, opens, options } from "./set-form.js";
import { element, sentence } from "./words.js";

const most = 1 << 20; // octets of a MIDI file

export class NewSong {
  constructor(find, room) {
    Object.assign(this, { find, room });
    options(find("song-new-meter"), meters.map((m) => [m, m]), "4/4");
    opens(find, "song-new-open", "song-new", "song-new-name");
    find("song-new").addEventListener("submit", (e) => { e.preventDefault(); this.add(); });
    find("song-midi").addEventListener("change", (e) => { this.read(e.target.files[0]); });
    const box = find("room-set"), files = (e) => e.dataTransfer?.types.includes("Files");
    for (const kind of ["dragenter", "dragover"]) box.addEventListener(kind, (e) => { if (files(e)) { e.preventDefault(); box.classList.add("drop"); } });
    box.addEventListener("dragleave", (e) => { if (!box.contains(e.relatedTarget)) box.classList.remove("drop"); });
    box.addEventListener("drop", (e) => {
      if (!files(e)) return;
      e.preventDefault();
      box.classList.remove("drop");
      this.read(e.dataTransfer.files[0]);
    });
  }

  add() {
    const { find, room } = this, name = find("song-new-name").value.trim();
    if (!name) return;
    const song = fileFor("songs", name, room.model.songs);
    const edit = { do: "add song", song, name, tempo: `${find("song-new-tempo").value} bpm`, meter: find("song-new-meter").value, sections: find("song-new-sections").value };
    this.put(edit, name);
  }

  /** Adds a song by an edit, and puts it last in the set. */
  put(edit, name) {
    const { find, room } = this;
    room.add(room.withSong(edit, edit.song), edit.song, () => {
      room.file = edit.song;
      find("song-new").hidden = true;
      find("song-new-open").setAttribute("aria-expanded", "false");
      find("song-new-name").value = "";
      find("song-new-open").focus({ preventScroll: true });
      room.does.said(room.at ? `${name} is added, as song ${room.at.songs.length}` : `${name} is added`);
    });
  }

  async read(file) {
    if (!file) return;
    const { find, room } = this, says = find("song-midi-says"), notes = find("song-midi-notes");
    write(says, `Reading ${file.name}…`);
    notes.replaceChildren();
    try {
      if (file.size > most) throw new Refusal(413, `The file has ${Math.ceil(file.size / 1024)} kB, at most ${most / 1024} kB are read here. A MIDI file of one song is far smaller.`);
      const read = await compose.midi(file, file.name.replace(/\.[^.]*$/, ""));
      write(says, `Read ${read.name} from ${file.name}: ${read.sections} ${read.sections === 1 ? "section" : "sections"}, ${read.time}. ` +
        (read.proposed ? "It has no markers: sections, names and energies are proposals. Listen, and change them in the room Song." : "Energies are guesses by the sections' names: change them in the room Song."));
      notes.replaceChildren(...read.notes.map((n) => element("li", `${sentence(n)}.`)));
      this.put({ do: "import song", song: fileFor("songs", read.name, room.model.songs), text: read.text }, read.name);
    } catch (e) {
      if (!(e instanceof Refusal)) throw e;
      write(says, `${file.name}: ${e.message}`);
    } finally { find("song-midi").value = ""; }
  }
}
