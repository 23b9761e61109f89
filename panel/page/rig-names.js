// The names by which show files call heads: groups, fixtures, ranges of fixtures.

export class RigNames {
  /** show has the groups and heads of the rig. */
  constructor(show) {
    this.show = show;
    this.byName = new Map(show.groups.map((g) => [g.name, g.heads]));
    this.byHead = new Map(show.heads.map((h, i) => [h.name, i]));
  }

  /** The heads of a name, by index; none for a name that is not known. */
  heads(name) {
    const group = this.byName.get(name);
    if (group) return group;
    if (this.byHead.has(name)) return [this.byHead.get(name)];
    const of = this.show.heads.flatMap((h, i) => (h.name.startsWith(name + " head ") ? [i] : []));
    if (of.length) return of;
    const range = /^(.*?)(\d+)-(\d+)$/.exec(name);
    if (!range || Number(range[3]) - Number(range[2]) > this.show.heads.length) return [];
    const list = [];
    for (let n = Number(range[2]); n <= Number(range[3]); n++) list.push(...this.heads(range[1] + n));
    return list;
  }

  /** As few names as stand for just these heads. Names that are written already are
   *  preferred, then groups, then ranges of fixtures. */
  names(heads, written = []) {
    const left = new Set(heads), list = [], size = (name) => this.heads(name).length;
    const take = (name) => {
      const of = this.heads(name);
      if (!of.length || !of.every((i) => left.has(i))) return;
      of.forEach((i) => left.delete(i));
      list.push(name);
    };
    const whole = [...written, ...this.byName.keys()].find((name) => { const of = this.heads(name); return of.length === left.size && of.every((i) => left.has(i)); });
    if (whole) return [whole];
    for (const name of [...this.byName.keys()].filter((n) => size(n) > 1).sort((a, b) => size(b) - size(a))) take(name);
    const rest = [];
    for (const i of [...left].sort((a, b) => a - b)) {
      const head = this.show.heads[i].name, fixture = head.replace(/ head \d+$/, ""), all = this.heads(fixture);
      if (!left.has(i)) continue;
      const name = all.every((k) => left.has(k)) ? fixture : head;
      this.heads(name).forEach((k) => left.delete(k));
      rest.push(name);
    }
    return [...list, ...ranges(rest)];
  }
}

/** Names that are numbered one after another, as ranges: "wash 2-4". */
export function ranges(names) {
  const list = [];
  for (const name of names) {
    const [, stem, number] = /^(.*\D)(\d+)$/.exec(name) ?? [, name, ""];
    const last = list.at(-1);
    if (number && !name.includes(" head ") && last?.stem === stem && last.to + 1 === Number(number)) last.to++;
    else list.push({ stem, from: Number(number), to: Number(number), name, numbered: number !== "" });
  }
  return list.map((r) => (r.numbered && r.to > r.from ? `${r.stem}${r.from}-${r.to}` : r.name));
}
