// The views beside the play: slots, health, plan; and why a head shows what it shows.

import { get, octets } from "./api.js";
import { element, sentence } from "./words.js";

/** 512 slots of a universe, with those that a fixture has. */
export class Slots {
  constructor(find) {
    this.table = find("bytes");
    this.select = find("universe");
    this.select.addEventListener("change", () => this.lay());
  }

  open(show) {
    this.show = show;
    this.select.replaceChildren(...show.universes.map((u, i) => new Option(u.label, i)));
    this.lay();
  }

  lay() {
    const universe = Number(this.select.value), across = 16;
    const patched = new Map();
    for (const h of this.show.heads) {
      if (h.universe !== universe) continue;
      for (let i = 0; i < h.slots; i++) patched.set(h.address + i, h.name);
    }
    this.cells = [];
    const rows = [];
    for (let from = 1; from <= 512; from += across) {
      const row = element("tr"), head = element("th", String(from));
      head.scope = "row";
      row.append(head);
      for (let slot = from; slot < from + across; slot++) {
        const cell = element("td", "0");
        if (patched.has(slot)) { cell.className = "patched"; cell.title = `slot ${slot}: ${patched.get(slot)}`; }
        this.cells.push(cell);
        row.append(cell);
      }
      rows.push(row);
    }
    this.table.replaceChildren(...rows);
    this.last = null;
  }

  moment(m) {
    const text = m.slots?.[Number(this.select.value)];
    if (!text || text === this.last) return;
    this.last = text;
    octets(text).forEach((v, i) => {
      const cell = this.cells[i], words = String(v);
      if (cell.textContent !== words) { cell.textContent = words; cell.classList.toggle("lit", v > 0); }
    });
  }
}

/** What is well and what is not, in words, with what to do. */
export class Health {
  constructor(find) { this.notes = find("notes"); this.numbers = find("numbers"); this.clock = find("clock-numbers"); this.worry = find("worry"); }

  report(r) {
    const list = notesOf(r, this.last, this.walks);
    this.last = r;
    const bad = list.filter((n) => n.bad).length;
    this.worry.hidden = bad === 0;
    const more = element("span", " to check", "more");
    this.worry.replaceChildren(...bad ? [String(bad), more] : []);
    this.notes.replaceChildren(...list.map((n) => {
      const li = element("li", n.words, n.bad ? "bad" : "");
      if (n.todo) li.append(element("small", n.todo));
      return li;
    }));
    const rows = [
      ["Frames", r.frames], ["Frames missed", r.missed], ["Worst wake in the last second", `${r.lateMs} ms late`],
      ["Errors of outputs", r.errors], ["Unknown notes and requests", r.unknown], ["MIDI dropped", r.dropped], ["OSC dropped", r.oscDropped], ["Requests of pages dropped", r.pageDropped],
    ];
    const c = r.clock, clock = [
      ["Tempo source, and lock", `${r.source}, ${r.sync}`], ["Error of the beat, at most about", `${r.errorMs} ms`],
      ["Pattern of the ticks", c.feed + (c.everyMs ? `, every ${c.everyMs} ms` : "")], ["Ticks late, on average", `${c.lateMs} ms`],
      ["19 ticks in 20 late by less than", `${c.spreadMs} ms`], ["Unknown delay of all ticks, at most", `${c.unknownMs} ms`],
      ["Lost ticks added", c.lost], ["Double ticks removed", c.extra],
    ];
    for (const [list, into] of [[rows, this.numbers], [clock, this.clock]]) {
      into.replaceChildren(...list.flatMap(([a, b]) => [element("dt", a), element("dd", String(b))]));
    }
  }
}

