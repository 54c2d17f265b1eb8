// Send a form without reloading. One exchange at a time, in order; the answer is a whole page,
// and only what differs is exchanged.

import { newId } from "./ids.js";
import { morph } from "./morph.js";
import { isWaiting, keepForLater } from "./queue.js";
import { readKeys } from "./typed.js";
import { originOf, setOrigin, weighField } from "./weight.js";

const REGIONS = ["demo", "top", "rail", "main", "foot"];
const SAME_PRESS_MS = 400;
const AFTER_MOVE_MS = 250;
const PATIENCE_MS = 10000;

let line = Promise.resolve();
let movedAt = -AFTER_MOVE_MS;
let lastPress = { key: "", at: -SAME_PRESS_MS };

/** Run one exchange after all that are under way. */
export function inLine(work) {
  line = line.then(work, work);
  return line;
}

/** Say something to those who listen to the page. */
export function say(words) {
  const place = document.getElementById("say");
  if (place && words && place.textContent !== words) place.textContent = words;
}

function hold() {
  movedAt = performance.now();
  document.documentElement.dataset.moved = "now";
  setTimeout(() => {
    if (performance.now() - movedAt >= AFTER_MOVE_MS) delete document.documentElement.dataset.moved;
  }, AFTER_MOVE_MS + 10);
}

/** Put the focus where the hands go on, without moving the page. */
export function start() {
  document.querySelector("[data-start]")?.focus({ preventScroll: true });
}

/** Bring the page to what the server drew. */
export function show(text, url, { isQuiet = false } = {}) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  if (!fresh.getElementById("main")) return;
  const other = fresh.body.dataset.page !== document.body.dataset.page;
  const moved = new URL(url, location.href);
  if (moved.pathname + moved.search !== location.pathname + location.search) {
    history.pushState({}, "", moved.pathname + moved.search);
  }
  document.title = fresh.title;
  document.documentElement.dataset.light = fresh.documentElement.dataset.light;
  let changed = false;
  for (const id of REGIONS) {
    const old = document.getElementById(id);
    const next = fresh.getElementById(id);
    if (!old || !next) continue;
    if (other && id === "main") old.replaceWith(document.importNode(next, true));
    else changed = morph(old, next) || changed;
  }
  for (const { name } of Array.from(document.body.attributes)) {
    if (!fresh.body.hasAttribute(name)) document.body.removeAttribute(name);
  }
  for (const { name, value } of Array.from(fresh.body.attributes)) {
    document.body.setAttribute(name, value);
  }
  say(fresh.getElementById("say")?.textContent.trim());
  if ((changed && !isQuiet) || other) hold();
  const lost = !document.activeElement || document.activeElement === document.body;
  const wrong = document.querySelector("[aria-invalid=true]");
  if (wrong) wrong.focus();
  else if (other || lost) {
    start();
    if (other) scrollTo(0, 0);
  }
  document.dispatchEvent(new CustomEvent("bench:shown"));
}

/** Ask the server for this page again. */
export function refresh(how) {
  return inLine(async () => {
    try {
      const answer = await fetch(location.href, { signal: AbortSignal.timeout(PATIENCE_MS) });
      show(await answer.text(), answer.url, how);
    } catch {
      // The line to the bench is followed elsewhere; a lost refresh is made up by the next.
    }
  });
}

// A number that somebody is typing already is not taken from under the fingers.
function isTypingOn() {
  const at = document.activeElement;
  return Boolean(at?.matches("input:not([type=checkbox], [type=radio]), textarea")) &&
    at.value !== at.defaultValue;
}

function isWeight(form, submitter) {
  return form.hasAttribute("data-weights") && !submitter?.hasAttribute("formaction");
}

function bodyOf(form, submitter) {
  const body = new URLSearchParams();
  for (const [name, value] of new FormData(form)) body.append(name, value);
  if (submitter?.name) body.append(submitter.name, submitter.value);
  return body;
}

