// The field where a weight lands, and where the number in it came from.

const origins = new WeakMap();
const TYPED = { source: "typed", id: "" };

/** Return the field where a weight lands, or null: a weight to keep, or a check of the scale. */
export function weighField() {
  return document.querySelector("input[data-weigh], input[data-check]");
}

/** Say where the number in a field came from; `id` was made at its source, or is empty. */
export function setOrigin(field, source, id = "") {
  origins.set(field, { source, id });
}

/** Return where the number in a field came from. */
export function originOf(field) {
  return origins.get(field) ?? TYPED;
}
