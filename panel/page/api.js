// The interface of the binary: everything here can be done with curl as well.

const root = "/api/v1/";

/** Why something was not done, in words. */
export class Refusal extends Error {
  /** value is the whole answer, where it has more than words. */
  constructor(status, words, value = null) { super(words); Object.assign(this, { status, value }); }
}

async function call(method, path, body, headers = {}) {
  const file = body instanceof Blob;
  let answer;
  try {
    answer = await fetch(root + path, {
      method, cache: "no-store", signal: AbortSignal.timeout(path === "plan" || path.startsWith("compose/night/") ? 300000 : 10000),
      headers: body === undefined ? headers : { ...headers, "Content-Type": !file ? "application/json" : path.startsWith("compose/midi") ? "audio/midi" : "application/octet-stream" },
      body: body === undefined || file ? body : JSON.stringify(body),
    });
  } catch {
    throw new Refusal(0, "The program does not answer.");
  }
  const text = await answer.text();
  const value = text && answer.headers.get("Content-Type")?.startsWith("application/json") ? JSON.parse(text) : null;
  if (!answer.ok) throw new Refusal(answer.status, value?.error ?? `answered with ${answer.status}`, value);
  return value;
}

export const get = (path) => call("GET", path);
export const login = (passphrase) => call("POST", "login", { passphrase });
export const logout = () => call("POST", "logout", {});
export const ask = (path, ...words) => call("POST", "ask/" + path, { with: words });
export const walk = (word, ...rest) => call("POST", "walk/" + word, { with: rest });
export const changeOver = () => call("POST", "change-over", {});
export const player = (path, ...words) => call("POST", "player/" + path, { with: words });

/** Changing the show's files. What changes them is refused when the tag is not that of the
 *  present state. amend: the edits go on with the last change, and one undo takes both back. */
const at = (tag) => ({ "If-Match": `"${tag}"` });
export const compose = {
  get: () => call("GET", "compose"),
  look: (look, song) => call("GET", "compose/look?" + new URLSearchParams({ look, effects: "none", ...song && { song } })),
  looks: (song) => call("GET", "compose/looks?" + new URLSearchParams({ ...song && { song } })),
  reaches: () => call("GET", "compose/reaches"),
  colour: (colour) => call("GET", "compose/colour?" + new URLSearchParams({ colour })),
  measured: (song) => call("GET", "compose/measured?song=" + encodeURIComponent(song)),
  draft: (song, sections) => call("GET", `compose/draft?song=${encodeURIComponent(song)}&sections=${sections.join(",")}`),
  remedy: (song, found) => call("GET", `compose/remedy?song=${encodeURIComponent(song)}&finding=${encodeURIComponent(found.finding)}&beat=${found.beat}`),
  edit: (tag, edits, amend) => call("POST", "compose/edit", amend ? { edits, amend } : { edits }, at(tag)),
  night: (set) => call("GET", "compose/night?set=" + encodeURIComponent(set)),
  nightMeasured: (set) => call("GET", "compose/night/measured?set=" + encodeURIComponent(set)),
  midi: (file, name) => call("POST", "compose/midi?name=" + encodeURIComponent(name), file),
  hanging: () => call("GET", "compose/hanging"),
  hang: (tag, what) => call("POST", "compose/hang", what, at(tag)),
  gdtf: (tag, file, mode) => call("POST", "compose/gdtf" + (mode ? "?mode=" + encodeURIComponent(mode) : ""), file, at(tag)),
  act: (word, tag) => call("POST", "compose/" + word, {}, at(tag)),
};

/** An effect as it is edited, for a drawing; flashes: whether the flash limiter holds it back. */
export const composeEffect = ({ effect, song, period = 0, flashes = false }) =>
  call("GET", "compose/effect?" + new URLSearchParams({ effect, ...song && { song }, period, ...flashes && { flashes: "yes" } }));

/** Moments and reports as they come; on(kind, value), of which "lost" is the last. */
export function listen(slots, on) {
  const source = new EventSource(root + "events?rate=30" + (slots ? "&slots=1" : ""));
  for (const kind of ["moment", "report", "composed"]) {
    source.addEventListener(kind, (e) => on(kind, JSON.parse(e.data)));
  }
  source.addEventListener("open", () => on("open"));
  source.addEventListener("error", () => { source.close(); on("lost"); });
  return source;
}

/** Octets of base64. */
export function octets(text) {
  const s = atob(text), b = new Uint8Array(s.length);
  for (let i = 0; i < s.length; i++) b[i] = s.charCodeAt(i);
  return b;
}
