// The weight on the pan, and weights that a scale types as keys.

import { hasSeat } from "./seat.js";
import { say } from "./shown.js";
import { drawUnit, isRead, originOf, setOrigin, weighField } from "./weight.js";
import { inFigures, inWords } from "./words.js";

const SCALE_KEY_MS = 40;
const KEYS_TO_TELL = 3;
const STANDS = new Set(["settling", "settled", "resting", "changed"]);

const sent = new Set();
const offered = new Set();
let last = null;
let keyTimes = [];

function tellFrom(words) {
  const place = document.getElementById("from");
  if (place && place.textContent !== words) place.textContent = words;
}

// Exact, as the weights are: both numbers as whole multiples of their last digit.
function less(value, tare) {
  const places = Math.max(...[value, tare].map((text) => (text.split(".")[1] ?? "").length));
  const [gross, empty] = [value, tare].map((text) => {
    const [front, back = ""] = text.split(".");
    return BigInt(front + back.padEnd(places, "0"));
  });
  const rest = gross - empty;
  const digits = String(rest < 0n ? -rest : rest).padStart(places + 1, "0");
  const text = places ? `${digits.slice(0, -places)}.${digits.slice(-places)}` : digits;
  return rest < 0n ? `\u2212${text}` : text;
}

function drawNet(reading) {
  const tare = weighField()?.dataset.tare;
  const place = document.querySelector("[data-net]");
  if (!place) return;
  const { value, unit } = shownOf(reading);
  const isGross = tare && reading.basis !== "net" && unit === (weighField().dataset.unit ?? "g");
  place.textContent = isGross ? inWords("{weight} net", { weight: `${inFigures(less(value, tare))} ${unit}` }) : "";
}

// What the bench shows of a reading; the reading itself is what the scale showed.
function shownOf(reading) {
  return { value: reading.shown ?? reading.value, unit: reading.shown_unit ?? reading.unit };
}

function drawTags(name) {
  for (const tag of document.querySelectorAll("[data-pan-tag]")) {
    tag.hidden = tag.dataset.panTag !== name;
  }
  document.getElementById("weight-tag")?.toggleAttribute("hidden", name !== "");
}

function drawPan(reading) {
  const live = document.getElementById("live");
  const pan = document.getElementById("pan");
  if (!live || !pan) return;
  live.hidden = true;
  pan.hidden = false;
  const { value, unit } = shownOf(reading);
  pan.querySelector("[data-value]").textContent = inFigures(value);
  pan.querySelector("[data-unit]").textContent = unit === "ml" ? "mL" : unit;
  drawNet(reading);
  const isMoving = reading.event === "settling" || reading.event === "changed";
  pan.querySelector(".live").dataset.s = isMoving ? "wait" : "";
  drawTags(isMoving ? "settling" : "settled");
}

function clearPan(tag = "") {
  const live = document.getElementById("live");
  const pan = document.getElementById("pan");
  if (live) live.hidden = false;
  if (pan) pan.hidden = true;
  drawTags(tag);
}

function drawWire(name) {
  for (const item of document.querySelectorAll("[data-wire]")) {
    item.hidden = item.dataset.wire !== name;
  }
}

function draw() {
  if (!last) return;
  drawWire(last.event === "no-signal" ? "gone" : "ready");
  const field = weighField();
  if (field && field.value) drawUnit(field);
  if (!field || (last.weighing_id && sent.has(last.weighing_id) && last.event !== "changed")) return;
  if (STANDS.has(last.event)) drawPan(last);
  else clearPan(last.event === "no-signal" ? "no-signal" : "");
}

function offer(field, reading) {
  if (!hasSeat()) return;
  if (reading.unit === "ml") {
    tellFrom(inWords("The scale shows mL. Set it to g, or type the weight."));
    return;
  }
  const wanted = field.dataset.unit ?? "g";
  const takes = new Set(["g", wanted]);
  if (!takes.has(reading.unit) && !field.form?.elements.namedItem("unit")) {
    tellFrom(inWords("The scale does not show {unit}. Set it so, or type the weight in {unit}.", { unit: wanted }));
    return;
  }
  const isNew = !offered.has(reading.weighing_id);
  offered.add(reading.weighing_id);
  if (!isNew || (field.value && !isRead(field))) return;
  field.value = reading.value;
  // Whoever types all the same replaces the number instead of adding to it.
  if (document.activeElement === field) field.select();
  setOrigin(field, document.body.dataset.scale ?? "scale", reading.weighing_id, reading.unit);
  tellFrom(inWords("From the weighing scale, settled."));
  const { value, unit } = shownOf(reading);
  say(inWords("{weight} on the pan.", { weight: `${inFigures(value)} ${unit}` }));
  if (document.getElementById("by-itself")?.checked) field.form.requestSubmit();
}

/** Take one event of the weighing scale. */
export function onScale(reading) {
  last = reading;
  draw();
  const field = weighField();
  if (!field) return;
  if (reading.says || reading.event === "off-scale") tellFrom(reading.says || reading.because);
  if (reading.weighing_id && sent.has(reading.weighing_id)) return;
  if (reading.event === "settled" || reading.event === "resting") {
    offer(field, reading);
  } else if (!STANDS.has(reading.event)) {
    if (isRead(field)) {
      // It is offered again when it is back on the pan, or when the signal is.
      offered.delete(originOf(field).id);
      field.value = "";
      setOrigin(field, "typed");
    }
    const words = reading.event === "no-signal" ? inWords("No scale. Type the weight.") : "";
    tellFrom(reading.says || (reading.event === "off-scale" ? reading.because : words));
  }
}

function onInput(event) {
  const field = event.target;
  if (!field.matches?.("input[data-weigh]")) return;
  if (field.value.length <= 1) keyTimes = [];
  keyTimes.push(performance.now());
  const gaps = keyTimes.slice(1).map((at, place) => at - keyTimes[place]);
  const quick = gaps.length >= KEYS_TO_TELL && gaps.every((gap) => gap < SCALE_KEY_MS);
  setOrigin(field, quick ? "keys" : "typed");
  tellFrom(quick ? inWords("From the scale, as typed keys.") : inWords("Typed."));
}

// What was on the pan is on its way: it does not land in the field again.
function onSent(event) {
  sent.add(event.detail);
  clearPan();
  tellFrom("");
}

/** Tell typed weights from those that a scale sends as keys. */
export function watchTyping() {
  document.addEventListener("input", onInput);
  document.addEventListener("bench:sent", onSent);
  document.addEventListener("bench:shown", draw);
  document.addEventListener("bench:seated", () => last && onScale(last));
}
