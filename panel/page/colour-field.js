// A field on which a colour is chosen: hue across, from pure at the top to white at the
// foot. What some of the types of fixture cannot show is hatched, and what each makes of
// the colour is said in words. Sliders do the same for keys; a text takes names and
// colour temperatures.

import { compose, octets } from "./api.js";
import { write } from "./now.js";
import { element } from "./words.js";

const wide = 180, high = 72; // of the picture, in pixels; the browser smooths it
const parts = [["hue", "Hue", 360, "°"], ["pure", "White to pure", 100, "%"], ["bright", "Dark to bright", 100, "%"]];

let fields = 0;

export class ColourField {
  /** changed(text, gesture) is told of each colour that is chosen, as show files write it. */
  constructor(box, changed) {
    Object.assign(this, { box, changed, heads: null, at: { hue: 0, pure: 0, bright: 100 }, gesture: 0, asked: 0, number: ++fields });
    box.classList.add("colour-field");
    this.canvas = element("canvas", undefined, "field");
    this.canvas.width = wide;
    this.canvas.height = high;
    this.canvas.setAttribute("aria-hidden", "true");
    this.mark = element("span", undefined, "mark");
    this.mark.setAttribute("aria-hidden", "true");
    const plane = element("div", undefined, "plane");
    plane.append(this.canvas, this.mark);
    this.hatched = element("p", "", "quiet hint");
    this.makes = element("ul", undefined, "makes");
    this.fault = element("p", "", "fault");
    this.fault.setAttribute("role", "alert");
    box.append(plane, this.hatched, ...this.sliders(), this.written(), this.fault, this.makes);
    this.holds(plane);
  }

  sliders() {
    this.inputs = {};
    return parts.map(([key, words, most]) => {
      const label = element("label", `${words} `, "slide"), input = element("input"), out = element("output");
      Object.assign(input, { type: "range", min: 0, max: most, value: 0 });
      input.id = `colour-${this.number}-${key}`;
      out.htmlFor = input.id;
      label.append(input, out);
      input.addEventListener("pointerdown", () => { this.gesture++; });
      input.addEventListener("focus", () => { this.gesture++; });
      input.addEventListener("input", () => this.choose({ [key]: Number(input.value) }));
      this.inputs[key] = { input, out };
      return label;
    });
  }

  written() {
    const label = element("label", "As text "), hint = element("span", " such as #ff8040, gold or 3200 K", "quiet hint");
    this.text = Object.assign(element("input"), { type: "text", maxLength: 40, autocomplete: "off", spellcheck: false });
    this.text.addEventListener("change", () => this.type(this.text.value.trim()));
    label.append(this.text, hint);
    return label;
  }

  /** A finger on the field moves the colour. */
  holds(plane) {
    let held = false;
    const move = (e) => {
      const r = plane.getBoundingClientRect(), x = (e.clientX - r.x) / r.width, y = (e.clientY - r.y) / r.height;
      this.choose({ hue: Math.round(Math.max(0, Math.min(1, x)) * 359), pure: Math.round(Math.max(0, Math.min(1, 1 - y)) * 100) });
    };
    plane.addEventListener("pointerdown", (e) => {
      if (!e.isPrimary || e.button || this.text.matches(":disabled")) return;
      e.preventDefault();
      plane.setPointerCapture(e.pointerId);
      held = true;
      this.gesture++;
      move(e);
    });
    plane.addEventListener("pointermove", (e) => { if (held) move(e); });
    for (const kind of ["pointerup", "pointercancel"]) plane.addEventListener(kind, () => { held = false; });
  }

  /** Somebody chooses a colour on the field or by a slider. */
  choose(some) {
    Object.assign(this.at, some);
    const text = hexOf(this.at);
    this.text.value = text;
    write(this.fault, "");
    this.settle(text);
    this.changed(text, `colour ${performance.timeOrigin} ${this.number} ${this.gesture}`);
  }

  /** Somebody types a colour. */
  async type(text) {
    this.asked++;
    try {
      this.take(await compose.colour(text));
      write(this.fault, "");
      this.changed(text, "");
    } catch (e) { write(this.fault, e.message); }
  }

  /** Shows a colour as written, for some heads, by index, or for all. */
  show(text, shown, heads = null) {
    if (text !== this.now) write(this.fault, "");
    Object.assign(this, { heads, now: text });
    if (document.activeElement !== this.text && this.text.value !== text) this.text.value = text;
    const hex = /^#[0-9a-f]{6}$/i.test(text) ? text : shown;
    if (hex && hexOf(this.at) !== hex.toLowerCase()) this.at = partsOf(hex, this.at);
    this.settle(text);
  }

  /** Draws what is known at once, and asks for the rest. */
  settle(text) {
    this.draw();
    clearTimeout(this.later);
    this.later = setTimeout(() => this.ask(text), 60);
  }

