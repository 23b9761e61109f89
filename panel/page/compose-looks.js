// The room Looks: the looks of the show as small pictures, ordered by the energy ladder,
// and the one that is chosen: on the stage, what it lights, its effects, fade and name.

import { compose, octets } from "./api.js";
import { fades, options } from "./compose-pictures.js";
import { LookHeads } from "./look-heads.js";
import { write } from "./now.js";
import { sure } from "./press.js";
import { usesInWords } from "./uses.js";
import { element } from "./words.js";

export class ComposeLooks {
  /** composing sends edits, and has the model and the stage. */
  constructor(find, composing) {
    Object.assign(this, { find, composing, name: "", song: "", previews: true, bright: new Map(), asked: 0 });
    this.heads = new LookHeads(find, composing);
    find("looks-colours").addEventListener("change", (e) => { this.song = e.target.value; this.draw(); });
    find("looks-preview").addEventListener("click", () => { this.previews = !this.previews; this.draw(); });
    find("the-look-fade").addEventListener("change", (e) => this.edit({ do: "set look fade", to: e.target.value || null }));
    find("looks-add").addEventListener("submit", (e) => { e.preventDefault(); this.add(); });
    find("the-look-rename").addEventListener("submit", (e) => { e.preventDefault(); this.rename(find("the-look-name").value.trim()); });
    find("the-look-copy").addEventListener("click", () => this.copy({ do: "copy look" }, this.name));
    find("the-look-own").addEventListener("click", () => {
      const song = this.model.songs.find((s) => s.file === find("the-look-song").value);
      this.copy({ do: "copy look for song", song: song.file }, `${this.name} of ${song.name}`);
    });
    sure(find("the-look-remove"), () => this.edit({ do: "remove look" }), { doubt: (waits) => write(find("the-look-remove"), waits ? "Remove: tap again" : "Remove") });
  }

  edit(edit) { return this.composing.edit({ look: this.name, ...edit }); }

  open(model) {
    this.model = model;
    if (this.wanted && model.looks.some((l) => l.name === this.wanted)) { this.name = this.wanted; this.wanted = ""; }
    if (!model.looks.some((l) => l.name === this.name)) this.name = (this.ordered().find((l) => l.name === this.composing.playing) ?? this.ordered()[0])?.name ?? "";
    if (!model.songs.some((s) => s.file === this.song)) this.song = "";
    this.here = true;
    this.heads.enter();
    this.draw();
  }

  leave() {
    this.here = false;
    this.want = "";
    this.heads.leave();
    this.preview(null);
  }

  /** The looks as the ladder has them from the calmest; then those that are not on it, as
   *  bright as they are. */
  ordered() {
    const rank = new Map();
    this.model.ladder.forEach((r) => { if (!rank.has(r.look)) rank.set(r.look, r.energy); });
    const place = (l) => rank.get(l.name) ?? 100 + (this.bright.get(l.name) ?? 0);
    return [...this.model.looks].sort((a, b) => place(a) - place(b));
  }

  /** Where the ladder has a look: "Energy 3 and 4". */
  rungs(name) {
    const list = [...new Set(this.model.ladder.filter((r) => r.look === name).map((r) => r.energy))];
    if (list.length) return `Energy ${list.join(" and ")}`;
    const moments = this.model.looks.find((l) => l.name === name).used.flatMap((u) => u.moment ?? []);
    return moments.length ? `For ${moments.join(" and ")}` : "Not on the ladder";
  }

  get look() { return this.model.looks.find((l) => l.name === this.name); }

  draw() {
    const { find, model } = this;
    options(find("looks-colours"), [["the house", ""], ...model.songs.map((s) => [s.name, s.file])], this.song);
    find("looks-preview").setAttribute("aria-pressed", String(this.previews));
    this.pictures();
    find("the-look-box").hidden = !this.look;
    if (this.look) this.chosen();
    this.ask();
  }

