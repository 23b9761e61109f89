// The room Set: which songs a night has, in which order, and the looks around them; how its
// energy runs; and its paper.

import { compose, Refusal } from "./api.js";
import { write } from "./now.js";
import { sure } from "./press.js";
import { fileFor, keyed, opens, options, stem } from "./set-form.js";
import { NewSong } from "./set-newsong.js";
import { minutes, SetNight } from "./set-night.js";
import { SetOrder } from "./set-order.js";
import { SetSong } from "./set-song.js";
import { element } from "./words.js";

const moments = [
  ["walk-in", "walkIn", "Walk-in", "before the first song"], ["talk", "talk", "Talk", "while somebody speaks between songs"],
  ["pad", "pad", "Pad", "under music between songs"], ["walk-out", "walkOut", "Walk-out", "after the last song"],
];

export class ComposeSet {
  /** does has send(edits, gesture); said(words), read aloud; tell(error); and show(file),
   *  which opens a song's own room. */
  constructor(find, does) {
    Object.assign(this, { find, does, set: "", file: "", moment: "" });
    this.order = new SetOrder(find("set-songs"), (order, file, to) => this.reorder(order, file, to));
    this.night = new SetNight(find, (file) => this.choose(file));
    this.song = new SetSong(find, this);
    this.newSong = new NewSong(find, this);
    find("set-choose").addEventListener("change", (e) => { this.set = e.target.value; this.draw(); });
    find("set-name").addEventListener("change", (e) => {
      if (e.target.value.trim()) this.does.send([{ do: "rename set", set: this.set, to: e.target.value.trim() }]);
      else e.target.value = this.at.name;
    });
    opens(find, "set-new-open", "set-new", "set-new-name");
    find("set-new").addEventListener("submit", (e) => { e.preventDefault(); this.addSet(); });
    sure(find("set-remove"), () => this.does.send([{ do: "remove set", set: this.set }]), {
      tap: () => this.does.said(`Tap again to remove the set ${this.at.name}. Its songs stay in the show.`),
      doubt: (waits) => write(find("set-remove"), waits ? "Remove this set: tap again" : "Remove this set"),
    });
    find("set-paper-size").addEventListener("change", () => this.drawPapers());
  }

  /** The set that is shown, or nothing where the show has none. */
  get at() { return this.model?.sets.find((s) => s.file === this.set); }

  open(model) {
    const before = this.model, adding = this.adding;
    this.model = model;
    if (adding && [...model.sets, ...model.songs].some((x) => x.file === adding.file)) {
      this.adding = null;
      adding.then();
    }
    if (!before || before.looks !== model.looks || before.effects !== model.effects || before.rig !== model.rig || before.palette !== model.palette) {
      this.version = (this.version ?? 0) + 1; // of pictures
    }
    this.draw();
  }

  leave() {
    clearTimeout(this.measuring);
    this.asked = ""; // and asked again when the room is entered
  }

  /** The song that a set's line means: its name, or its file's. */
  meant(words) { return this.model.songs.find((s) => stem(s.file) === words || s.name === words); }

  /** The songs of the set, in order. Of one that does not exist there is none. */
  songsOf(set) { return set ? set.songs.map((w) => this.meant(w)).filter(Boolean) : []; }

  draw() {
    const { find, model } = this;
    if (!this.at) this.set = (model.sets.find((s) => s.plays) ?? model.sets[0])?.file ?? "";
    const set = this.at, plays = model.sets.find((s) => s.plays);
    options(find("set-choose"), model.sets.map((s) => [s.name, s.file]), this.set);
    if (document.activeElement !== find("set-name")) find("set-name").value = set?.name ?? "";
    find("set-name").disabled = find("set-choose").disabled = find("set-remove").disabled = !set;
    write(find("set-plays"), !set ? "There is no set yet: all songs play, in the order of their files. Add a set to choose."
      : set.plays ? "This is the set that plays." : plays ? `Not the set that plays: that is ${plays.name}, the first by its file's name, or the one that was asked for at the start.` : "");
    this.drawSongs();
    if (!model.songs.some((s) => s.file === this.file)) this.file = "";
    this.song.open(model.songs.find((s) => s.file === this.file));
    this.drawLooks();
    this.drawPapers();
    this.measure();
  }

  /** Lines that stay keep their place in the page, and the focus. */
  drawSongs() {
    const { find } = this, list = find("set-songs"), songs = this.songsOf(this.at);
    const others = this.model.songs.filter((s) => !songs.includes(s));
    if (!this.order.held) {
      keyed(list, songs, (s) => this.line(s, true));
      songs.forEach((s, i) => this.fill(list.children[i], s, i));
    }
    keyed(find("set-others"), others, (s) => this.line(s, false));
    others.forEach((s, i) => this.fill(find("set-others").children[i], s, -1));
    find("set-others-box").hidden = !others.length;
    write(find("set-others-says"), `${others.length === 1 ? "1 song" : `${others.length} songs`} of the show not in this set`);
    find("set-order-hint").hidden = songs.length < 2;
  }

