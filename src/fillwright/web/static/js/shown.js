// Bring the page to what the server drew: a whole page, of which only what differs is exchanged,
// or the parts that changed.

import { morph, takeAttributes } from "./morph.js";
import { hold } from "./press.js";
import { takeParts } from "./spare.js";

const REGIONS = ["demo", "top", "rail", "main", "foot"];

/** Say something to those who listen to the page. */
export function say(words) {
  const place = document.getElementById("say");
  if (place && words && place.textContent !== words) place.textContent = words;
}

/** Put the focus where the hands go on, without moving the page. */
export function start() {
  document.querySelector("[data-start]")?.focus({ preventScroll: true });
}

// A question that somebody is answering stays open when the page moves on beneath it.
function keepQuestions(fresh) {
  for (const open of document.querySelectorAll(".ask:not([hidden])")) {
    fresh.getElementById(open.id)?.removeAttribute("hidden");
  }
}

// What is wrong in a question that was shut again is no business of the page.
function wrongField() {
  const found = document.querySelectorAll("[aria-invalid=true]");
  return Array.from(found).find((field) => !field.closest("[hidden]"));
}

/** Bring the page to what the server drew, or to what of it changed. */
export function show(text, answer, how) {
  if (!answer.headers.get("content-type").startsWith("application/json")) {
    showPage(text, answer.url, how);
  } else if (!showParts(JSON.parse(text), how)) {
    document.dispatchEvent(new CustomEvent("bench:stale"));
  }
}

/** Bring the page to what changed of it; return whether it was this page. */
export function showParts(told, how) {
  const changed = takeParts(told);
  if (changed !== null) finish({ ...how, changed });
  return changed !== null;
}

function showPage(text, url, how) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  if (!fresh.getElementById("main")) return;
  if (fresh.documentElement.lang !== document.documentElement.lang) {
    // Another language: what stands around the regions and what the page says changes too.
    location.assign(url);
    return;
  }
  if (how?.isAgain) keepQuestions(fresh);
  const other = fresh.body.dataset.page !== document.body.dataset.page;
  const moved = new URL(url, location.href);
  if (moved.pathname + moved.search !== location.pathname + location.search) {
    history.pushState({}, "", moved.pathname + moved.search);
  }
  document.title = fresh.title;
  document.documentElement.dataset.light = fresh.documentElement.dataset.light;
  let changed = false;
  let hasHole = false;
  for (const id of REGIONS) {
    const old = document.getElementById(id);
    const next = fresh.getElementById(id);
    if (!old || !next) continue;
    if (other && id === "main") {
      old.replaceWith(document.importNode(next, true));
      // Left out as the page had it: the page before did, under the same name.
      hasHole = next.querySelector(".ask[data-as-is], [data-part][data-as-is]") !== null;
    }
    else changed = morph(old, next) || changed;
  }
  takeAttributes(document.body, fresh.body);
  morph(document.getElementById("say"), fresh.getElementById("say"));
  finish({ ...how, changed, other });
  if (hasHole) document.dispatchEvent(new CustomEvent("bench:stale"));
}

function finish({ isQuiet = false, isAgain = false, changed = false, other = false }) {
  if ((changed && !isQuiet) || other) hold();
  const lost = !document.activeElement || document.activeElement === document.body;
  const wrong = wrongField();
  // One that is being mended already is left to the fingers when the page moves on beneath.
  if (wrong && (!isAgain || lost)) {
    wrong.focus();
    if (wrong.matches("input[type=text], input:not([type])")) wrong.select();
  } else if (!wrong && (other || lost)) {
    start();
    if (other) scrollTo(0, 0);
  }
  document.dispatchEvent(new CustomEvent("bench:shown"));
}
