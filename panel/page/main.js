import { get, login, logout, octets, Refusal } from "./api.js";
import { Click } from "./click.js";
import { Compose } from "./compose.js";
import { Controls } from "./controls.js";
import { Keys } from "./keys.js";
import { Connection } from "./connection.js";
import { Now, quartersPerBeat, write } from "./now.js";
import { Health, Slots, Why } from "./panes.js";
import { Plan } from "./plan.js";
import { Score } from "./score.js";
import { Stage } from "./stage.js";
import { dimmed } from "./theme.js";
import { Walk } from "./walk.js";

const find = (id) => document.getElementById(id);

let show = null, moment = null, since = 0, right = "nothing", fetching = false, view = "";

const stage = new Stage(find("lights"), ask);
const score = new Score(find, (beat) => controls.player("jump", moment.player.place + 1, beat));
const controls = new Controls(find, tell, say);
const now = new Now(find);
const slots = new Slots(find), health = new Health(find), why = new Why(find), click = new Click(), walk = new Walk(find, tell);
const plan = new Plan(find, (place, beat) => { controls.player("jump", place + 1, beat); location.hash = "#play"; });
const composing = new Compose(find, tell, say, async (name, beat) => {
  if (moment.playing && show.songs[moment.song]?.name === name) { await controls.player("stop"); return; }
  const place = show.setList.findIndex((i) => show.songs[i].name === name);
  if (place < 0) { tell(new Error("The song is not in the set that plays: put it there first.")); return; }
  await controls.player("jump", place + 1, beat);
  await controls.player("play");
}, stage);
const connection = new Connection(find, heard, admit, () => view === "slots");

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
  connection.close();
  if (!find("login").open) find("login").showModal();
}

async function admit(may) {
  right = may;
  if (right === "nothing") { enter(); return false; }
  await fetchShow();
  return true;
}

find("login-form").addEventListener("submit", async (e) => {
  e.preventDefault();
  try {
    await login(find("words").value);
    find("login-fault").textContent = "";
    find("words").value = "";
    find("login").close();
    await connection.start();
  } catch (fault) {
    find("login-fault").textContent = fault.message;
  }
});
find("login").addEventListener("cancel", (e) => e.preventDefault());
find("leave").addEventListener("click", async () => { await logout(); enter(); });

// What comes.

function heard(kind, value) {
  switch (kind) {
    case "moment": take(value); break;
    case "report": health.report(value); controls.report(value); break;
    case "composed": composing.look(value.tag); break;
    case "open": find("fault").hidden = true; break;
    default: // "lost" and "found"
      document.body.classList.toggle("lost", kind === "lost");
      usable();
      if (kind === "lost") write(find("state"), `Last known: ${find("state").textContent}`);
  }
}

/** Buttons work for those who may press them, while somebody hears. */
function usable() {
  const may = right === "control" && !connection.lost;
  for (const id of ["pair-set", "controls-set", "light-set", "walk-set", "findings", "compose-tools", "compose-set"]) find(id).disabled = !may;
  score.steers = Boolean(show?.player) && may;
}

async function fetchShow() {
  if (fetching) return;
  fetching = true;
  try {
    show = await get("show");
    document.title = `${show.show} · tactus`;
    document.body.classList.toggle("walks", show.walk);
    find("venue").textContent = `${show.venue}${show.set ? ", " + show.set : ""}${show.rehearsal ? " · rehearsal" : ""}`;
    stage.open(show);
    find("who").replaceChildren(new Option("choose a head", ""), ...show.heads.map((h, i) => new Option(h.name, i)));
    controls.open(show);
    now.open(show);
    find("watching").hidden = right === "control";
    slots.open(show);
    walk.open(show);
    health.walks = show.walk;
    usable();
    plan.open(show, score.steers);
    find("mark-play").hidden = !show.player;
    if (view === "compose") composing.look();
    shownSong = undefined;
    open();
  } finally { fetching = false; }
}

let shownSong, spoken = "";

function take(m) {
  if (!show || m.revision !== show.revision) { fetchShow().catch(tell); return; }
  moment = m;
  since = performance.now();
  const song = m.song >= 0 ? show.songs[m.song] : null;
  if (show.walk) write(find("song"), "Rig walk");
  else now.moment(m); // sets the song's accent, which the score is drawn with
  if (song !== shownSong) { shownSong = song; score.open(song); }
  write(find("state"), stateOf(m));
  stage.draw(octets(m.light));
  controls.moment(m);
  if (view === "slots") slots.moment(m);
  const words = song && m.section >= 0 ? `${song.sections[m.section].name}${m.pass > 1 ? `, pass ${m.pass}` : ""}` : "";
  if (words !== spoken) { spoken = words; if (words) say(words); }
}

/** The settings that change the light, in words. */
function stateOf(m) {
  const list = [], percent = (v) => `${Math.round(v * 100)} %`;
  if (m.workLight) list.push("Work light is on");
  if (m.blackout) list.push("Blackout");
  if (m.held) list.push("The light is held");
  if (m.master < 0.995) list.push(`Grand master at ${percent(m.master)}`);
  m.masters.forEach((v, i) => { if (v < 0.995) list.push(`${show.groups[i].name} at ${percent(v)}`); });
  for (const o of m.overrides) list.push(`${show.groups[o.group].name} ${o.what} override at ${percent(o.level)}`);
  if (m.house >= 0) list.push(`House lights set to ${percent(m.house)}`);
  if (m.feel) list.push(m.feel < 0 ? "Effects in half time" : "Effects in double time");
  if (m.songWaits) list.push(`◆ ${show.songs[m.armedSong].name} armed by a program change; Disarm releases it`);
  return list.join(" · ") || (m.song >= 0 ? "The light follows the song" : "No song: the look stays");
}

