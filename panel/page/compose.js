// Compose: the page where a show is changed. It holds the model that the program sends,
// sends edits one at a time, and says in words what is saved and what is not.

import { compose, Refusal } from "./api.js";
import { ComposeColours } from "./compose-colours.js";
import { ComposeEffects } from "./compose-effects.js";
import { ComposeLooks } from "./compose-looks.js";
import { ComposeRig } from "./compose-rig.js";
import { ComposeScore } from "./compose-score.js";
import { SongColours } from "./song-colours.js";
import { ComposeCue } from "./compose-cue.js";
import { ComposeDraft } from "./compose-draft.js";
import { ComposeFound } from "./compose-found.js";
import { ComposeSection } from "./compose-section.js";
import { ComposeSet } from "./compose-set.js";
import { Marking } from "./marking.js";
import { quartersPerBeat, write } from "./now.js";
import { sure } from "./press.js";

export class Compose {
  /** tell(error) shows why something was not done; said(words) is read aloud; play(name, beat)
   *  plays a song from a beat, or stops it, where the player may be steered; stage is the
   *  picture of the stage. */
  constructor(find, tell, said, play, stage) {
    Object.assign(this, { find, tell, said, play, stage, model: null, song: 0, section: 0, busy: false, waiting: [] });
    this.score = new ComposeScore(find, {
      choose: (i) => this.choose(i),
      energy: (i, energy, gesture) => this.edit({ do: "set energy", song: this.file, section: i, energy }, gesture),
      end: (i, bars, gesture) => this.edit({ do: "move boundary", song: this.file, section: i, bars }, gesture),
      cue: (i, beat, gesture) => this.edit({ do: "move cue", song: this.file, cue: i, at: placeOf(this.model.songs[this.song], beat) }, gesture),
      cueChosen: (i) => this.cues.choose(i),
      cueRemoved: (i) => this.cues.remove(i),
      newCue: (beat) => this.cues.put(this.cues.nearest(beat)),
      touched: (beat) => this.cues.touched(beat),
    });
    const ofSong = (edit, gesture) => this.edit({ song: this.file, ...edit }, gesture);
    this.cues = new ComposeCue(find, { edit: ofSong, place: (beat) => placeOf(this.model.songs[this.song], beat), chosen: (i) => this.score.chooseCue(i) }, said);
    this.drafting = new ComposeDraft(find, (edit) => this.edit(edit), (draft, sections) => this.score.drafted(draft, sections), said);
    this.found = new ComposeFound(find, {
      take: (edits) => this.send(edits),
      accept: (f, section, because) => ofSong({ do: "accept finding", finding: f.finding, ...section ? { in: section } : {}, because }),
    }, (list) => this.score.marks(list));
    this.colours = new SongColours(find, ofSong);
    this.details = new ComposeSection(find, {
      edit: ofSong,
      choose: (i) => this.choose(i),
    });
    this.marking = new Marking(find, (edits) => this.send(edits), said);
    // The rooms: what is composed. Of one that is shown, open(model, song) is called whenever
    // the model or the song has changed; leave(), where it has one, when another is entered.
    this.rooms = {
      song: this,
      looks: new ComposeLooks(find, this),
      effects: new ComposeEffects(find, this),
      colours: new ComposeColours(find, this),
      rig: new ComposeRig(find, { edit: (edit, gesture) => this.edit(edit, gesture), send: (edits, gesture) => this.send(edits, gesture), ask: (request) => this.ask(request), state: () => this.model.state, said }),
      set: new ComposeSet(find, {
        send: (edits, gesture) => this.send(edits, gesture), said, tell,
        show: (file) => { this.song = this.model.songs.findIndex((s) => s.file === file); this.section = 0; location.hash = "#compose/song"; this.draw(); this.measure(); },
      }),
    };
    this.room = "song";
    find("mark-play").addEventListener("click", () => {
      const song = this.model?.songs[this.song];
      if (song) this.play(song.name, song.sections[this.section]?.start ?? 0);
    });
    find("compose-song").addEventListener("change", (e) => { this.song = e.target.selectedIndex; this.section = 0; this.draw(); this.measure(); });
    for (const word of ["undo", "redo", "save", "reread"]) find("compose-" + word).addEventListener("click", () => this.act(word));
    sure(find("compose-discard"), () => this.act("discard"), { doubt: (waits) => { find("compose-discard").textContent = waits ? "Discard: tap again" : "Discard"; } });
  }

