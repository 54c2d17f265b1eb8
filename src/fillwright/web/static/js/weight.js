// The field where a weight lands, and where the number in it came from.

const origins = new WeakMap();
const TYPED = { source: "typed", id: "", unit: "g" };
const UNITS = { ml: "mL" };

/** Return the field where a weight lands, or null: a weight to keep, or a check of the scale. */
export function weighField() {
  return document.querySelector("input[data-weigh], input[data-check]");
}

/** Say where the number in a field came from; `id` was made at its source, or is empty. */
export function setOrigin(field, source, id = "", unit = "g") {
  origins.set(field, { source, id, unit });
  drawUnit(field);
}

/** Show the unit of the number in a field, and send it along. */
export function drawUnit(field) {
  const { unit } = originOf(field);
  const sent = field.form?.elements.namedItem("unit");
  if (sent) sent.value = unit;
  const shown = field.parentElement?.querySelector(".unit");
  const words = UNITS[unit] ?? unit;
  if (shown && sent && shown.textContent !== words) shown.textContent = words;
}

/** Return where the number in a field came from. */
export function originOf(field) {
  return origins.get(field) ?? TYPED;
}
