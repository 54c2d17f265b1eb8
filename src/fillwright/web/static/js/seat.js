// One device weighs, the others watch. A person takes over by pressing; nothing is taken by itself.

import { say } from "./shown.js";
import { weighField } from "./weight.js";
import { inWords } from "./words.js";

let seat = { mine: true, who: "", asks: null };

/** Return true on the device that weighs. */
export function hasSeat() {
  return seat.mine;
}

function words() {
  return seat.who
    ? inWords("Weighing is on the other tablet ({who}). Take over?", { who: seat.who })
    : inWords("Weighing is on the other tablet. Take over?");
}

function drawProgram(name) {
  const place = document.getElementById("program");
  if (!place) return;
  place.hidden = name === null;
  if (name === null) return;
  const told = place.querySelector("[data-words]");
  const text = name
    ? inWords("A program called “{name}” wants to weigh for this job.", { name })
    : inWords("A program without a name wants to weigh for this job.");
  if (told.textContent !== text) told.textContent = text;
  place.querySelector("[name=sender]").value = name;
}

function draw() {
  const place = document.getElementById("seat");
  const field = weighField();
  if (place) {
    place.hidden = seat.mine || !field;
    const told = place.querySelector("[data-words]");
    if (told.textContent !== words()) told.textContent = words();
  }
  if (field) field.readOnly = !seat.mine;
  drawProgram(typeof seat.asks === "string" ? seat.asks : null);
}

/** Take who weighs, as the bench says. */
export function onSeat(told) {
  const sits = told.mine && !seat.mine;
  seat = told;
  draw();
  // What stands on the pan is offered to whoever weighs now.
  if (sits) document.dispatchEvent(new CustomEvent("bench:seated"));
}

function onSubmit(event) {
  const form = event.target;
  if (seat.mine || !form.hasAttribute("data-weights") || event.submitter?.hasAttribute("formaction")) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  say(words());
  document.querySelector("#seat button")?.focus();
}

/** Leave the weighing to the device that has it. */
export function keepSeats() {
  document.addEventListener("submit", onSubmit, true);
  document.addEventListener("bench:shown", draw);
}