  get file() { return this.model?.songs[this.song]?.file; }

  /** Enters a room; one that does not exist is the song's. */
  enter(name) {
    const room = Object.hasOwn(this.rooms, name) ? name : "song";
    if (room !== this.room) this.rooms[this.room].leave?.();
    this.room = room;
    this.shown = true;
    for (const n of Object.keys(this.rooms)) this.find("room-" + n).hidden = n !== room;
    for (const a of document.querySelectorAll("#rooms a")) {
      if (a.hash === "#compose/" + room) a.setAttribute("aria-current", "page");
      else a.removeAttribute("aria-current");
    }
    if (!this.model) return;
    this.rooms[room].open(this.model, this.model.songs[this.song]);
    this.measure();
  }

  /** Another view is shown. */
  away() { this.shown = false; this.rooms[this.room].leave?.(); }

  /** The view opens, or somebody has changed something: fetches what it does not have. */
  async look(tag) {
    this.heard = tag ?? this.heard;
    if (!this.seen && tag !== undefined) return;
    this.seen = true;
    if (this.model && tag !== undefined && tag === this.model.state.tag || this.busy) return;
    try {
      this.take(await compose.get());
    } catch (e) {
      if (!(e instanceof Refusal) || e.status !== 403) { this.tell(e); return; }
      this.find("compose-set").hidden = true;
      write(this.find("compose-state"), e.message);
    }
  }

  /** The page's own song is shown first. */
  follow(name) {
    const i = this.model ? this.model.songs.findIndex((s) => s.name === name) : -1;
    if (i >= 0) this.song = i;
  }

  take(model) {
    const before = this.model;
    this.model = model;
    if (!before && model.rig.undecided && location.hash === "#compose") location.hash = "#compose/rig"; // what hangs there comes first
    this.song = Math.min(this.song, Math.max(0, model.songs.length - 1));
    this.draw();
    if (before && before.state.saves !== model.state.saves) this.refused(""); // what stood in the way is taken in
    if (!before || before.state.tag !== model.state.tag) this.measure();
  }

  /** What is no longer as before, of an answer to a change. */
  merge({ state, changed }) {
    const { songs = [], files, ...rest } = changed, model = { ...this.model, ...rest, state };
    if (songs.length || files) {
      const byFile = new Map([...model.songs, ...songs].map((s) => [s.file, s]));
      model.songs = (files ?? model.songs.map((s) => s.file)).map((f) => byFile.get(f));
    }
    this.take(model);
  }

  choose(i) {
    this.section = i;
    this.draw();
  }

  /** One edit of a gesture, such as a step of a drag: all of a gesture are undone as one. */
  edit(edit, gesture = "") { return this.send([edit], gesture); }

  /** Sends edits. Of edits of one gesture that have to wait, the newest is enough. */
  send(edits, gesture = "") {
    if (gesture && this.waiting.at(-1)?.gesture === gesture) this.waiting.pop();
    return this.next({ edits, gesture });
  }

  /** Asks for one of the words that change something besides edits. */
  act(word) { return this.next({ word, gesture: "" }); }

  /** Asks for a change that is no edit: request(tag) resolves to what it changed, or null. */
  ask(request) { return this.next({ request, gesture: "" }); }

  /** Asks for changes in their order, one request at a time. */
  async next(change) {
    this.waiting.push(change);
    if (this.busy) return;
    this.busy = true;
    try {
      while (this.waiting.length) {
        const { word, request, edits, gesture } = this.waiting.shift(), tag = this.model.state.tag;
        try {
          const amend = gesture !== "" && gesture === this.gesture;
          const made = await (request ? request(tag) : word ? compose.act(word, tag) : compose.edit(tag, edits, amend));
          if (made) this.merge(made);
          this.gesture = gesture;
          this.refused(this.model.state.refused.map((r) => `Not made again: ${r.words}. ${r.why}`).join(" "));
          if (word) this.said(word === "save" ? "Saved" : this.find("compose-state").textContent);
        } catch (e) { await this.failed(e); }
      }
    } finally { this.busy = false; }
    if (this.heard && this.heard !== this.model.state.tag) await this.look(); // what others changed meanwhile
  }

