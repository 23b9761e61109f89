// The room of the rig: the plan, the fixture that is chosen, and what is added.

import { compose } from "./api.js";
import { write } from "./now.js";
import { sure } from "./press.js";
import { RigBegin } from "./rig-begin.js";
import { options, value } from "./rig-fields.js";
import { RigGroups } from "./rig-groups.js";
import { RigList } from "./rig-list.js";
import { addresses, placesOf, RigPlan } from "./rig-plan.js";
import { element } from "./words.js";

const axes = ["Across", "Back", "Height"];

export class ComposeRig {
  /** does has edit(edit, gesture), send(edits, gesture), ask(request) for changes that are no
   *  edits, state() and said(words). */
  constructor(find, does) {
    Object.assign(this, { find, does, chosen: "", known: { profiles: [], places: [] } });
    this.plan = new RigPlan(find("rig-plan"), {
      choose: (name) => this.choose(name),
      move: (f, places, gesture) => does.edit({ do: "set place", fixture: f.name, ...places }, gesture),
      pick: (names, toggles) => this.groups.pick(names, toggles),
    });
    this.groups = new RigGroups(find, does, () => this.draw(), () => this.fixture);
    this.begin = new RigBegin(find, does);
    this.list = new RigList(find, does);
    find("rig-seen").addEventListener("change", () => this.draw());
    find("rig-choose").addEventListener("change", (e) => this.choose(e.target.value));
    find("rig-pick").addEventListener("click", () => this.groups.endPicking());
    this.listenToOne();
    find("add-do").addEventListener("click", () => this.add());
    find("add-group").addEventListener("change", () => this.drawAdd());
  }

  get fixture() { return this.rig?.fixtures.find((f) => f.name === this.chosen); }

  listenToOne() {
    const { find, does } = this, name = () => this.chosen;
    const changed = (id, act) => find(id).addEventListener("change", (e) => { e.target.was = undefined; act(e.target.value); });
    changed("rig-name", (to) => this.rename(to.trim()));
    changed("rig-profile", (to) => does.edit({ do: "set fixture", fixture: name(), key: "profile", to }));
    changed("rig-universe", (to) => does.edit({ do: "find address", fixture: name(), universe: to }));
    changed("rig-address", (to) => does.edit({ do: "set address", fixture: name(), address: Math.round(Number(to)) }));
    changed("rig-watts", (to) => does.edit({ do: "set fixture", fixture: name(), key: "watts", to: to.trim() ? (/[a-z]/i.test(to) ? to.trim() : `${to.trim()} W`) : null }));
    changed("rig-circuit", (to) => does.edit({ do: "set fixture", fixture: name(), key: "circuit", to: to || null }));
    find("rig-free").addEventListener("click", () => does.edit({ do: "find address", fixture: name() }));
    find("rig-split").addEventListener("click", () => {
      this.wish = this.fixture.names[0];
      does.edit({ do: "split fixture", fixture: name() });
    });
    sure(find("rig-remove"), () => does.edit({ do: "remove fixture", fixture: name(), "from groups": true }), { doubt: (waits) => write(find("rig-remove"), waits ? "Remove: tap again" : "Remove") });
  }

  rename(to) {
    const was = this.chosen;
    if (!to || to === was) { this.draw(); return; }
    this.wish = to; // chosen once it is there
    this.does.edit({ do: "rename fixture", fixture: was, to });
  }

  choose(name) {
    this.wish = "";
    if (name === this.chosen) return;
    this.chosen = name;
    this.draw();
  }

  leave() { this.groups.endPicking(); this.list.leave(); }

  open(model) {
    Object.assign(this, { model, rig: model.rig });
    this.list.enter();
    if (this.rig.fixtures.some((f) => f.name === this.wish)) { this.chosen = this.wish; this.wish = ""; }
    if (!this.fixture) this.chosen = this.rig.fixtures[0]?.name ?? "";
    this.draw();
    this.learn();
  }

  /** Asks what can be hung, when profiles may have changed. */
  async learn() {
    const seen = this.model.state.revision;
    if (this.learnt === seen || this.learning) return;
    this.learning = true;
    try {
      this.known = await compose.hanging();
      this.learnt = seen;
      this.draw();
    } catch { /* the next change asks again */ } finally { this.learning = false; }
  }

