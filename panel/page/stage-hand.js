// Choosing heads on the picture of the stage: a press chooses a head, a drag chooses
// those in its box. What is chosen is for whoever asks to say.

const slack = 8; // pixels that a press may move before it is a drag

export class StageHand {
  constructor(stage) {
    this.stage = stage;
    this.does = null;
    const { canvas } = stage;
    let from = null;
    const at = (e) => { const r = canvas.getBoundingClientRect(); return [e.clientX - r.x, e.clientY - r.y]; };
    canvas.addEventListener("pointerdown", (e) => {
      if (!this.does || !e.isPrimary || e.button) return;
      canvas.setPointerCapture(e.pointerId);
      from = { at: at(e), more: e.shiftKey || e.ctrlKey || e.metaKey };
    });
    canvas.addEventListener("pointermove", (e) => {
      if (!from) return;
      const [x, y] = at(e), [x0, y0] = from.at;
      from.drags ||= Math.hypot(x - x0, y - y0) > slack;
      if (from.drags) stage.want("box", [Math.min(x, x0), Math.min(y, y0), Math.max(x, x0), Math.max(y, y0)]);
    });
    canvas.addEventListener("pointerup", (e) => {
      if (!from) return;
      const { more, drags } = from, box = stage.wants.box;
      from = null;
      stage.want("box", null);
      if (!this.does) return;
      if (drags) { this.does.box(stage.within(...box), more); return; }
      const head = stage.nearest(...at(e));
      if (head >= 0) this.does.press(head);
    });
    canvas.addEventListener("pointercancel", () => { from = null; stage.want("box", null); });
  }

  /** does has press(head), and box(heads, more), with more for those that are to be added;
   *  null: heads are not chosen. */
  choose(does) {
    this.does = does;
    this.stage.canvas.classList.toggle("choosing", Boolean(does));
  }

  draw(g) {
    const box = this.stage.wants.box;
    if (!box) return;
    const [x0, y0, x1, y1] = box;
    g.lineWidth = 2;
    g.strokeStyle = "#e5b659";
    g.setLineDash([6, 4]);
    g.strokeRect(x0, y0, x1 - x0, y1 - y0);
    g.setLineDash([]);
  }
}
