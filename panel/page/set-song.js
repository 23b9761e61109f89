// A song by itself: its name, tempo and meter, what selects it, and what becomes of it.

import { write } from "./now.js";
import { sure } from "./press.js";
import { fileFor, meters, options, stem } from "./set-form.js";

const characters = ["calm", "driving", "spare", "triumphant", "playful", "stormy", "plain"];

export class SetSong {
  constructor(find, room) {
    Object.assign(this, { find, room });
    options(find("song-meter"), meters.map((m) => [m, m]), "4/4");
    find("song-name").addEventListener("change", (e) => {
      if (e.target.value.trim()) this.send({ do: "rename song", to: e.target.value.trim() });
      else e.target.value = this.song.name;
    });
    this.sets("song-tempo", "tempo", (v) => `${v} bpm`);
    this.sets("song-meter", "meter", (v) => v);
    this.sets("song-character", "character", (v) => v || null);
    this.sets("song-after", "after the end", (v) => v || null);
    this.sets("song-program", "program", (v) => (v ? Number(v) : null));
    find("song-in").addEventListener("click", () => (this.place >= 0 ? room.takeOut(this.song.file) : room.putIn(this.song.file)));
    find("song-earlier").addEventListener("click", () => room.order.move(this.song.file, this.place - 1));
    find("song-later").addEventListener("click", () => room.order.move(this.song.file, this.place + 1));
    find("song-open").addEventListener("click", () => room.does.show(this.song.file));
    find("song-copy").addEventListener("click", () => this.copy());
    sure(find("song-remove"), () => this.remove(), {
      tap: () => { room.does.said(`${this.used()} Tap again to remove ${this.song.name}.`); return true; },
      doubt: (waits) => write(find("song-remove"), waits ? "Remove from the show: tap again" : "Remove from the show"),
    });
  }

  /** A field that sets a key of the song. What is not a number stays as it was. */
  sets(id, key, value) {
    const field = this.find(id);
    field.addEventListener("change", () => {
      if (!field.checkValidity() || field.type === "number" && key === "tempo" && !field.value) { field.reportValidity(); this.open(this.song); return; }
      this.send({ do: "set song", key, to: value(field.value) });
    });
  }

  send(edit) { this.room.does.send([{ song: this.song.file, ...edit }]); }

  open(song) {
    const { find, room } = this;
    this.song = song;
    find("set-song").hidden = !song;
    if (!song) return;
    this.place = room.songsOf(room.at).indexOf(song);
    write(find("set-song-title"), `The song ${song.name}`);
    for (const [id, value] of [["song-name", song.name], ["song-tempo", song.tempo], ["song-program", song.program || ""]]) {
      if (document.activeElement !== find(id) || find(id).dataset.of !== song.file) { find(id).value = value; find(id).dataset.of = song.file; }
    }
    options(find("song-meter"), [...new Set([...meters, song.meter])].map((m) => [m, m]), song.meter);
    const character = (song.character ?? []).join(", ");
    options(find("song-character"), [["as drafts infer it", ""], ...new Set([...characters, character].filter(Boolean))].map((c) => (Array.isArray(c) ? c : [c, c])), character);
    options(find("song-after"), [["the light stays", ""], ...room.model.looks.map((l) => [l.name, l.name])], song.afterEnd);
    write(find("song-used"), this.used());
    write(find("song-in"), this.place >= 0 ? "Take out of the set" : "Add to the set");
    find("song-earlier").disabled = this.place <= 0;
    find("song-later").disabled = this.place < 0 || this.place === room.at.songs.length - 1;
  }

  get users() { return this.room.model.sets.filter((s) => this.room.songsOf(s).includes(this.song)); }

  /** Where the song is used, in words. */
  used() {
    const names = this.users.map((s) => s.name);
    if (!names.length) return "It is in no set.";
    return `It is in the ${names.length === 1 ? "set" : "sets"} ${names.join(", ")}. Removing it takes it out there, too.`;
  }

  copy() {
    const { room, song } = this, names = room.model.songs.map((s) => s.name);
    let name = `${song.name}, copy`;
    for (let n = 2; names.includes(name); n++) name = `${song.name}, copy ${n}`;
    const to = fileFor("songs", `${stem(song.file)} copy`, room.model.songs);
    room.add([{ do: "copy song", song: song.file, to, name }], to, () => {
      room.file = to;
      room.find("set-others-box").open = true;
      room.does.said(`${name} is shown. It is in no set yet.`);
      setTimeout(() => { room.find("song-name").focus(); room.find("song-name").select(); });
    });
  }

  remove() {
    const { room, song } = this, only = this.users.find((s) => room.songsOf(s).length === 1);
    if (only) { room.does.tell(new Error(`${song.name} is the only song of the set ${only.name}: add another there first, or remove the set.`)); return; }
    const orders = this.users.map((s) => room.orderOf(s, room.songsOf(s).filter((x) => x !== song).map((x) => x.file)));
    room.does.send([...orders, { do: "remove song", song: song.file }]);
    room.does.said(`${song.name} is removed. Undo brings it back.`);
    room.find("song-new-open").focus({ preventScroll: true });
  }
}