  draw() {
    const { find, rig } = this;
    if (!rig) return;
    find("rig-begin").hidden = !rig.undecided;
    find("rig-whole").hidden = rig.undecided;
    if (rig.undecided) { this.begin.open(rig, this.known); return; }
    this.groups.open(rig);
    this.plan.open(rig.fixtures, this.chosen, this.groups.members(), find("rig-seen").value === "front");
    write(find("rig-says"), `${count(rig.fixtures.reduce((n, f) => n + f.names.length, 0), "fixture")} on ${count(rig.universes.length, "universe")}`);
    const pick = find("rig-pick");
    pick.hidden = !this.groups.picks;
    pick.setAttribute("aria-pressed", String(this.groups.picks));
    write(pick, this.groups.picks ? `Picking for ${this.groups.name}: done` : "");
    this.drawOne();
    this.drawAdd();
  }

  profileOptions() { return this.known.profiles.map((p) => [`${p.name} (${count(p.slots, "slot")})`, p.name]); }

  drawOne() {
    const { find, rig, fixture: f } = this;
    find("rig-one").hidden = !f;
    if (!f) return;
    options(find("rig-choose"), rig.fixtures.map((x) => [x.name, x.name]), f.name);
    const about = this.known.profiles.find((p) => p.name === f.profile)?.about ?? "";
    write(find("rig-where"), `${f.names.length > 1 ? `${f.names.length} fixtures, ` : ""}${f.universe} ${addresses(f)}${about ? `. ${about}` : ""}`);
    value(find("rig-name"), f.name);
    options(find("rig-profile"), this.known.profiles.length ? this.profileOptions() : [[f.profile, f.profile]], f.profile);
    options(find("rig-universe"), rig.universes.map((u) => [universeWords(u), u.name]), f.universe);
    value(find("rig-address"), String(f.address));
    value(find("rig-watts"), f.watts);
    find("rig-circuit-box").hidden = !rig.circuits.length;
    options(find("rig-circuit"), [["none", ""], ...rig.circuits.map((c) => [c.name, c.name])], f.circuit);
    find("rig-split").hidden = f.names.length < 2;
    this.drawPlaces(f);
    this.drawIn(f);
  }

  /** Numbers of the places: one, or those of the first and the last. */
  drawPlaces(f) {
    const box = this.find("rig-places"), keys = f.at || !f.from ? ["at"] : ["from", "to"], made = keys.join();
    if (box.made !== made) {
      box.made = made;
      box.replaceChildren(...keys.map((key) => {
        const row = element("div", undefined, "row"), what = { at: "Place", from: "First", to: "Last" }[key];
        const title = element("span", key === "at" ? "" : what);
        title.hidden = key === "at";
        row.append(title, ...axes.map((axis, k) => {
          const label = element("label", `${axis}, m `), input = element("input");
          Object.assign(input, { type: "number", step: "0.1", id: `rig-${key}-${k}` });
          input.setAttribute("aria-label", `${what}: ${axis.toLowerCase()} in metres`);
          input.addEventListener("change", () => { input.was = undefined; this.place(key, k, input.value.trim() === "" ? NaN : Number(input.value)); });
          label.append(input);
          return label;
        }));
        return row;
      }));
    }
    for (const key of keys) axes.forEach((_, k) => value(this.find(`rig-${key}-${k}`), String((f[key] ?? [0, 0, 0])[k])));
  }

  place(key, k, metres) {
    const f = this.fixture, to = key === "at" ? { at: [...f.at ?? [0, 0, 0]] } : { from: [...f.from], to: [...f.to] };
    if (!Number.isFinite(metres)) { this.draw(); return; }
    to[key][k] = metres;
    this.does.edit({ do: "set place", fixture: f.name, ...to });
  }

