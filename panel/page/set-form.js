// Parts of forms and lists of the room Set.

/** Meters that are offered. */
export const meters = ["2/4", "3/4", "4/4", "5/4", "6/4", "3/8", "5/8", "6/8", "7/8", "9/8", "12/8"];

/** The name of a file in its folder, without its ending. */
export const stem = (file) => file.replace(/^.*\//, "").replace(/\.yaml$/, "");

/** A button that opens a form, and closes it. */
export function opens(find, button, form, first) {
  find(button).addEventListener("click", () => {
    const shut = !find(form).hidden;
    find(form).hidden = shut;
    find(button).setAttribute("aria-expanded", String(!shut));
    if (!shut) find(first).focus();
  });
}

/** Puts a line for each song into a list. Lines that are there already are kept. */
export function keyed(list, songs, make) {
  const have = new Map([...list.children].map((li) => [li.dataset.file, li])), focus = document.activeElement;
  for (const [file, li] of have) if (!songs.some((s) => s.file === file)) li.remove();
  songs.forEach((s, i) => {
    const li = have.get(s.file) ?? make(s);
    if (list.children[i] !== li) list.insertBefore(li, list.children[i] ?? null);
  });
  if (focus !== document.activeElement && list.contains(focus)) focus.focus({ preventScroll: true });
}

export function options(select, list, value) {
  if (select.length !== list.length || list.some(([words, v], i) => select.options[i].textContent !== words || select.options[i].value !== v)) {
    select.replaceChildren(...list.map(([words, v]) => new Option(words, v)));
  }
  select.selectedIndex = list.findIndex(([, v]) => v === value);
}

/** A file for something with a name, such as songs/low-water.yaml, that is not taken. */
export function fileFor(folder, name, taken) {
  const letters = Array.from(name.normalize("NFC").toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-"));
  while (new TextEncoder().encode(letters.join("")).length > 48) letters.pop();
  const plain = letters.join("").replace(/^-|-$/g, "") || folder.slice(0, -1);
  for (let n = 1; ; n++) {
    const file = `${folder}/${plain}${n > 1 ? `-${n}` : ""}.yaml`;
    if (!taken.some((x) => x.file.toLowerCase() === file)) return file;
  }
}