  line(s, inSet) {
    const li = element("li"), name = element("button", undefined, "name"), put = element("button", inSet ? "Take out" : "Add", "put");
    li.dataset.file = s.file;
    name.type = put.type = "button";
    name.append(element("span"), element("small"));
    name.addEventListener("click", () => this.choose(s.file));
    put.addEventListener("click", () => (inSet ? this.takeOut(s.file) : this.putIn(s.file)));
    if (inSet) {
      const grip = element("button", undefined, "grip"), lines = element("span", "≡");
      grip.type = "button";
      lines.setAttribute("aria-hidden", "true");
      grip.append(lines);
      grip.setAttribute("aria-describedby", "set-order-hint");
      this.order.take(grip, li);
      li.append(grip, element("span", undefined, "number"));
    }
    li.append(name, put);
    return li;
  }

  fill(li, s, i) {
    const name = li.querySelector(".name"), planned = this.night.night?.songs.find((n) => n.file === s.file);
    write(name.firstChild, s.name);
    write(name.lastChild, `${s.tempo} BPM, ${s.meter}${planned && i >= 0 ? `, ${minutes(planned.length)}` : ""}${s.faulty ? ", has faults" : ""}`);
    name.setAttribute("aria-pressed", String(s.file === this.file));
    li.classList.toggle("chosen", s.file === this.file);
    li.querySelector(".put").setAttribute("aria-label", i >= 0 ? `Take out ${s.name} of the set` : `Add ${s.name} to the set`);
    if (i < 0) return;
    write(li.querySelector(".number"), String(i + 1));
    li.querySelector(".grip").setAttribute("aria-label", `Move ${s.name}, song ${i + 1} of ${this.at.songs.length}`);
  }

  choose(file) {
    this.file = file === this.file ? "" : file;
    this.drawSongs();
    this.song.open(this.model.songs.find((s) => s.file === this.file));
    if (this.file) this.find("set-song").scrollIntoView({ block: "nearest" });
  }

  /** The edit that gives a set these songs, by their files. What the set calls them stays. */
  orderOf(set, files) { return { do: "set order", set: set.file, songs: files.map((f) => set.songs.find((w) => this.meant(w)?.file === f) ?? stem(f)) }; }

  reorder(order, file, to) {
    const name = this.model.songs.find((s) => s.file === file).name;
    this.order.put(order);
    order.forEach((f, i) => this.fill(this.find("set-songs").children[i], this.model.songs.find((s) => s.file === f), i));
    this.does.send([this.orderOf(this.at, order)]);
    this.does.said(`${name} is now song ${to + 1} of ${order.length}`);
  }

  putIn(file) {
    const files = this.songsOf(this.at).map((s) => s.file);
    this.does.send([this.at ? this.orderOf(this.at, [...files, file]) : this.firstSet([file])]);
    this.does.said(`Added as song ${files.length + 1}`);
  }

  takeOut(file) {
    const files = this.songsOf(this.at).map((s) => s.file).filter((f) => f !== file);
    if (!files.length) { this.does.tell(new Error("A set has at least one song: add another first, or remove the set.")); return; }
    const next = this.find("set-songs").querySelector(`li:not([data-file="${CSS.escape(file)}"]) .put`);
    next?.focus({ preventScroll: true });
    this.does.send([this.orderOf(this.at, files)]);
    this.does.said("Taken out of the set. The song stays in the show.");
  }

  /** The edits that add a song's edit and put the song into the set, as one change. */
  withSong(edit, file) {
    const files = this.songsOf(this.at).map((s) => s.file);
    return this.at ? [edit, { ...this.orderOf(this.at, files), songs: [...this.orderOf(this.at, files).songs, stem(file)] }] : [edit];
  }

  /** Sends edits; then() is called when the file that they add is there. */
  add(edits, file, then) {
    this.adding = { file, then };
    this.does.send(edits);
  }

  firstSet(files, name = "Night") { return { do: "add set", set: fileFor("sets", name, this.model.sets), name, songs: files.map(stem) }; }

  /** A new set begins as the one that is shown. */
  addSet() {
    const { find, at } = this, name = find("set-new-name").value.trim();
    if (!name) return;
    const add = this.firstSet((at ? this.songsOf(at) : this.model.songs).map((s) => s.file), name);
    const looks = moments.filter(([, key]) => at?.[key]).map(([moment, key]) => ({ do: "set set look", set: add.set, moment, look: at[key] }));
    this.add([add, ...looks], add.set, () => {
      this.set = add.set;
      find("set-new").hidden = true;
      find("set-new-open").setAttribute("aria-expanded", "false");
      find("set-new-name").value = "";
      find("set-choose").focus();
      this.does.said(`The set ${name} is shown`);
    });
  }

