// Presses that cannot be meant by accident: held, or a second tap. A program that
// presses buttons for people counts as tapping.

const holdFor = 600, sureFor = 3000; // milliseconds
const deaf = { acted: 400, undone: 1500 }; // how long further taps are taken for nervous ones

/**
 * act is called for a press that is held, or for the second tap of two. Of the
 * options, tap is called for the first, and returns false if no second is waited
 * for; doubt(waits) shows whether a second tap is waited for; undoes() says that one
 * tap is enough, because it takes back what is in force; toggles is set where acting
 * again would take back what was just done.
 */
export function sure(button, act, { tap = () => true, doubt = () => {}, undoes = () => false, toggles = false } = {}) {
  let timer = 0, forget = 0, held = false, waits = false, quiet = 0, undone = false;
  const settle = () => {
    clearTimeout(forget);
    if (!waits) return;
    waits = false;
    button.classList.remove("sure");
    doubt(false);
  };
  const done = () => {
    settle();
    undone = undoes() || toggles;
    quiet = performance.now() + (undone ? deaf.undone : deaf.acted);
    act();
  };
  const end = () => { clearTimeout(timer); button.classList.remove("filling"); };
  const begin = () => {
    held = false;
    if (undoes() || performance.now() < quiet) return; // the click will do
    button.classList.add("filling");
    clearTimeout(timer);
    timer = setTimeout(() => { held = true; end(); done(); }, holdFor);
  };
  button.addEventListener("pointerdown", begin);
  for (const kind of ["pointerup", "pointerleave", "pointercancel", "blur"]) button.addEventListener(kind, end);
  button.addEventListener("keydown", (e) => { if ((e.key === "Enter" || e.key === " ") && !e.repeat) begin(); });
  button.addEventListener("keyup", end);
  button.addEventListener("contextmenu", (e) => e.preventDefault());
  button.addEventListener("click", (e) => {
    const now = performance.now();
    if (held) { held = false; e.preventDefault(); return; }
    if (now < quiet) {
      if (undone) quiet = now + deaf.undone; // nervous taps do not take it back
      return;
    }
    if (waits || undoes()) { done(); return; }
    if (tap() === false) return;
    waits = true;
    button.classList.add("sure");
    doubt(true);
    forget = setTimeout(settle, sureFor);
  });
}
