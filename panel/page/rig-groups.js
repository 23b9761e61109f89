// Groups of the rig: made, named, ordered, and picked on the plan.

import { write } from "./now.js";
import { sure } from "./press.js";
import { options } from "./rig-fields.js";
import { element } from "./words.js";

export class RigGroups {
  /** redraw() shows the room again; fixture() is the one that is chosen. */
  constructor(find, does, redraw, fixture) {
    Object.assign(this, { find, does, redraw, fixture, name: "", picks: false });
    find("group-choose").addEventListener("change", (e) => { this.wish = ""; this.name = e.target.value; this.redraw(); });
    find("group-pick").addEventListener("click", () => {
      this.picks = !this.picks;
      this.redraw();
      if (this.picks) find("rig-plan").scrollIntoView({ block: "nearest" });
    });
    find("group-name").addEventListener("change", (e) => {
      const to = e.target.value.trim(), was = this.name;
      if (!to || to === was) { this.redraw(); return; }
      this.wish = to; // chosen once it is there
      does.edit({ do: "rename group", group: was, to });
    });
    sure(find("group-remove"), () => does.edit({ do: "remove group", group: this.name }), { doubt: (waits) => write(find("group-remove"), waits ? "Remove: tap again" : "Remove") });
    find("group-make").addEventListener("click", () => {
      const name = find("group-new").value.trim(), f = fixture();
      if (!name || !f) { find("group-new").focus(); return; }
      if (this.rig.groups.some((g) => g.name === name)) { write(find("group-says"), `There is a group ${name} already.`); return; }
      find("group-new").value = "";
      this.wish = name;
      does.edit({ do: "set group", group: name, members: [f.name] });
    });
  }

  get group() { return this.rig?.groups.find((g) => g.name === this.name); }

  endPicking() {
    if (!this.picks) return;
    this.picks = false;
    this.redraw();
    this.find("group-pick").focus();
  }

  open(rig) {
    const { find } = this;
    this.rig = rig;
    if (rig.groups.some((g) => g.name === this.wish)) { this.name = this.wish; this.wish = ""; }
    if (!this.group) this.name = rig.groups[0]?.name ?? "";
    const g = this.group;
    if (!g) this.picks = false;
    options(find("group-choose"), rig.groups.map((x) => [x.name, x.name]), this.name);
    for (const id of ["group-choose", "group-pick", "group-name", "group-remove"]) find(id).disabled = !g;
    find("group-pick").setAttribute("aria-pressed", String(this.picks));
    if (document.activeElement !== find("group-name")) find("group-name").value = this.name;
    write(find("group-says"), !g ? "There is no group yet." : this.picks ? "Tap fixtures on the plan, or drag around them. With keys: Tab to a fixture, Enter." : "In it, in the order that effects take as listed:");
    this.drawMembers(g);
  }

  drawMembers(g) {
    const list = this.find("group-members");
    list.replaceChildren(...(g?.of ?? []).map((name, i) => {
      const li = element("li"), row = element("div", undefined, "row");
      const button = (text, label, members, off) => {
        const b = element("button", text);
        Object.assign(b, { type: "button", disabled: off });
        b.setAttribute("aria-label", label);
        b.addEventListener("click", () => { this.focus = label; this.does.edit({ do: "set group", group: g.name, members }); });
        return b;
      };
      const swapped = (k) => { const of = [...g.of]; [of[i], of[k]] = [of[k], of[i]]; return of; };
      row.append(element("span", name), button("Earlier", `Earlier: ${name}`, i > 0 ? swapped(i - 1) : [], i === 0),
        button("Later", `Later: ${name}`, i + 1 < g.of.length ? swapped(i + 1) : [], i + 1 === g.of.length),
        button("Take out", `Take out ${name}`, g.of.filter((_, k) => k !== i), g.of.length === 1));
      li.append(row);
      return li;
    }));
    if (this.focus) {
      [...list.querySelectorAll("button")].find((b) => b.getAttribute("aria-label") === this.focus && !b.disabled)?.focus({ preventScroll: true });
      this.focus = "";
    }
  }

  /** Names of the fixtures in the group that is picked for; null while nobody picks. */
  members() { return this.picks && this.group ? this.fixturesOf(this.group.of) : null; }

  fixturesOf(names, deep = 0) {
    const all = new Set();
    for (const n of names) {
      const g = this.rig.groups.find((x) => x.name === n), row = this.rig.fixtures.find((f) => f.name === n);
      const inside = g && deep < 8 ? this.fixturesOf(g.of, deep + 1) : row ? row.names : rangeOf(n);
      for (const f of inside) all.add(f);
    }
    return all;
  }

  /** Takes fixtures in or, if they are in it all and it toggles, out. */
  pick(names, toggles) {
    const g = this.group;
    if (!g) return;
    const now = this.fixturesOf(g.of), out = toggles && names.every((n) => now.has(n));
    const is = new Set(now);
    for (const n of names) if (out) is.delete(n); else is.add(n);
    if (is.size === now.size) return;
    if (!is.size) { write(this.find("group-says"), "A group needs one fixture at least; remove the group instead."); return; }
    this.does.edit({ do: "set group", group: g.name, members: this.shortest(g.of, is) });
  }

  /** What is in the group stays as it is written where it can: groups and rows that are
   *  whole, and else single fixtures. */
  shortest(of, is) {
    const list = [], left = new Set(is);
    const take = (name, names) => { list.push(name); for (const n of names) left.delete(n); };
    for (const name of of) {
      const names = [...this.fixturesOf([name])];
      if (names.length && names.every((n) => is.has(n))) take(name, names);
    }
    for (const f of this.rig.fixtures) {
      if (f.names.every((n) => left.has(n))) take(f.name, f.names);
      for (const n of f.names) if (left.has(n)) take(n, [n]);
    }
    return list;
  }
}

/** The fixtures of a range such as wash 2-3. */
function rangeOf(name) {
  const m = /^(.* )(\d+)-(\d+)$/.exec(name);
  if (!m || Number(m[3]) - Number(m[2]) > 512) return [name];
  return Array.from({ length: Number(m[3]) - Number(m[2]) + 1 }, (_, i) => m[1] + (Number(m[2]) + i));
}
