// Lists of spreadsheets, and fixture files: read first, then taken.

import { compose } from "./api.js";
import { write } from "./now.js";
import { options } from "./rig-fields.js";
import { element } from "./words.js";

const most = 32 << 20; // bytes of a fixture file, as the program takes them

export class RigList {
  constructor(find, does) {
    Object.assign(this, { find, does, here: false, file: null });
    find("list-text").addEventListener("input", () => { find("list-take").disabled = true; });
    find("list-skip").addEventListener("change", () => this.usable());
    find("list-read").addEventListener("click", () => this.read());
    find("list-take").addEventListener("click", () => this.take());
    find("gdtf-file").addEventListener("change", (e) => this.choose(e.target.files[0]));
    find("gdtf-take").addEventListener("click", () => this.send(find("gdtf-mode").value));
    const files = (e) => this.here && [...e.dataTransfer?.types ?? []].includes("Files");
    addEventListener("dragover", (e) => { if (files(e)) { e.preventDefault(); document.body.classList.add("dropping"); } });
    addEventListener("dragleave", (e) => { if (!e.relatedTarget) document.body.classList.remove("dropping"); });
    addEventListener("drop", (e) => {
      document.body.classList.remove("dropping");
      if (!files(e)) return;
      e.preventDefault();
      find("rig-gdtf").open = true;
      this.choose(e.dataTransfer.files[0]);
    });
  }

  enter() { this.here = true; }
  leave() { this.here = false; }

  get list() { return this.find("list-text").value; }

  usable() {
    this.find("list-take").disabled = !this.answer?.understood.length || this.answer.remarks.some((r) => r.fault) && !this.find("list-skip").checked;
  }

  /** Reads the list and changes nothing. Where the show has changed in this moment, it is
   *  read once more against the show as it is now. */
  read() {
    if (!this.list.trim()) { this.find("list-text").focus(); return; }
    this.does.ask(async (tag) => {
      const attempt = (tag) => compose.hang(tag, { list: this.list, try: true });
      try {
        this.show(await attempt(tag).catch(async (e) => {
          if (e.status !== 412) throw e;
          return attempt((await compose.get()).state.tag);
        }));
      } catch (e) { write(this.find("list-says"), e.message); }
      return null;
    });
  }

  show(answer) {
    this.answer = answer;
    const bad = answer.remarks.filter((r) => r.fault), say = (n, what) => `${n} ${what}${n === 1 ? "" : "s"}`;
    write(this.find("list-says"), answer.made ? "Taken in. Undo takes all of it back."
      : `${say(answer.understood.length, "row")} understood, ${bad.length ? `${say(bad.length, "line")} not. Nothing is changed yet.` : "none left out. Nothing is changed yet."}`);
    const of = (r) => `${r.line ? `Line ${r.line}: ` : ""}${r.what ? `${r.what}: ` : ""}${r.reason}${r.nearest ? `; the nearest is ${r.nearest}` : ""}`;
    this.find("list-found").replaceChildren(
      ...bad.map((r) => element("li", `Not understood. ${of(r)}`, "bad")),
      ...answer.remarks.filter((r) => !r.fault).map((r) => element("li", `Assumed. ${of(r)}`)),
      ...answer.understood.map((w) => element("li", w)),
    );
    this.usable();
  }

  take() {
    this.does.ask(async (tag) => {
      const answer = await compose.hang(tag, { list: this.list, skip: this.find("list-skip").checked });
      this.show(answer);
      this.answer = null;
      this.find("list-text").value = "";
      this.usable();
      return answer.made;
    });
  }

  choose(file) {
    if (!file) return;
    this.file = file;
    this.find("gdtf-mode-box").hidden = this.find("gdtf-take").hidden = true;
    if (file.size > most) { write(this.find("gdtf-says"), `${file.name} has more than ${most >> 20} MB, which no fixture file needs.`); return; }
    this.send("");
  }

  send(mode) {
    const { find, file } = this;
    if (!file) return;
    this.does.ask(async (tag) => {
      let answer;
      try {
        answer = await compose.gdtf(tag, file, mode);
      } catch (e) {
        write(find("gdtf-says"), `${file.name}: ${e.message}`);
        throw e;
      }
      const modes = answer.modes.filter((m) => !m.fault), asks = !answer.made;
      find("gdtf-mode-box").hidden = find("gdtf-take").hidden = !asks || !modes.length;
      options(find("gdtf-mode"), modes.map((m) => [`${m.name}, ${m.slots[0]} slots`, m.name]), modes[0]?.name);
      write(find("gdtf-says"), asks ? `${answer.fixture} has ${answer.modes.length} modes; choose the one that the fixture is set to.${modes.length < answer.modes.length ? ` Not usable here: ${answer.modes.filter((m) => m.fault).map((m) => `${m.name} (${m.fault})`).join(", ")}.` : ""}`
        : `${answer.fixture} is now the profile ${answer.profile} of this show.${answer.leftOut.length ? ` Not used: ${answer.leftOut.join("; ")}.` : ""}`);
      return answer.made;
    });
  }
}
