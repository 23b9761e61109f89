// Fields of forms that follow the model.

/** Fills a select with [text, value] pairs, and chooses one. */
export function options(select, list, chosen) {
  if (select.length !== list.length || list.some(([text, v], i) => select.options[i].textContent !== text || select.options[i].value !== v)) {
    select.replaceChildren(...list.map(([text, v]) => new Option(text, v)));
  }
  select.selectedIndex = list.findIndex(([, v]) => v === chosen);
}

/** Sets a field unless somebody types in it. What was refused is as it was. */
export function value(input, text) {
  if (document.activeElement === input && input.was === text) return;
  input.was = text;
  if (input.value !== text) input.value = text;
}
