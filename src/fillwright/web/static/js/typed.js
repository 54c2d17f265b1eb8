// What a scale types as keys is a whole line; the weight and its unit are taken out of it. A
// person may type a unit behind the number too.

import { originOf, setOrigin, unitOf } from "./weight.js";

const LINE = /([-+\u2212]?)\s*(\d+(?:[.,]\d+)?)\s*(kg|mg|g|oz|lbs?|ml)?\b/iu;
const WITH_UNIT = /^([-+\u2212]?)\s*(\d+(?:[.,]\d+)?)\s*(kg|mg|g|oz|lbs?|ml)$/iu;
const PLAIN = /^[-+\u2212]?\d+(?:[.,]\d+)?$/u;
const UNITS = { lbs: "lb" };

/** Bring what was typed into a field down to its number and unit. */
export function readKeys(field) {
  const origin = originOf(field);
  const text = field.value.trim();
  if (PLAIN.test(text)) return;
  const numbers = text.match(/\d+(?:[.,]\d+)?/gu) ?? [];
  const found = WITH_UNIT.exec(text) ?? (origin.source === "keys" ? LINE.exec(text) : null);
  // A line with two numbers could be either: the person decides.
  if (!found || numbers.length !== 1) return;
  const unit = (found[3] ?? unitOf(field)).toLowerCase();
  field.value = `${found[1] === "+" ? "" : found[1]}${found[2]}`;
  setOrigin(field, origin.source, origin.id, UNITS[unit] ?? unit);
}
