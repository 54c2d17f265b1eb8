// The field where a weight lands, and where the number in it came from.

const origins = new WeakMap();
const UNITS = { ml: "mL" };

/** Return the unit that a number typed into a field is in: grams, where the page shows no other. */
export function unitOf(field) {
  return field?.dataset.unit ?? "g";
}

/** Return the field where a weight lands, or null: a weight to keep, or a check of the scale. */
export function weighField() {
  return document.querySelector("input[data-weigh], input[data-check]");
}

/** Say where the number in a field came from; `id` was made at its source, or is empty. */
export function setOrigin(field, source, id = "", unit = unitOf(field)) {
  origins.set(field, { source, id, unit });
  drawUnit(field);
}

/** Show the unit of the number in a field, and send it along. */
export function drawUnit(field) {
  const { unit } = originOf(field);
  const sent = field.form?.elements.namedItem("unit");
  // Beside a check of the scale stands what the typed unit is; a number in grams needs none.
  const mark = field.form?.elements.namedItem(`in-${field.name}`);
  if (sent) sent.value = unit;
  if (mark) mark.disabled = unit !== unitOf(field);
  const shown = field.parentElement?.querySelector(".unit");
  const words = UNITS[unit] ?? unit;
  if (shown && (sent || mark) && shown.textContent !== words) shown.textContent = words;
}

/** Return true where the number in a field was read off a scale, and a newer one takes its place. */
export function isRead(field) {
  return !["typed", "keys"].includes(originOf(field).source);
}

/** Return where the number in a field came from. */
export function originOf(field) {
  return origins.get(field) ?? { source: "typed", id: "", unit: unitOf(field) };
}
