import { get, listen, login, logout, octets, Refusal } from "./api.js";
import { Click } from "./click.js";
import { Hands } from "./hands.js";
import { Health, Slots, Why } from "./panes.js";
import { Plan } from "./plan.js";
import { Score } from "./score.js";
import { Stage } from "./stage.js";
import { Walk } from "./walk.js";

const find = (id) => document.getElementById(id);

let show = null, moment = null, since = 0, right = "nothing", source = null, fetching = false, view = "play";

const stage = new Stage(find("lights"), ask);
const score = new Score(find("score"), (beat) => hands.player("jump", moment.player.place + 1, beat));
const hands = new Hands(find, tell, say);
const slots = new Slots(find), health = new Health(find), why = new Why(find), plan = new Plan(find, (place, beat) => { hands.player("jump", place + 1, beat); location.hash = "#play"; }), click = new Click(), walk = new Walk(find, tell);

why.closed = () => { stage.picked = -1; find("who").value = ""; };

/** Says why something was not done, for a while. */
let faultTimer = 0;
function tell(e) {
  if (e instanceof Refusal && e.status === 401) { enter(); return; }
  find("fault").textContent = e.message;
  find("fault").hidden = false;
  clearTimeout(faultTimer);
  faultTimer = setTimeout(() => { find("fault").hidden = true; }, 6000);
}

function say(words) { find("said").textContent = words; }

function ask(head) {
  stage.picked = head;
  find("who").value = String(head);
  why.open(head, show.heads[head].name);
}

// Who may do what.

function enter() {
  source?.close();
  source = null;
  if (!find("door").open) find("door").showModal();
}

find("door-form").addEventListener("submit", async (e) => {
  e.preventDefault();
  try {
    await login(find("words").value);
    find("door-fault").textContent = "";
    find("words").value = "";
    find("door").close();
    await start();
  } catch (fault) {
    find("door-fault").textContent = fault.message;
  }
});
find("door").addEventListener("cancel", (e) => e.preventDefault());
find("leave").addEventListener("click", async () => { await logout(); enter(); });

// What comes.

async function fetchShow() {
  if (fetching) return;
  fetching = true;
  try {
    show = await get("show");
    document.title = `${show.show} · tactus`;
    find("venue").textContent = `${show.venue}${show.set ? ", " + show.set : ""}${show.rehearsal ? " · rehearsal" : ""}`;
    stage.open(show);
    find("who").replaceChildren(new Option("choose a head", ""), ...show.heads.map((h, i) => new Option(h.name, i)));
    hands.open(show, right === "control");
    find("watching").hidden = right === "control";
    score.steers = Boolean(show.player) && right === "control";
    slots.open(show);
    walk.open(show, right === "control");
    find("walk-tab").hidden = !show.walk;
    if (show.walk && !location.hash) location.hash = "#walk";
    plan.open(show, score.steers);
    shownSong = undefined;
  } catch (e) { tell(e); } finally { fetching = false; }
}

let shownSong, spoken = "";

function take(m) {
  if (!show || m.revision !== show.revision) { fetchShow(); return; }
  moment = m;
  since = performance.now();
  const song = m.song >= 0 ? show.songs[m.song] : null;
  if (song !== shownSong) { shownSong = song; score.open(song); }
  write("song", song ? song.name : m.look ? `Look: ${m.look}` : "No song");
  write("place", song ? m.place : "");
  write("tempo", `${m.bpm.toFixed(1)} BPM, ${m.source} ${m.sync}${m.playing ? "" : ", stopped"}`);
  write("state", stateOf(m));
  write("next", nextOf(m, song));
  stage.draw(octets(m.light));
  hands.moment(m);
  if (view === "slots") slots.moment(m);
  const words = song && m.section >= 0 ? `${song.sections[m.section].name}${m.pass > 1 ? `, pass ${m.pass}` : ""}` : "";
  if (words !== spoken) { spoken = words; if (words) say(words); }
}

function write(id, words) {
  const e = find(id);
  if (e.textContent !== words) e.textContent = words;
}

function stateOf(m) {
  const list = [];
  if (m.workLight) list.push("Work light is on");
  if (m.blackout) list.push("Blackout");
  if (m.held) list.push("The light is held");
  if (m.overrides) list.push(`${m.overrides} held by hand`);
  if (m.master < 0.995) list.push(`Grand master at ${Math.round(m.master * 100)} %`);
  if (m.feel) list.push(m.feel < 0 ? "Effects in half time" : "Effects in double time");
  return list.join(" · ");
}

/** What waits, when it comes, and who brings it. */
function nextOf(m, song) {
  if (!song) return m.armedSong >= 0 ? `Waits: ${show.songs[m.armedSong].name}` : "The light stays until a song is chosen.";
  if (m.armedSong >= 0) return `Waits: ${show.songs[m.armedSong].name}.`;
  if (m.armed >= 0) {
    const s = song.sections[m.armed];
    return `Armed: ${s.name}, in ${count(m.armedIn, song)}, at ${m.armedPlace}.`;
  }
  if (m.section < 0) return m.playing ? "" : "Waits for the song to start.";
  const s = song.sections[m.section], left = s.start + s.length - m.beat, after = song.sections[m.section + 1];
  if (s.loop) return `${s.name} goes round until another section is entered.`;
  if (!after) return `The last section; it ends in ${count(left, song)}.`;
  return `Then ${after.name} in ${count(left, song)}, by the plan${after.note >= 0 ? `, or by note ${after.note}` : ""}.`;
}