  /** The looks around the songs: a picture each, and for the one that is chosen all looks. */
  drawLooks() {
    const { find, model, at } = this, box = find("set-moments");
    if (!box.children.length) {
      box.append(...moments.map(([moment, , name]) => {
        const b = choice();
        b.dataset.moment = moment;
        b.setAttribute("aria-controls", "set-moment");
        b.lastChild.append(element("strong", name), element("small"));
        b.addEventListener("click", () => { this.moment = this.moment === moment ? "" : moment; this.drawLooks(); if (this.moment) find("set-moment").scrollIntoView({ block: "nearest" }); });
        return b;
      }));
    }
    moments.forEach(([moment, key, , when], i) => {
      const b = box.children[i];
      b.disabled = !at;
      b.setAttribute("aria-expanded", String(this.moment === moment));
      write(b.lastChild.lastChild, ` ${at?.[key] || "no look of its own"}, ${when}`);
      this.show(b, at?.[key]);
    });
    const chosen = at && moments.find(([moment]) => moment === this.moment), looks = find("set-looks");
    find("set-moment").hidden = !chosen;
    if (!chosen) return;
    const [moment, key, name] = chosen, names = ["", ...model.looks.map((l) => l.name)];
    write(find("set-moment-title"), `${name}: which look?`);
    if (looks.made !== names.join("\n")) {
      looks.made = names.join("\n");
      looks.replaceChildren(...names.map((look) => {
        const b = choice();
        b.dataset.name = look;
        b.lastChild.textContent = look || "No look of its own";
        return b;
      }));
    }
    for (const b of looks.children) {
      const look = b.dataset.name;
      this.show(b, look);
      b.setAttribute("aria-pressed", String(look === (at[key] ?? "")));
      b.onclick = () => this.does.send([{ do: "set set look", set: this.set, moment, look: look || null }]);
    }
  }

  /** Shows the picture of a look in the show's own colours. */
  show(b, look) {
    const [img, empty] = b.children, src = `/api/v1/compose/picture?${new URLSearchParams({ look: look ?? "" })}&version=${this.version}`;
    img.hidden = !look;
    empty.hidden = Boolean(look);
    if (look && img.getAttribute("src") !== src) img.setAttribute("src", src);
  }

  drawPapers() {
    const { find, model } = this, { unsaved } = model.state;
    write(find("set-paper-says"), "Made of the show as it is here, and opened in a tab of its own. " +
      (unsaved.length ? `Not saved yet: ${unsaved.join(", ")}; the paper says so.` : "Everything is saved: paper and files say the same."));
    const asked = { set: this.set, paper: find("set-paper-size").value };
    const link = (words, path, more) => {
      const li = element("li"), a = element("a", words);
      a.href = `/api/v1/compose/${path}?${new URLSearchParams({ ...asked, ...more })}`;
      a.target = "_blank";
      a.rel = "noopener";
      li.append(a);
      return li;
    };
    const songs = this.at ? this.songsOf(this.at) : model.songs;
    const links = [
      link("The night's paper, PDF", "paper", { format: "pdf" }), link("The night's paper, a page to print", "paper", { format: "html" }),
      link("Picture of the night", "plot", { what: "night" }), link("Stage plan", "plot", { what: "stage" }),
      ...songs.map((s) => link(`Score of ${s.name}`, "plot", { what: "song", song: s.file })),
    ];
    const made = links.map((l) => l.innerHTML).join("");
    if (made !== this.papers) { this.papers = made; find("set-papers").replaceChildren(...links); }
  }

  /** The night as planned at once, and its light when it is measured; both dropped when
   *  another edit has come. */
  measure() {
    const { tag } = this.model.state, asked = `${tag} ${this.set}`;
    if (this.asked === asked) return;
    this.asked = asked;
    clearTimeout(this.measuring);
    this.measuring = setTimeout(async () => {
      const stale = () => this.asked !== asked, state = this.find("set-night-state");
      try {
        const night = await compose.night(this.set);
        if (stale()) return;
        this.night.open(night, (file) => this.model.songs.find((s) => s.file === file)?.palette.main.shown ?? "");
        this.drawSongs();
        write(state, "Solid: energy as written. The dashed line, the light, is being measured…");
        const measured = await compose.nightMeasured(this.set);
        if (stale()) return;
        this.night.measured(measured);
        write(state, "Solid: energy as written. Dashed: the light as measured, of this state of the show.");
      } catch (e) {
        if (stale()) return;
        this.asked = "";
        if (!(e instanceof Refusal)) throw e;
        write(state, `The light of the night is not measured: ${e.message}`);
      }
    }, 60);
  }
}

/** A button with a picture, or a word in its place, and a name. */
function choice() {
  const b = element("button", undefined, "choice"), img = element("img");
  b.type = "button";
  img.alt = "";
  img.loading = "lazy";
  b.append(img, element("span", "none", "empty"), element("span"));
  return b;
}