  /** Small pictures; those that stay keep their place and the focus. */
  pictures() {
    const box = this.find("looks-list"), { model } = this, list = this.ordered(), names = list.map((l) => l.name).join("\n");
    const seen = JSON.stringify([model.palette, model.looks, model.effects, model.rig, model.songs.find((s) => s.file === this.song)?.palette]);
    if (seen !== this.seen) { // small pictures follow when a hand rests: the stage has the change at once
      const first = this.seen === undefined;
      this.seen = seen;
      clearTimeout(this.resting);
      this.resting = setTimeout(() => { this.version = (this.version ?? 0) + 1; this.pictures(); }, first ? 0 : 250);
    }
    if (box.made !== names) {
      const had = new Map([...box.children].map((b) => [b.dataset.name, b])), focus = document.activeElement;
      box.made = names;
      box.replaceChildren(...list.map((l) => had.get(l.name) ?? this.picture(l.name)));
      if (box.contains(focus)) focus.focus({ preventScroll: true });
    }
    for (const b of box.children) {
      const { name } = b.dataset, query = new URLSearchParams({ look: name, ...this.song && { song: this.song } }), src = `/api/v1/compose/picture?${query}&version=${this.version ?? 0}`;
      const [img, , where, bar] = b.children, bright = this.bright.get(name);
      if (img.getAttribute("src") !== src) img.setAttribute("src", src);
      write(where, this.rungs(name) + (bright === undefined ? "" : `. Light ${Math.round(bright)} %`));
      bar.firstChild.style.width = `${Math.min(100, bright ?? 0)}%`;
      b.setAttribute("aria-pressed", String(name === this.name));
    }
  }

  picture(name) {
    const b = element("button", undefined, "choice"), img = element("img"), bar = element("i", undefined, "bright");
    Object.assign(b, { type: "button" }).dataset.name = name;
    Object.assign(img, { alt: "", loading: "lazy" });
    bar.append(element("b"));
    b.append(img, element("span", name), element("small"), bar);
    b.addEventListener("click", () => { this.name = name; this.heads.none(); this.draw(); });
    return b;
  }

  /** The look that is chosen. */
  chosen() {
    const { find, model, look } = this, uses = usesInWords(model, look.used), places = look.used.length;
    write(find("the-look-title"), `The look “${look.name}”`);
    write(find("the-look-used-says"), places ? `A change here is a change in ${places === 1 ? "one place" : `${places} places`}:` : "Nothing uses this look yet.");
    lines(find("the-look-used"), uses);
    this.heads.open(model, look, this.palette());
    options(find("the-look-fade"), [...new Set([...fades, look.fade])].map((f) => [f || "at once", f]), look.fade);
    this.effects(look.effects ?? []);
    if (document.activeElement !== find("the-look-name")) find("the-look-name").value = look.name;
    options(find("the-look-song"), model.songs.map((s) => [s.name, s.file]), this.ownSong(look));
    find("the-look-own").disabled = !look.used.some((u) => u.song === find("the-look-song").value);
    find("the-look-song").onchange = () => { this.own = find("the-look-song").value; this.draw(); };
    this.light();
  }

  /** The song for which the look would be copied: the one that was chosen, or one that uses it. */
  ownSong(look) {
    const has = (file) => this.model.songs.some((s) => s.file === file);
    return has(this.own) ? this.own : has(this.song) ? this.song : look.used.find((u) => u.song)?.song ?? this.model.songs[0]?.file;
  }

  palette() { return this.model.songs.find((s) => s.file === this.song)?.palette ?? this.model.palette; }

  effects(now) {
    const box = this.find("the-look-effects"), names = this.model.effects.map((e) => e.name);
    if (box.made !== names.join("\n")) {
      box.made = names.join("\n");
      box.replaceChildren(...names.map((name) => {
        const b = element("button", name);
        b.type = "button";
        b.addEventListener("click", () => {
          const has = (this.look.effects ?? []).filter((e) => e !== "none");
          this.edit({ do: "set look effects", to: has.includes(name) ? has.filter((e) => e !== name) : [...has, name] });
        });
        return b;
      }));
    }
    for (const b of box.children) b.setAttribute("aria-pressed", String(now.includes(b.textContent)));
  }

