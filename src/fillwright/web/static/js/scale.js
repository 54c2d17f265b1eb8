// The weight on the pan, and weights that a scale types as keys.

import { say, weighField } from "./send.js";

const SCALE_KEY_MS = 40;
const KEYS_TO_TELL = 3;

let keyTimes = [];

function setSource(field, source, id) {
  const form = field.form;
  form.elements.namedItem("source").value = source;
  if (id) form.elements.namedItem("weighing_id").value = id;
}

function tellFrom(words) {
  const place = document.getElementById("from");
  if (place && place.textContent !== words) place.textContent = words;
}

function drawPan(reading) {
  const live = document.getElementById("live");
  const pan = document.getElementById("pan");
  if (!live || !pan) return;
  const shows = reading.kind === "settling" || reading.kind === "settled";
  live.hidden = shows;
  pan.hidden = !shows;
  if (!shows) return;
  pan.querySelector("[data-value]").textContent = reading.value;
  pan.querySelector("[data-unit]").textContent = reading.unit;
  pan.dataset.s = reading.kind === "settled" ? "" : "wait";
  for (const tag of document.querySelectorAll("[data-pan-tag]")) {
    tag.hidden = tag.dataset.panTag !== reading.kind;
  }
  document.getElementById("weight-tag")?.toggleAttribute("hidden", true);
}

function clearPan() {
  const live = document.getElementById("live");
  const pan = document.getElementById("pan");
  if (live) live.hidden = false;
  if (pan) pan.hidden = true;
  for (const tag of document.querySelectorAll("[data-pan-tag]")) tag.hidden = true;
  document.getElementById("weight-tag")?.toggleAttribute("hidden", false);
}

function drawWire(kind) {
  for (const item of document.querySelectorAll("[data-wire]")) {
    item.hidden = item.dataset.wire !== kind;
  }
}

/** Take one event of the weighing scale. */
export function onScale(reading) {
  drawWire(reading.kind === "no-signal" ? "gone" : "ready");
  const field = weighField();
  if (!field) return;
  const fromScale = field.dataset.from === "scale";
  if (reading.kind === "settled") {
    drawPan(reading);
    if (field.value && !fromScale) return;
    field.value = reading.value;
    field.dataset.from = "scale";
    setSource(field, reading.source ?? "scale", reading.weighing_id);
    tellFrom("From the weighing scale, settled.");
    say(`${reading.value} ${reading.unit} on the pan.`);
    if (document.getElementById("by-itself")?.checked) field.form.requestSubmit();
  } else if (reading.kind === "settling") {
    drawPan(reading);
  } else {
    clearPan();
    if (fromScale) {
      field.value = "";
      field.dataset.from = "";
    }
    tellFrom(reading.kind === "no-signal" ? "No signal from the scale. Type the weight." : "");
  }
}

function onInput(event) {
  const field = event.target;
  if (!field.matches?.("input[data-weigh]")) return;
  field.dataset.from = "typed";
  const now = performance.now();
  if (field.value.length <= 1) keyTimes = [];
  keyTimes.push(now);
  const gaps = keyTimes.slice(1).map((at, place) => at - keyTimes[place]);
  const quick = gaps.length >= KEYS_TO_TELL && gaps.every((gap) => gap < SCALE_KEY_MS);
  setSource(field, quick ? "keys" : "typed");
  tellFrom(quick ? "From the scale, as typed keys." : "Typed.");
}

/** Tell typed weights from those that a scale sends as keys. */
export function watchTyping() {
  document.addEventListener("input", onInput);
}