  /** What was refused stays as it was; what another browser or an editor changed is fetched. */
  async failed(e) {
    this.waiting = [];
    this.gesture = "";
    if (!(e instanceof Refusal)) throw e;
    if (e.status === 401) { this.tell(e); return; }
    this.find("compose-reread").hidden = !e.value?.conflicts?.length;
    this.refused(e.status === 412 ? "Somebody else has just changed the show. It is shown as it is now; your last change was not made." : e.message);
    if (e.status !== 0) { try { this.take(await compose.get()); } catch (again) { this.tell(again); } }
  }

  refused(words) {
    const box = this.find("compose-refused");
    if (!words) this.find("compose-reread").hidden = true;
    write(box, words);
    box.hidden = !words;
  }

  /** Light as measured, and what check finds, for the song that is shown: later than the
   *  edit, and dropped when another edit has come. */
  async measure() {
    const file = this.file, tag = this.model?.state.tag;
    clearTimeout(this.measuring);
    if (!file || !this.seen || !this.shown || this.room !== "song" || this.model.state.faults.length) return; // asked again when the room is entered
    this.measuring = setTimeout(async () => {
      let measured;
      try { measured = await compose.measured(file); } catch {
        if (file === this.file && tag === this.model.state.tag) this.measuring = setTimeout(() => this.measure(), 1000);
        return; // another edit asks again by itself
      }
      if (file !== this.file || tag !== this.model.state.tag || this.room !== "song") return;
      this.score.measured(measured);
      this.found.measured(measured);
    }, 60);
  }

  draw() {
    const { find, model } = this, state = model.state, songs = find("compose-song");
    find("compose-set").hidden = false;
    if (songs.length !== model.songs.length || model.songs.some((s, i) => songs.options[i].textContent !== s.name)) {
      songs.replaceChildren(...model.songs.map((s) => new Option(s.name, s.file)));
    }
    songs.selectedIndex = this.song;
    const song = model.songs[this.song];
    this.section = Math.min(this.section, Math.max(0, (song?.sections.length ?? 1) - 1));
    write(find("compose-lamps"), state.lamps.words);
    write(find("compose-state"), state.unsaved.length ? `Not saved: ${state.unsaved.join(", ")}.` : "Everything is saved.");
    for (const word of ["undo", "redo"]) {
      find("compose-" + word).disabled = !state[word];
      find("compose-" + word).title = state[word];
    }
    write(find("compose-notes"), state.notes.join(" "));
    find("compose-notes").hidden = !state.notes.length;
    write(find("compose-last"), state.undo ? `Last change: ${state.undo}` : "");
    for (const word of ["save", "discard"]) find("compose-" + word).disabled = !state.unsaved.length;
    if (this.shown) this.rooms[this.room].open(model, song);
  }

  /** The song's own room. */
  open(model, song) {
    this.score.open(song, this.section);
    this.details.open(model, song, this.section);
    this.marking.open(song, this.file);
    this.cues.open(model, song, this.section);
    this.drafting.open(song, this.section, model.state.tag);
    if (song) this.found.open(song);
    this.colours.open(model, song);
  }

  /** The moment, with the beat carried on since it was made. */
  moment(m, name, beat) {
    const song = this.model?.songs[this.song], here = song && name === song.name;
    this.score.present(here ? beat : null);
    this.marking.present(here ? beat : null, m.playing);
    if (this.room === "song") this.cues.present(here ? beat : null, m.playing);
    this.playing = m.look;
    this.rooms[this.room].present?.(m);
  }
}

/** The place of a beat, in quarter notes, as show files write it. */
export function placeOf(song, beat) {
  const section = song.sections.findLast((s) => s.start <= beat + 1e-3) ?? song.sections[0];
  let bar = song.bars.findLastIndex((b) => b <= beat + 1e-3);
  const inBar = Math.round((beat - song.bars[bar]) / quartersPerBeat(song)) + 1;
  bar -= section.from - 1;
  if (inBar > 1) return `${section.name}, bar ${bar + 1} beat ${inBar}`;
  return bar > 0 ? `${section.name}, bar ${bar + 1}` : section.name;
}
