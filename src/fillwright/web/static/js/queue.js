// Weights that could not be sent wait here, in order, with the ids they were born with.
// Nothing is judged here: the tag says wait until the bench has answered.

import { inWords } from "./words.js";

const PLACE = "fillwright-unsaved";
const AGAIN_MS = 1500;

let sending = false;

function waiting() {
  try {
    return JSON.parse(localStorage.getItem(PLACE) ?? "[]");
  } catch {
    return [];
  }
}

function store(list) {
  localStorage.setItem(PLACE, JSON.stringify(list));
  tell();
}

/** Return true while weights wait: later ones must queue behind them. */
export function isWaiting() {
  return waiting().length > 0;
}

/** Keep a weight until the bench answers. */
export function keepForLater(weight) {
  store([...waiting(), weight]);
  setTimeout(flush, AGAIN_MS);
}

function tell(problem = "") {
  const place = document.getElementById("unsaved");
  if (!place) return;
  const list = waiting();
  place.hidden = list.length === 0;
  const count = list.length === 1 ? inWords("1 weight") : inWords("{count} weights", { count: list.length });
  const words = place.querySelector("[data-words]");
  const told = inWords("Not saved yet: {count}", { count });
  const text = problem ? `${told}. ${problem}` : told;
  if (words.textContent !== text) words.textContent = text;
  const drop = place.querySelector("[data-drop]");
  drop.hidden = !problem;
  drop.textContent = problem ? inWords("Drop {weight}", { weight: `${list[0].weight} ${list[0].unit}` }) : "";
  document.getElementById("weight-tag")?.toggleAttribute("hidden", list.length > 0);
  document.getElementById("waiting-tag")?.toggleAttribute("hidden", list.length === 0);
}

function jsonOf(weight) {
  const body = {
    id: weight.weighing_id,
    value: weight.weight.trim().replace(",", "."),
    unit: weight.unit || "g",
    source: weight.source || "typed",
    purpose: weight.purpose,
    time: weight.at,
    person: weight.person || "",
  };
  for (const name of ["container", "filled_to"]) {
    if (weight[name]) body[name] = Number(weight[name]);
  }
  if (weight.set_aside) body.set_aside = weight.set_aside;
  return JSON.stringify(body);
}

async function sendFirst([first]) {
  const answer = await fetch(`/api/v1/jobs/${encodeURIComponent(first.job)}/weighings`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: jsonOf(first),
    signal: AbortSignal.timeout(10000),
  });
  if (answer.ok) {
    // Read anew: another page of this browser may have put one at the end meanwhile.
    store(waiting().filter((weight) => weight.weighing_id !== first.weighing_id));
    return waiting();
  }
  const told = await answer.json().catch(() => null);
  tell(told?.error?.message ?? inWords("The bench could not keep the first of them."));
  return null;
}

/** Send what waits, in order; stop at the first that cannot be sent. */
export async function flush() {
  if (sending || !isWaiting()) return;
  sending = true;
  let list = waiting();
  let sent = false;
  try {
    while (list && list.length > 0) {
      list = await sendFirst(list);
      sent = sent || list !== null;
    }
  } catch {
    setTimeout(flush, AGAIN_MS);
  } finally {
    sending = false;
  }
  if (sent) document.dispatchEvent(new CustomEvent("bench:stale"));
  if (isWaiting()) setTimeout(flush, AGAIN_MS * 2);
}

/** Look after what an earlier page could not send. */
export function startQueue() {
  tell();
  document.addEventListener("bench:shown", () => tell());
  document.addEventListener("bench:back", flush);
  addEventListener("online", flush);
  document.addEventListener("click", (event) => {
    if (!event.target.closest("[data-drop]")) return;
    store(waiting().slice(1));
    flush();
  });
  flush();
}
