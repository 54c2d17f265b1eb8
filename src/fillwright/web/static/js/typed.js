// What a scale types as keys is a whole line; the weight and its unit are taken out of it.

import { originOf, setOrigin } from "./weight.js";

const LINE = /([-+\u2212]?)\s*(\d+(?:[.,]\d+)?)\s*(kg|mg|g|oz|lbs?|ml)?\b/iu;
const PLAIN = /^[-+\u2212]?\d+(?:[.,]\d+)?$/u;
const UNITS = { lbs: "lb" };

/** Bring the line that a scale typed into a field down to its number and unit. */
export function readKeys(field) {
  const origin = originOf(field);
  if (origin.source !== "keys" || PLAIN.test(field.value)) return;
  const numbers = field.value.match(/\d+(?:[.,]\d+)?/gu) ?? [];
  const found = LINE.exec(field.value);
  // A line with two numbers could be either: the person decides.
  if (!found || numbers.length !== 1) return;
  const unit = (found[3] ?? "g").toLowerCase();
  field.value = `${found[1] === "+" ? "" : found[1]}${found[2]}`;
  setOrigin(field, "keys", origin.id, UNITS[unit] ?? unit);
}