  async ask(text) {
    const asked = ++this.asked;
    try {
      const mixed = await compose.colour(text);
      if (asked === this.asked) this.take(mixed);
    } catch { /* what is not a colour is said where it is typed */ }
  }

  /** Takes in what each type makes of the colour. */
  take(mixed) {
    if (hexOf(this.at) !== mixed.colour.shown) { this.at = partsOf(mixed.colour.shown, this.at); this.draw(); }
    const types = mixed.types.filter((t) => this.concerns(t));
    this.makes.replaceChildren(...types.map((t) => {
      const li = element("li", undefined, t.reached ? "" : "off"), swatch = element("span", undefined, "swatch");
      swatch.style.background = t.shown;
      li.append(swatch, element("span", `${t.type}: ${t.words} (ΔE ${t.deltaE.toFixed(1)})`));
      return li;
    }), ...types.length ? [] : [element("li", "None of these fixtures mixes colours.")]);
  }

  concerns(type) { return !this.heads || type.heads.some((i) => this.heads.includes(i)); }

  /** Which colours the types of the rig show. rig is anything that is another when the rig
   *  has changed. */
  async open(rig) {
    if (this.rig === rig) return;
    this.rig = rig;
    try {
      this.reaches = await compose.reaches();
      this.reaches.types.forEach((t) => { t.by = octets(t.differences); });
    } catch { this.rig = undefined; return; } // asked again with the next edit
    this.draw();
  }

  /** How far the worst of the types is from a colour of the field. */
  differs(types, hue, pure) {
    const { hues, saturations } = this.reaches, h = Math.round(hue / 360 * hues) % hues, s = pure / 100 * (saturations - 1), low = Math.floor(s), x = s - low;
    let worst = 0;
    for (const t of types) {
      const a = t.by[h * saturations + low], b = t.by[h * saturations + Math.min(saturations - 1, low + 1)];
      worst = Math.max(worst, (a + (b - a) * x) / 10);
    }
    return worst;
  }

  draw() {
    for (const [key, , , unit] of parts) {
      const { input, out } = this.inputs[key];
      if (Number(input.value) !== this.at[key]) input.value = this.at[key];
      write(out, `${Math.round(this.at[key])} ${unit}`);
    }
    this.mark.style.left = `${this.at.hue / 359 * 100}%`;
    this.mark.style.top = `${100 - this.at.pure}%`;
    this.mark.style.background = hexOf(this.at);
    const types = this.reaches?.types.filter((t) => this.concerns(t)) ?? [], seen = JSON.stringify(types.map((t) => t.type));
    if (seen === this.seen && types.length) return;
    this.seen = seen;
    const off = this.paint(types);
    write(this.hatched, off.length ? `Hatched: colours that ${off.join(" and ")} cannot reach.` : types.length ? "These fixtures reach every colour of the field." : "");
  }

  /** Paints the field, and returns the types that do not reach all of it. */
  paint(types) {
    const g = this.canvas.getContext("2d"), image = g.createImageData(wide, high), off = new Set();
    for (let y = 0; y < high; y++) {
      for (let x = 0; x < wide; x++) {
        const hue = x / (wide - 1) * 359, pure = 100 - y / (high - 1) * 100, rgb = rgbOf({ hue, pure, bright: 100 });
        const out = types.filter((t) => this.differs([t], hue, pure) >= this.reaches.from), k = out.length && (x + y) % 6 < 3 ? 0.25 : 1;
        out.forEach((t) => off.add(t.type));
        for (let c = 0; c < 3; c++) image.data[4 * (y * wide + x) + c] = rgb[c] * k;
        image.data[4 * (y * wide + x) + 3] = 255;
      }
    }
    g.putImageData(image, 0, 0);
    return [...off];
  }
}

/** sRGB codes, 0..255, of a hue in degrees, and of shares in percent (the hexcone model). */
function rgbOf({ hue, pure, bright }) {
  return [5, 3, 1].map((shift) => {
    const k = (shift + hue / 60) % 6;
    return Math.round(255 * bright / 100 * (1 - pure / 100 * Math.max(0, Math.min(k, 4 - k, 1))));
  });
}

const hexOf = (at) => "#" + rgbOf(at).map((v) => v.toString(16).padStart(2, "0")).join("");

/** The parts of a colour. Greys have the hue that was there before, and black its purity. */
function partsOf(hex, before) {
  const [r, g, b] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16)), top = Math.max(r, g, b), span = top - Math.min(r, g, b);
  const bright = top / 255 * 100;
  if (!top) return { ...before, bright };
  const pure = span / top * 100;
  if (!span) return { hue: before.hue, pure, bright };
  const sixth = top === r ? (g - b) / span : top === g ? 2 + (b - r) / span : 4 + (r - g) / span;
  return { hue: (sixth * 60 + 360) % 360, pure, bright };
}
