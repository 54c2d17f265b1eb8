// A question that stands ready in the page is opened in its place, without waiting for the bench.

import { refresh } from "./send.js";

// While it was shut the page was not sent its words: what moves on with every weight is set here,
// and the page is asked for again for the rest: before anything that is pressed in it, and without
// holding presses back.
function freshen(place) {
  const { revision, filled } = document.body.dataset;
  for (const seen of place.querySelectorAll("input[name=seen]")) seen.value = revision;
  for (const field of place.querySelectorAll("input[name=last_filled], #end-filled")) {
    if (filled !== undefined && field.value === field.defaultValue) field.defaultValue = filled;
  }
  refresh({ isQuiet: true });
}

function open(id) {
  const place = document.getElementById(id);
  if (!place) return false;
  for (const other of document.querySelectorAll(".ask")) other.hidden = other !== place;
  if (place.hasAttribute("data-as-is")) freshen(place);
  (place.querySelector("[data-first]") ?? place.querySelector("input:not([type=hidden]), button"))?.focus();
  place.scrollIntoView({ block: "center" });
  return true;
}

function onClick(event) {
  const ask = event.target.closest("a[data-ask]");
  if (ask && !event.defaultPrevented && open(ask.dataset.ask)) event.preventDefault();
  const back = event.target.closest("a[data-unask]");
  if (back) {
    event.preventDefault();
    back.closest(".ask").hidden = true;
    (document.querySelector("input[data-weigh]") ?? document.getElementById("main-action"))?.focus();
  }
}

// On a number pad Enter goes on to the next field of a question while that one is empty; in a
// field of the main action it does that, whatever the form around it does first.
function onKey(event) {
  if (event.key !== "Enter") return;
  if (event.target.matches?.("input[data-main]")) {
    event.preventDefault();
    document.getElementById("main-action")?.click();
    return;
  }
  if (!event.target.matches?.("input[data-then]")) return;
  const next = document.getElementById(event.target.dataset.then);
  if (!next || next.value) return;
  event.preventDefault();
  next.focus();
}

/** Open and close the questions of the page. */
export function useAsks() {
  document.addEventListener("click", onClick);
  document.addEventListener("keydown", onKey);
}