  /** How bright the look is, and whether that fits its place on the ladder. */
  light() {
    const { find, model, name, look, bright } = this, now = bright.get(name);
    if (now === undefined) { write(find("the-look-light"), "Being measured."); return; }
    const order = [...new Set(model.ladder.map((r) => r.look))].filter((l) => bright.has(l)), i = order.indexOf(name);
    const words = [`${Math.round(now)} % as measured, without its effects.`];
    if (i < 0) words.push(look.used.some((u) => u.moment) ? `The ladder has it ${this.rungs(name).toLowerCase()}, and at no energy.` : "It is not on the energy ladder, so that drafts do not use it.");
    else words.push(`The ladder has it at ${this.rungs(name).toLowerCase()}.`);
    if (i > 0 && bright.get(order[i - 1]) > now) words.push(`It is darker than “${order[i - 1]}” (${Math.round(bright.get(order[i - 1]))} %), which stands below it.`);
    if (i >= 0 && i + 1 < order.length && bright.get(order[i + 1]) < now) words.push(`It is brighter than “${order[i + 1]}” (${Math.round(bright.get(order[i + 1]))} %), which stands above it.`);
    write(find("the-look-light"), words.join(" "));
  }

  // What the program works out.

  /** Asks for the light of the look and of all looks; what is late is dropped. */
  async ask() {
    const { name, song } = this, want = JSON.stringify([this.model.state.tag, name, song, this.previews]);
    if (want === this.want) return; // it is on its way, or here
    this.want = want;
    const asked = ++this.asked;
    if (!this.previews || !this.look) this.preview(null);
    try {
      if (this.look) {
        const light = await compose.look(name, song);
        if (asked !== this.asked || !this.here) return;
        this.heads.lit(octets(light.light));
        if (this.previews) this.preview(octets(light.light));
      }
      const all = await compose.looks(song);
      if (asked !== this.asked || !this.here) return;
      this.bright = new Map(all.looks.map((l) => [l.look, l.brightness]));
      this.pictures();
      if (this.look) this.light();
    } catch (e) {
      if (asked !== this.asked || !this.here) return;
      this.want = ""; // asked for again with the next change
      this.preview(null, e.message);
    }
  }

  preview(light, why = "") {
    this.composing.stage.previewed = light;
    this.shown = light ? this.name : "";
    this.why = why;
    this.present(this.m);
  }

  /** Says what the stage shows, and what plays. */
  present(m) {
    this.m = m;
    const box = this.find("compose-preview"), { stage } = this.composing;
    box.hidden = !this.shown && !this.why;
    if (this.why) write(box, `No preview: ${this.why}.`);
    if (!this.shown) return;
    const song = this.model.songs.find((s) => s.file === this.song), plays = m?.look ? `“${m.look}”` : "no look";
    const lamps = stage.show?.rehearsal ? `The rehearsal itself plays ${plays}.` : `The lamps still show ${plays}.`;
    write(box, `Preview of “${this.shown}”, without effects, in the colours of ${song ? song.name : "the house"}. ${lamps}`);
  }

  // Looks that come, go and are called otherwise.

  /** A new look begins with the heads that are chosen, or the largest group, at half. */
  add() {
    const { find } = this, name = find("looks-new").value.trim();
    if (!name) return;
    this.wanted = name;
    this.composing.edit({ do: "add look", look: name, set: this.heads.first() });
    find("looks-new").value = "";
  }

  rename(to) {
    if (!to || to === this.name) return;
    this.wanted = to;
    this.edit({ do: "rename look", to });
  }

  copy(edit, like) {
    const taken = new Set(this.model.looks.map((l) => l.name));
    let to = like === this.name ? `${like} 2` : like;
    for (let n = 2; taken.has(to); n++) to = `${like} ${n}`;
    this.wanted = to;
    this.edit({ ...edit, to });
  }
}

/** Makes the items of a list, if they are not these already. */
export function lines(list, texts) {
  if (list.children.length === texts.length && texts.every((t, i) => list.children[i].textContent === t)) return;
  list.replaceChildren(...texts.map((t) => element("li", t)));
}
