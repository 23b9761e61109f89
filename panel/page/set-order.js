// Songs in an order that a hand changes: a grip follows a mouse or a finger, and arrow keys.

const edge = 90; // pixels at the upper and lower end of the screen in which the page scrolls

export class SetOrder {
  /** list is the list's element; its items have data-file, and a grip with the class "grip".
   *  moved(order, file, to) has the files in their new order, and which went where. */
  constructor(list, moved) {
    Object.assign(this, { list, moved, held: null });
  }

  files() { return [...this.list.children].map((li) => li.dataset.file); }

  /** A new item's grip. */
  take(grip, li) {
    grip.addEventListener("pointerdown", (p) => {
      if (!p.isPrimary || p.button || grip.matches(":disabled")) return;
      p.preventDefault();
      grip.focus({ preventScroll: true });
      grip.setPointerCapture(p.pointerId);
      this.held = { li, before: this.files(), by: p.clientY - li.getBoundingClientRect().top, y: p.clientY };
      li.classList.add("held");
      this.scroll();
    });
    grip.addEventListener("pointermove", (p) => {
      if (this.held?.li !== li) return;
      this.held.y = p.clientY;
      this.place();
    });
    grip.addEventListener("pointerup", () => this.drop(li, true));
    for (const kind of ["pointercancel", "lostpointercapture"]) grip.addEventListener(kind, () => this.drop(li, false));
    grip.addEventListener("keydown", (k) => {
      if (k.key === "Escape" && this.held) { this.drop(this.held.li, false); return; }
      const order = this.files(), from = order.indexOf(li.dataset.file);
      const to = { ArrowUp: from - 1, ArrowDown: from + 1, Home: 0, End: order.length - 1 }[k.key];
      if (to === undefined || this.held) return;
      k.preventDefault();
      this.move(li.dataset.file, to);
    });
  }

  /** Moves a song to a place, from 0. */
  move(file, to) {
    const order = this.files(), from = order.indexOf(file);
    if (from < 0 || to < 0 || to >= order.length || to === from) return;
    order.splice(to, 0, ...order.splice(from, 1));
    this.moved(order, file, to);
  }

  /** The held item changes places with those over whose middle it is. */
  place() {
    const { li, y, by } = this.held, top = y - by, r = li.getBoundingClientRect();
    const middle = (e) => { const b = e.getBoundingClientRect(); return b.top + b.height / 2; };
    // The others move around the held one: an element that is taken out loses the pointer.
    for (let above; (above = li.previousElementSibling) && top < middle(above);) li.after(above);
    for (let below; (below = li.nextElementSibling) && top + r.height > middle(below);) li.before(below);
    li.style.translate = "";
    const at = li.getBoundingClientRect();
    li.style.translate = `0 ${top - at.top}px`;
  }

  /** Near the ends of the screen the page scrolls under the hand. */
  scroll() {
    if (!this.held) return;
    const { y } = this.held, root = getComputedStyle(document.documentElement);
    const low = innerHeight - parseFloat(root.getPropertyValue("--bar")) - edge, high = parseFloat(root.getPropertyValue("--head")) + edge;
    const by = y < high ? (y - high) / 6 : y > low ? (y - low) / 6 : 0;
    if (by) { scrollBy(0, by); this.place(); }
    requestAnimationFrame(() => this.scroll());
  }

  drop(li, kept) {
    if (this.held?.li !== li) return;
    const { before } = this.held, now = this.files();
    this.held = null;
    li.classList.remove("held");
    li.style.translate = "";
    if (!kept) { this.put(before); return; }
    if (now.some((f, i) => f !== before[i])) this.moved(now, li.dataset.file, now.indexOf(li.dataset.file));
  }

  /** Puts the items into an order. What has the focus keeps it. */
  put(order) {
    const items = new Map([...this.list.children].map((li) => [li.dataset.file, li])), focus = document.activeElement;
    order.forEach((f, i) => {
      const li = items.get(f);
      if (li && this.list.children[i] !== li) this.list.insertBefore(li, this.list.children[i] ?? null);
    });
    if (focus && focus !== document.activeElement && this.list.contains(focus)) focus.focus({ preventScroll: true });
  }
}
