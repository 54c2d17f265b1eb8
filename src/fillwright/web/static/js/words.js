// What the page says by itself, in the language that it was drawn in. The bench sends the texts
// along; a page in English has none and says them as they stand here.

let table = null;

function texts() {
  table ??= JSON.parse(document.querySelector('meta[name="texts"]')?.content ?? "{}");
  return table;
}

/** Return a text in the language of the page, with what its places hold. */
export function inWords(text, held = {}) {
  return (texts()[text] ?? text).replace(/\{(\w+)\}/gu, (all, name) => held[name] ?? all);
}

/** Return a figure with the decimal mark of the language. */
export function inFigures(text) {
  return String(text).replace(".", texts()["."] ?? ".");
}