  /** The groups with a button each. A fixture may be in one by its row, or by itself. */
  drawIn(f) {
    const box = this.find("rig-in");
    box.replaceChildren(...this.rig.groups.map((g) => {
      const b = element("button", g.name), own = g.of.filter((m) => m === f.name || f.names.includes(m)), inside = own.includes(f.name) || f.names.every((n) => own.includes(n));
      b.type = "button";
      b.dataset.group = g.name;
      b.setAttribute("aria-pressed", String(inside));
      b.addEventListener("click", () => {
        const rest = g.of.filter((m) => !own.includes(m));
        this.does.edit({ do: "set group", group: g.name, members: inside ? rest : [...rest, f.name] });
        this.focusIn = g.name;
      });
      return b;
    }));
    if (this.focusIn) { [...box.children].find((b) => b.dataset.group === this.focusIn)?.focus({ preventScroll: true }); this.focusIn = ""; }
    if (!this.rig.groups.length) box.append(element("span", "There is no group yet.", "quiet"));
  }

  drawAdd() {
    const { find, rig } = this, keep = (id, list) => options(find(id), list, find(id).value);
    keep("add-profile", this.profileOptions());
    keep("add-place", [...this.known.places.map((p) => [p.name, "place " + p.name]), ...rig.fixtures.map((f) => [`where ${f.name} is`, "with " + f.name])]);
    keep("add-universe", [["the first with room", ""], ...rig.universes.map((u) => [universeWords(u), u.name]), ["a new universe", "\n"]]);
    keep("add-group", [["none", ""], ...rig.groups.map((g) => [g.name, g.name]), ["a new one", "\n"]]);
    if (!this.placed && this.known.places.length) { this.placed = true; find("add-place").selectedIndex = 0; }
    for (const id of ["add-profile", "add-place", "add-universe", "add-group"]) if (find(id).selectedIndex < 0) find(id).selectedIndex = 0;
    find("add-new-box").hidden = find("add-group").value !== "\n";
  }

  /** The ends of a row that is added. It stands beside what hangs there already. */
  ends(where) {
    const [kind, name] = [where.slice(0, where.indexOf(" ")), where.slice(where.indexOf(" ") + 1)];
    const p = kind === "place" ? this.known.places.find((q) => q.name === name) : this.rig.fixtures.find((f) => f.name === name);
    let from = [...p?.from ?? p?.at ?? [0, 0, 3]], to = [...p?.to ?? p?.at ?? [0, 0, 3]];
    if (kind === "with" && p?.at) { from[0] -= 1; to[0] += 1; }
    const near = () => this.rig.fixtures.some((f) => placesOf(f).some((q) => [from, to].some((e) => Math.hypot(...q.map((m, k) => m - e[k])) < 0.25)));
    for (let i = 0; i < 8 && near(); i++) { from[0] += 0.4; to[0] += 0.4; }
    return { from: from.map(tidy), to: to.map(tidy) };
  }

  add() {
    const { find, rig } = this, count = Math.round(Number(find("add-count").value)), profile = find("add-profile").value;
    let universe = find("add-universe").value;
    const edits = [], edit = { do: "add fixtures", count, profile, ...this.ends(find("add-place").value) };
    if (universe === "\n") {
      const number = 1 + Math.max(0, ...rig.universes.map((u) => Number(u.keys.sacn ?? 0)));
      const like = rig.universes.find((u) => u.keys.sacn)?.keys.to;
      universe = `universe ${number}`;
      edits.push({ do: "add universe", universe, values: { sacn: number, ...like ? { to: like } : {} } });
    }
    if (universe) edit.universe = universe;
    const name = find("add-name").value.trim(), chosen = find("add-group").value, group = chosen === "\n" ? find("add-new").value.trim() : chosen;
    if (name) edit.name = name;
    if (group) edit.group = group;
    const before = this.rig.fixtures.length;
    this.does.send([...edits, edit]).then(() => {
      const last = this.rig.fixtures.at(-1);
      if (last && last.profile === profile && this.rig.fixtures.length > before) { this.choose(last.name); this.does.said(`Added ${last.name}, ${last.universe} ${addresses(last)}`); }
    });
  }
}

const tidy = (m) => Math.round(m * 1000) / 1000;

export const count = (n, what) => `${n} ${what}${n === 1 ? "" : "s"}`;

export function universeWords(u) {
  const { sacn, "art-net": artNet } = u.keys;
  return sacn ? `${u.name}: sACN ${sacn}` : artNet ? `${u.name}: Art-Net ${artNet}` : `${u.name}: not sent`;
}
