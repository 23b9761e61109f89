// What check finds in a song, at its place, with what one press can do about it.

import { write } from "./now.js";
import { element, sentence } from "./words.js";
import { compose } from "./api.js";

export class ComposeFound {
  /** does has take(edits), accept(found, because) and choose(section); marks(list) shows
   *  where something was found on the score. */
  constructor(find, does, marks) { Object.assign(this, { find, does, marks, run: 0 }); }

  open(song) { this.song = song; }

  /** The section of a finding. */
  section(f) { return Math.max(0, this.song.sections.findLastIndex((s) => s.start <= f.beat + 1e-3)); }

  measured(m) {
    const found = m.found.filter((f) => !f.accepted), box = this.find("part-found"), had = box.contains(document.activeElement);
    box.replaceChildren(...found.map((f, i) => this.item(f, i)));
    write(this.find("part-found-says"), found.length ? `${found.length} to look at. What helps is tried out first, and then offered.` : "Nothing to correct was found in this song.");
    if (had) this.find("part-found-title").focus({ preventScroll: true });
    this.marks(found.map((f, i) => ({ section: f.place ? this.section(f) : 0, severity: f.severity, words: `${sentence(f.finding.replaceAll("-", " "))} at ${f.place || "the song"}`, show: () => this.show(i) })));
    this.offer(found, ++this.run);
  }

  /** Goes to a finding of the list. */
  show(i) {
    const li = this.find("part-found").children[i];
    li?.scrollIntoView({ block: "center" });
    li?.querySelector("button:not([hidden])")?.focus({ preventScroll: true });
  }

  item(f, i) {
    const li = element("li", undefined, f.severity), words = element("p"), row = element("div", undefined, "row");
    const take = element("button", "", "big"), accept = element("button", "It is right as it is"), why = element("input"), ok = element("button", "Accept it"), says = element("span", "Looking for what helps…", "quiet");
    for (const b of [take, accept, ok]) b.type = "button";
    words.append(element("strong", f.place || "The song"), `: ${f.reason}.`, element("small", `${sentence(f.suggestion)}.`));
    take.hidden = why.hidden = ok.hidden = true;
    why.type = "text";
    why.maxLength = 200;
    why.setAttribute("aria-label", `Why ${f.finding.replaceAll("-", " ")} at ${f.place || "the song"} is right`);
    why.placeholder = "Why?";
    accept.setAttribute("aria-label", `It is right as it is: ${f.finding.replaceAll("-", " ")} at ${f.place || "the song"}`);
    accept.hidden = f.finding === "accepted-idle";
    accept.addEventListener("click", () => { why.hidden = ok.hidden = false; accept.hidden = true; why.focus(); });
    const accepted = () => { if (why.value.trim()) this.does.accept(f, f.place ? this.song.sections[this.section(f)].name : "", why.value.trim()); else why.focus(); };
    ok.addEventListener("click", accepted);
    why.addEventListener("keydown", (e) => { if (e.key === "Enter") accepted(); });
    row.append(take, says, accept, why, ok);
    li.append(words, row);
    li.offered = (r) => {
      take.hidden = !r.words;
      take.textContent = r.words;
      says.textContent = r.words ? "" : "Nothing that one press could do takes it away.";
      take.onclick = () => this.does.take(r.edits, i);
    };
    return li;
  }

  /** Looks for remedies, one after another, until something newer was measured. */
  async offer(found, run) {
    for (const [i, f] of found.entries()) {
      let r;
      try { r = await compose.remedy(this.song.file, f); } catch { return; } // measured again after the next edit
      if (run !== this.run) return;
      this.find("part-found").children[i]?.offered(r);
    }
  }
}
