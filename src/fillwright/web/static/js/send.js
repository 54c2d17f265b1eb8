// Send a form without reloading. One exchange at a time, in order.

import { newId } from "./ids.js";
import { guardPresses } from "./press.js";
import { isWaiting, keepForLater } from "./queue.js";
import { say, show, start } from "./shown.js";
import { fillSpares, withSpares } from "./spare.js";
import { readKeys } from "./typed.js";
import { isRead, originOf, setOrigin, weighField } from "./weight.js";
import { inWords } from "./words.js";

const PATIENCE_MS = 10000;
const SHUT = 401;

let line = Promise.resolve();

/** Run one exchange after all that are under way. */
export function inLine(work) {
  line = line.then(work, work);
  return line;
}

/** Ask the server for this page again, where it is still needed once its turn comes. */
export function refresh(how) {
  return inLine(async () => {
    if (how?.isNeeded && !how.isNeeded()) return;
    try {
      const answer = await fetch(location.href, {
        headers: withSpares(),
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      show(await answer.text(), answer, { ...how, isAgain: true });
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
    answer = await fetch(action, {
      method: "POST",
      headers: withSpares(),
      body,
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
  } catch {
    if (weight) keepForLater(weight.fields);
    else say(inWords("The bench did not answer. Nothing was kept. Press again."));
    return;
  }
  if (answer.status === SHUT) {
    // Let in no more: a weight waits on this device, and goes nowhere unless it is let in again.
    if (weight) keepForLater(weight.fields);
    location.reload();
    return;
  }
  const text = await answer.text();
  const field = weighField();
  // A number that landed while the one before was on its way stays, with its origin; but a number
  // that was refused comes back to be mended, and the pan goes on showing what is on it.
  const early = weight && field?.form === form && field.value && (answer.ok || !isRead(field))
    ? { value: field.value, origin: originOf(field) }
    : null;
  show(text, answer);
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
    say(inWords("Type the weight first."));
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

/** Take over the forms of the page. */
export function useForms() {
  if (!location.hash) start();
  guardPresses();
  document.addEventListener("submit", onSubmit);
  addEventListener("popstate", refresh);
  fillSpares(refresh);
}
