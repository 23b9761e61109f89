// Elements with text, and texts as sentences.

/** An element with a text and a class, each if given. */
export function element(name, text, kind) {
  const e = document.createElement(name);
  if (text !== undefined) e.textContent = text;
  if (kind) e.className = kind;
  return e;
}

/** Words that begin with a capital letter. */
export const sentence = (words) => words ? words[0].toUpperCase() + words.slice(1) : "";
