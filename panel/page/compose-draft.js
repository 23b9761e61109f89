// A draft of a song's light: looked at in words, on the score and as lines of the file
// before it is taken, whole or by section.

import { compose, Refusal } from "./api.js";
import { write } from "./now.js";
import { element, sentence } from "./words.js";

export class ComposeDraft {
  /** take(edit) makes an edit; shows(draft, sections) draws it on the score, or nothing; said
   *  is read aloud. */
  constructor(find, take, shows, said) {
    Object.assign(this, { find, take, shows, said, draft: null, chosen: new Set() });
    find("draft-song").addEventListener("click", () => this.ask(this.song.sections.map((_, i) => i)));
    find("draft-section").addEventListener("click", () => this.ask([this.section]));
    find("draft-leave").addEventListener("click", () => { this.drop(); find("draft-song").focus(); });
    find("draft-take").addEventListener("click", () => this.taken());
    find("draft-clear").addEventListener("click", () => this.take({ do: "clear draft", song: this.song.file }));
  }

  open(song, section, tag) {
    if (this.draft && (this.draft.file !== song?.file || this.draft.tag !== tag)) this.drop(this.draft.file === song?.file);
    Object.assign(this, { song, section, tag });
    write(this.find("draft-section"), song?.sections[section] ? `Draft ${song.sections[section].name}` : "Draft this section");
    const n = song?.cues.filter((c) => c.drafted).length ?? 0;
    this.find("draft-clear").disabled = n === 0;
    write(this.find("draft-clear"), n ? `Take ${n} drafted ${n === 1 ? "line" : "lines"} out` : "Nothing is drafted");
    for (const id of ["draft-song", "draft-section"]) this.find(id).disabled = !song?.sections.length;
  }

  /** The draft is not shown any longer. */
  drop(changed = false) {
    this.draft = null;
    this.run = {};
    this.find("draft-shown").hidden = true;
    write(this.find("draft-says"), changed ? "The song has changed; draft it again to see what a draft would be now." : "");
    this.shows(null);
  }

  async ask(sections) {
    const run = this.run = {}, { song } = this;
    this.chosen = new Set(sections);
    write(this.find("draft-says"), "Drafting…");
    try {
      const draft = await compose.draft(song.file, [...this.chosen]);
      if (run !== this.run) return;
      if (song.file !== this.song?.file) { this.drop(); return; } // another song was chosen meanwhile
      this.draft = draft;
    } catch (e) {
      if (!(e instanceof Refusal)) throw e;
      if (run === this.run) { this.drop(); write(this.find("draft-says"), `It cannot be drafted: ${e.message}`); }
      return;
    }
    this.draw();
    this.said(this.find("draft-says").textContent);
    this.find("draft-title").scrollIntoView({ block: "start" });
  }

  draw() {
    const { find, draft, song } = this, box = find("draft-rows");
    find("draft-shown").hidden = false;
    this.changing = 0;
    box.replaceChildren(...song.sections.map((s, i) => this.part(s, i)).filter(Boolean), ...draft.rows.filter((r) => r.section < 0).map((r) => element("li", words(r), r.state)));
    this.lines();
  }

  /** What happens in a section, with a box to take it. */
  part(s, i) {
    const rows = this.draft.rows.filter((r) => r.section === i), li = element("li"), label = element("label", undefined, "tick"), box = element("input");
    if (!rows.length) return null;
    const changes = rows.some((r) => r.state !== "yours" && r.state !== "same");
    if (changes) this.changing++;
    box.type = "checkbox";
    box.checked = this.chosen.has(i) && changes;
    box.disabled = !changes;
    if (!changes) this.chosen.delete(i);
    box.addEventListener("change", () => { if (box.checked) this.chosen.add(i); else this.chosen.delete(i); this.again(); });
    label.append(box, element("strong", `${s.name}, energy ${s.energy}`));
    const list = element("ul");
    list.append(...rows.map((r) => element("li", words(r), r.state)));
    li.append(label, list);
    return li;
  }

  /** Which sections are taken has changed: so have the lines. */
  async again() {
    const run = this.run = {};
    this.lines();
    try {
      const draft = await compose.draft(this.song.file, [...this.chosen].sort((a, b) => a - b));
      if (run === this.run && this.draft) { this.draft = draft; this.lines(); }
    } catch (e) { if (!(e instanceof Refusal)) throw e; }
  }

  lines() {
    const { find, draft, song } = this, n = this.chosen.size, all = n > 0 && n === this.changing;
    const yours = draft.rows.filter((r) => r.state === "yours").length;
    find("draft-take").disabled = n === 0 || draft.lines.length === 0;
    write(find("draft-take"), all ? "Take the whole draft" : n === 1 ? `Take the draft of ${song.sections[[...this.chosen][0]].name}` : `Take the draft of ${n} sections`);
    write(find("draft-says"), `Nothing is changed yet. ${sentence(draft.character)}, ${draft.why}.${yours ? ` ${yours} ${yours === 1 ? "section has" : "sections have"} light of your own, which stays.` : ""}${draft.lines.length ? "" : " There is nothing to change in what is chosen."}`);
    find("draft-lines").replaceChildren(...draft.lines.map((l) => element("span", l + "\n", l[0] === "+" ? "more" : l[0] === "-" ? "less" : "")));
    this.shows(draft, this.chosen);
  }

  async taken() {
    const sections = [...this.chosen].sort((a, b) => a - b), all = sections.length === this.changing;
    this.drop();
    await this.take({ do: "draft song", song: this.song.file, ...all ? {} : { sections } });
    this.find("draft-song").focus({ preventScroll: true });
  }
}

/** A row of the draft in words. */
function words(r) {
  const light = [r.look && `look ${r.look}`, r.state !== "removed" && (r.effects.length ? `effects ${r.effects.join(", ")}` : "no effects"), r.fade && `in ${r.fade}`].filter(Boolean).join(", ");
  const at = r.in ? `${r.at} (${r.in})` : r.at;
  if (r.state === "yours") return `${at}: stays as you have it: ${light}.`;
  if (r.state === "removed") return `${at}: ${r.why}.`;
  return `${{ new: "New", same: "As drafted before", changed: "Changed" }[r.state]} at ${at}: ${light}. ${sentence(r.why)}.`;
}