function notesOf(r, last, walks) {
  const list = [];
  for (const f of r.faults ?? []) list.push({ bad: true, words: f, todo: "The show continues as it was before the edit. Correct the file and save it." });
  for (const l of r.links ?? []) if (!r.outputFault.includes(l)) list.push({ bad: true, words: `Nothing leaves by ${l}`, todo: "Check the cable and the device at its other end." });
  if (r.pair && !r.pair.follows) list.push({ bad: true, words: `${sentence(r.pair.words)}.`, todo: "Nobody would take over now. Check that the other computer runs, and the network between the two." });
  else if (r.pair) list.push({ bad: false, words: `${sentence(r.pair.words)}.` });
  if (r.pair?.differing > (last?.pair?.differing ?? r.pair?.differing)) list.push({ bad: true, words: "The computer that follows has made other light than the one on the lamps.", todo: "It asks for the whole state by itself. If this comes again, use the same program and the same kind of computer on both." });
  if (r.outputFault) list.push({ bad: true, words: `Light is not being sent: ${r.outputFault}`, todo: "Check the network cable and the interface. Every frame tries again." });
  if (!walks) list.push({ bad: r.clock.level === "grave", words: r.clock.words, todo: r.clock.help });
  if (r.bars.ticks) list.push({ bad: true, words: `${sentence(r.bars.words)}.`, todo: "The button stands on top of the controls. Most likely ticks of the clock got lost on the way; until it is pressed, cues and effects are beside the music by so much." });
  for (const p of r.ports ?? []) {
    if (!p.up) list.push({ bad: true, words: `MIDI input ${p.name} is not connected. ${p.fault}`, todo: "Plug it in again; it reconnects by itself." });
    else if (p.quiet < 0 || p.quiet > 10) list.push({ bad: false, words: `MIDI input ${p.name} is open and silent${p.quiet < 0 ? "" : ` for ${Math.round(p.quiet)} s`}.`, todo: "If the DAW plays: let it send clock and notes to this port." });
    else list.push({ bad: false, words: `MIDI input ${p.name} is receiving.` });
  }
  if (last && r.missed > last.missed) list.push({ bad: true, words: "Frames were missed in the last second: this computer is too busy.", todo: "Close other programs." });
  if (r.limiter?.acts) list.push({ bad: true, words: `The flash limiter is reducing flashes now: ${r.limiter.words}`, todo: "A tempo or an effect asks for more flashes than is safe." });
  for (const n of r.nodes ?? []) list.push({ bad: /no longer|never/.test(n), words: `Art-Net node ${n}` });
  for (const w of r.inputs ?? []) {
    const bad = /is gone|not received|follow it|same as ours/.test(w);
    list.push({ bad, words: `${sentence(w)}.`, todo: /follow it|same as ours/.test(w) ? "Another source sends this universe. If it should not, lower its priority or end it." : "" });
  }
  if (!r.outputFault) list.push({ bad: false, words: "Frames are being sent." });
  return list;
}

/** Why a head shows what it shows, layer by layer. */
export class Why {
  constructor(find) {
    this.box = find("why"); this.title = find("why-title"); this.text = find("why-text");
    this.head = -1;
    find("why-close").addEventListener("click", () => this.close());
  }

  close() { this.head = -1; this.box.hidden = true; clearInterval(this.timer); this.closed?.(); }

  open(head, name) {
    clearInterval(this.timer);
    this.head = head;
    this.title.textContent = name;
    this.box.hidden = false;
    this.ask();
    this.timer = setInterval(() => this.ask(), 1000);
  }

  async ask() {
    const head = this.head;
    let why;
    try { why = await get("explain?head=" + head); } catch (e) { this.text.textContent = e.message; return; }
    if (head !== this.head) return;
    const at = element("p", why.at, "quiet"), cue = element("p", why.cue, "quiet");
    const tables = why.heads.flatMap((h) => h.parameters.map((p) => {
      const t = element("table"), caption = element("caption", `${p.name}: decided by ${p.decided_by}`);
      t.append(caption);
      for (const l of p.layers) {
        const row = element("tr", undefined, l.decides ? "decides" : "");
        const name = element("th", l.layer);
        name.scope = "row";
        row.append(name, element("td", percent(l.value)), element("td", l.because));
        t.append(row);
      }
      return t;
    }));
    this.text.replaceChildren(at, cue, ...tables);
  }
}

const percent = (v) => v.map((x) => `${Math.round(x * 100)} %`).join(" ");
