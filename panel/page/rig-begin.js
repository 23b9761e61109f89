// The first evening: what hangs where becomes a rig, looks and a first song.

import { compose } from "./api.js";
import { options } from "./rig-fields.js";
import { element } from "./words.js";

export class RigBegin {
  constructor(find, does) {
    Object.assign(this, { find, does, made: 0 });
    find("begin-more").addEventListener("click", () => { this.row("dimmer-rgbw", "back truss", 4); find("begin-rows").lastChild.querySelector("input").focus(); });
    find("begin-to").addEventListener("change", (e) => { find("begin-at-box").hidden = e.target.value !== "at"; });
    find("begin-make").addEventListener("click", () => this.make());
  }

  open(rig, known) {
    const { find } = this;
    this.known = known;
    if (!find("begin-venue").value && document.activeElement !== find("begin-venue")) find("begin-venue").value = rig.venue;
    if (!this.made && known.profiles.length) this.row("dimmer-rgbw", "front truss", 4);
    for (const li of find("begin-rows").children) this.fill(li);
  }

  row(profile, place, count) {
    const li = element("li"), row = element("div", undefined, "row"), n = ++this.made;
    const field = (text, e, id) => { const l = element("label", text + " "); e.id = `begin-${id}-${n}`; l.append(e); row.append(l); return e; };
    const input = element("input");
    Object.assign(input, { type: "number", min: 1, max: 512, value: count });
    field("How many", input, "count");
    li.profile = field("Profile", element("select"), "profile");
    li.place = field("Where", element("select"), "place");
    li.count = input;
    const out = element("button", "Remove");
    out.type = "button";
    out.setAttribute("aria-label", `Remove row ${n}`);
    out.addEventListener("click", () => { li.remove(); this.find("begin-more").focus(); });
    row.append(out);
    li.append(row);
    li.first = { profile, place };
    this.fill(li);
    this.find("begin-rows").append(li);
  }

  fill(li) {
    options(li.profile, this.known.profiles.map((p) => [`${p.name} (${p.slots})`, p.name]), li.profile.value || li.first.profile);
    options(li.place, this.known.places.map((p) => [p.name, p.name]), li.place.value || li.first.place);
  }

  make() {
    const { find, does } = this, to = find("begin-to").value;
    const rows = [...find("begin-rows").children].map((li) => ({ count: Math.round(Number(li.count.value)), profile: li.profile.value, place: li.place.value }));
    does.ask(async (tag) => {
      const answer = await compose.hang(tag, { venue: find("begin-venue").value.trim(), to: to === "at" ? find("begin-at").value : to, rows });
      does.said(answer.understood.join(" "));
      return answer.made;
    });
  }
}