async function exchange(action, body, form, weight) {
  let answer;
  try {
    answer = await fetch(action, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    if (weight) keepForLater(weight.fields);
    else say("The bench did not answer. Nothing was kept. Press again.");
    return;
  }
  const text = await answer.text();
  const field = weighField();
  // A number that landed while the one before was on its way stays, with its origin.
  const early = weight && field?.form === form && field.value
    ? { value: field.value, origin: originOf(field) }
    : null;
  show(text, answer.url);
  if (answer.ok && form.id) document.getElementById(form.id)?.reset();
  settle(answer.ok, early ?? (answer.ok ? null : weight));
}

function settle(isKept, number) {
  const field = weighField();
  if (field && number && !(isKept && field.value)) {
    field.value = number.value;
    setOrigin(field, number.origin.source, number.origin.id, number.origin.unit);
  }
  if (field?.value && !isKept) {
    field.focus();
    field.select();
  } else if (isKept && !isTypingOn()) {
    start();
  }
}

// The id is made where the weight came from: by the scale's line, or here for a typed one.
function nameWeight(form, field) {
  const origin = originOf(field);
  form.elements.namedItem("weighing_id").value = origin.id || newId();
  form.elements.namedItem("source").value = origin.source;
  const unit = form.elements.namedItem("unit");
  if (unit) unit.value = origin.unit;
}

function weightOf(form, submitter) {
  const field = form.querySelector("input[data-weigh]");
  if (!field || !isWeight(form, submitter)) return null;
  nameWeight(form, field);
  const fields = Object.fromEntries(bodyOf(form, submitter));
  fields.job = document.body.dataset.job;
  fields.at = new Date().toISOString();
  fields.purpose = form.dataset.weights;
  // Behind weights that wait the page does not know which number is next; the bench does.
  const number = form.elements.namedItem("container");
  if (isWaiting() && number && number.value === number.defaultValue) delete fields.container;
  return { fields, value: field.value, origin: { ...originOf(field), id: fields.weighing_id } };
}

function onSubmit(event) {
  const form = event.target;
  const submitter = event.submitter;
  if (form.method !== "post" || event.defaultPrevented) return;
  event.preventDefault();
  const field = weighField();
  const isOurs = field?.form === form;
  if (isOurs) readKeys(field);
  if (isOurs && field.dataset.weigh !== undefined) nameWeight(form, field);
  const weight = weightOf(form, submitter);
  if (weight && !weight.value.trim()) {
    field.focus();
    say("Type the weight first.");
    return;
  }
  const body = bodyOf(form, submitter);
  const action = submitter?.getAttribute("formaction") ?? form.getAttribute("action");
  const used = isOurs ? originOf(field).id : "";
  if (used) document.dispatchEvent(new CustomEvent("bench:sent", { detail: used }));
  if (weight) {
    field.value = "";
    setOrigin(field, "typed");
    if (isWaiting() || document.documentElement.dataset.bench === "gone") {
      keepForLater(weight.fields);
      return;
    }
  }
  inLine(() => exchange(action, body, form, weight));
}

function onClick(event) {
  const button = event.target.closest("button, a.btn, .choice, .tick");
  if (!button || event.detail === 0) return;
  const now = performance.now();
  const key = button.id || button.textContent.trim();
  const early = now - movedAt < AFTER_MOVE_MS;
  const twice = button.matches("button, a.btn") && key === lastPress.key &&
    now - lastPress.at < SAME_PRESS_MS;
  if (early || twice) {
    event.preventDefault();
    event.stopImmediatePropagation();
    return;
  }
  lastPress = { key, at: now };
}

/** Take over the forms of the page. */
export function useForms() {
  if (!location.hash) start();
  document.addEventListener("click", onClick, true);
  document.addEventListener("submit", onSubmit);
  addEventListener("popstate", refresh);
}