/** Quarter notes as bars, or as beats when it is less than one. */
function count(quarters, song) {
  const bar = song.bars.length > 1 ? song.bars[1] - song.bars[0] : 4;
  const bars = quarters / bar;
  if (bars >= 1) return `${Math.ceil(bars - 0.01)} bar${bars > 1.01 ? "s" : ""}`;
  return "less than a bar";
}

// The picture in between: the music goes on while the next moment is on its way.

function frame() {
  if (moment && show) {
    const song = moment.song >= 0 ? show.songs[moment.song] : null;
    const beats = moment.bpm / 60 * (performance.now() - since) / 1000, unit = song ? quartersPerBeat(song) : 1;
    const beat = moment.beat + (moment.playing ? Math.min(beats, 1) * unit : 0);
    if (view === "play") score.show(moment, beat);
    if (song) {
      const inBar = beat - score.barAt(beat);
      find("lamp").classList.toggle("on", moment.playing && (inBar / unit) % 1 < 0.25);
      click.moment(moment.playing, beat / unit, () => inBar < unit * 0.5);
    } else find("lamp").classList.remove("on");
  }
  requestAnimationFrame(frame);
}

/** In 6/8, 9/8 and 12/8 a beat is a dotted quarter. */
function quartersPerBeat(song) {
  const [upper, lower] = song.meter.split("/").map(Number);
  return lower >= 8 && upper % 3 === 0 && upper > 3 ? 12 / lower : 4 / lower;
}

// Views.

function open() {
  const name = ["play", "walk", "slots", "plan", "health"].find((v) => "#" + v === location.hash) ?? "play";
  if (name === view && source) return;
  const before = view;
  view = name;
  for (const v of document.querySelectorAll(".view")) v.hidden = v.id !== name;
  for (const a of document.querySelectorAll("#views a")) {
    if (a.hash === "#" + name) a.setAttribute("aria-current", "page");
    else a.removeAttribute("aria-current");
  }
  if (name === "plan") plan.look();
  if (source && (before === "slots") !== (name === "slots")) connect();
}
addEventListener("hashchange", open);

find("stage-mode").addEventListener("change", (e) => { stage.flat = e.target.value === "flat"; });
find("names").addEventListener("click", (e) => { stage.named = !stage.named; e.target.setAttribute("aria-pressed", String(stage.named)); });
find("who").addEventListener("change", (e) => { if (e.target.value !== "") ask(Number(e.target.value)); else why.close(); });
find("click").addEventListener("click", (e) => e.target.setAttribute("aria-pressed", String(click.toggle())));
setInterval(() => { if (view === "play") find("lights").setAttribute("aria-label", stage.words()); }, 5000);

// Single keys, which can be turned off (WCAG 2.2, 2.1.4).

const keys = [
  [" ", "space: play or stop, in a rehearsal", () => find("go").click()],
  ["n", "n: next section at the next bar", () => find("section-next").click()],
  ["h", "h: hold, and release", () => find("hold").click()],
  ["t", "t: tap the tempo", () => find("tap").click()],
  ["w", "w: work light, and off", () => find("work-light-on").click()],
  ["b", "b, twice: blackout; once: back from it", () => find("blackout").click()],
  ["x", "x: forget what is armed", () => find("section-disarm").click()],
  [",", "comma: the cue before, in a rehearsal", () => hands.player("browse", -1)],
  [".", "full stop: the next cue, in a rehearsal", () => hands.player("browse", 1)],
];
for (let i = 1; i <= 9; i++) keys.push([String(i), i === 1 ? "1 to 9: arm a section; twice: enter it now" : "", () => find("parts").children[i - 1]?.click()]);
find("key-list").replaceChildren(...keys.filter((k) => k[1]).flatMap(([, words]) => {
  const [key, ...rest] = words.split(": "), a = document.createElement("dt"), b = document.createElement("dd");
  a.textContent = key;
  b.textContent = rest.join(": ");
  return [a, b];
}));
addEventListener("keydown", (e) => {
  if (!find("keys").checked || e.ctrlKey || e.metaKey || e.altKey || e.repeat || find("door").open || view !== "play") return;
  const t = e.target;
  if (t.matches?.("input, select, textarea") || e.key === " " && t.matches?.("button, summary, a")) return;
  const key = keys.find((k) => k[0] === e.key);
  if (!key || (e.key === " " || e.key === "," || e.key === ".") && !show?.player) return;
  e.preventDefault();
  key[2]();
});

// The beginning.

function connect() {
  source?.close();
  source = listen(view === "slots", (kind, value) => {
    if (kind === "moment") take(value);
    else if (kind === "report") health.report(value);
    else if (kind === "open") find("fault").hidden = true;
    else if (kind === "lost") {
      write("state", "The program does not answer. What you see is old. Work light by the console, or by its note.");
      moment = null;
      find("lamp").classList.remove("on");
      if (value) setTimeout(start, 2000); // refused: see whether a passphrase is wanted
    }
  });
}

async function start() {
  try {
    right = (await get("access")).right;
    if (right === "nothing") { enter(); return; }
    await fetchShow();
    connect();
  } catch (e) {
    tell(e);
    setTimeout(start, 2000);
  }
}

open();
start();
requestAnimationFrame(frame);