// The picture in between: the music goes on while the next moment is on its way.

function frame() {
  requestAnimationFrame(frame);
  if (!moment || !show || show.walk) return;
  const song = moment.song >= 0 ? show.songs[moment.song] : null;
  const beats = moment.bpm / 60 * (performance.now() - since) / 1000, unit = song ? quartersPerBeat(song) : 1;
  const beat = moment.beat + (moment.playing ? Math.min(beats, 1) * unit : 0);
  now.draw(beat);
  const armed = find("next-box").classList.contains("armed");
  write(find("armed"), armed ? `◆ Armed: ${find("next-name").textContent} ${find("next-in").textContent}` : "");
  if (view === "play") score.show(moment, beat);
  if (view === "compose") composing.moment(moment, song?.name, beat);
  if (song && !connection.lost) {
    const inBar = beat - score.barAt(beat);
    click.moment(moment.playing, beat / unit, () => inBar < unit * 0.5);
  }
}

// Views.

function open() {
  const names = show?.walk ? ["walk", "slots", "health"] : ["play", "compose", "slots", "plan", "health"];
  const [asked, room] = location.hash.slice(1).split("/");
  const name = names.find((v) => v === asked) ?? names[0];
  if (name === "compose") composing.enter(room ?? composing.room);
  for (const v of document.querySelectorAll(".view")) v.hidden = v.id !== name;
  for (const a of document.querySelectorAll("#views a")) {
    a.hidden = !names.includes(a.hash.slice(1));
    if (a.hash === "#" + name) a.setAttribute("aria-current", "page");
    else a.removeAttribute("aria-current");
  }
  if (name === view) return;
  const before = view;
  view = name;
  if (before === "compose") composing.away();
  if (name === "plan") plan.look();
  if (name === "play" || name === "compose") placeStage(name);
  if (name === "compose") { if (!composing.seen) composing.follow(show?.songs[moment?.song]?.name); composing.look(); }
  if (before && (before === "slots") !== (name === "slots")) connection.start();
}
addEventListener("hashchange", open);

/** The stage is seen where the show is played and where it is changed. */
function placeStage(name) {
  if (name === "compose") find("compose-stage").prepend(find("stage"));
  else find("stage-and-score").prepend(find("stage"));
}

find("stage-mode").addEventListener("change", (e) => { stage.flat = e.target.value === "flat"; });
find("names").addEventListener("click", (e) => { stage.named = !stage.named; e.target.setAttribute("aria-pressed", String(stage.named)); });
find("who").addEventListener("change", (e) => { if (e.target.value !== "") ask(Number(e.target.value)); else why.close(); });
find("click").addEventListener("click", (e) => e.target.setAttribute("aria-pressed", String(click.toggle())));
find("dim").setAttribute("aria-pressed", String(dimmed()));
find("dim").addEventListener("click", (e) => { e.target.setAttribute("aria-pressed", String(dimmed(!dimmed()))); score.fit(); });
setInterval(() => { if (view === "play") find("lights").setAttribute("aria-label", stage.words()); }, 5000);

// What stands fixed takes its room from what scrolls.
const room = new ResizeObserver(() => {
  document.documentElement.style.setProperty("--bar", find("light-bar").offsetHeight + "px");
  document.documentElement.style.setProperty("--head", find("head").offsetHeight + "px");
  document.documentElement.style.setProperty("--stage", find("compose-stage").offsetHeight + "px");
});
room.observe(find("light-bar"));
room.observe(find("head"));
room.observe(find("compose-stage"));

const press = (id) => () => find(id).click();
const playKeys = [
  ["n", "n: next section at the next bar", press("section-next")],
  ["h", "h: hold, or release", press("hold")],
  ["b", "b, twice: blackout; once: restore", press("blackout")],
  ["w", "w: work light on or off", press("work-light-on")],
  ["x", "x: disarm the section or song", press("section-disarm")],
  ["t", "t: tap the tempo", press("tap")],
];
for (let i = 1; i <= 9; i++) playKeys.push([String(i), i === 1 ? "1 to 9: arm a section; twice: enter it now" : "", () => find("parts").children[i - 1]?.click()]);
const playerKeys = [
  [" ", "space: play or stop", press("go")],
  [",", "comma: the cue before", () => controls.player("browse", -1)],
  [".", "full stop: the next cue", () => controls.player("browse", 1)],
];
const composeKeys = [
  ["m", "m: a section begins here, while the music plays", () => composing.marking.mark()],
  ["z", "z: undo the last change", press("compose-undo")],
  ["y", "y: make it again", press("compose-redo")],
  [" ", "space: play or stop", press("go")],
];
for (let i = 0; i <= 9; i++) composeKeys.push([String(i), i === 0 ? "0 to 9: the energy of the section that plays" : "", () => composing.marking.digit(i)]);
const dimKey = ["d", "d: dim the page, or undim it", press("dim")];
new Keys(find, () => show?.walk ? walk.keys() : view === "compose" ? [...composeKeys.filter(([k]) => composing.room === "song" || "zy ".includes(k)), dimKey] : [...playKeys, ...show?.player ? playerKeys : [], dimKey]);

open();
connection.start();
requestAnimationFrame(frame);
