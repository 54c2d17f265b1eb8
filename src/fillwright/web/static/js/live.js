// Follow the bench: one stream a page, closed while the page is hidden.

import { flush } from "./queue.js";
import { onScale } from "./scale.js";
import { hasSeat, onSeat } from "./seat.js";
import { refresh } from "./send.js";
import { showParts } from "./shown.js";
import { PAGE } from "./spare.js";

const AGAIN_MS = 1000;
const QUIET_MS = 1500;
// The bench says something at least once a second; a line that is cut says nothing at all.
const DEAD_MS = 1900;
const LOOK_MS = 400;
const DOOR = "/static/icon.svg";
const SHUT = 401;

let stream = null;
let lostAt = 0;
let heardAt = 0;
let asked = false;
let again = false;
let forced = false;
let wanted = 0;

function mark(isThere) {
  document.documentElement.dataset.bench = isThere ? "there" : "gone";
  const place = document.getElementById("no-bench");
  if (place) place.hidden = isThere;
}

function isBehind() {
  return wanted > Number(document.body.dataset.revision ?? 0);
}

// What happens while an answer is on its way may not be in it: then it is asked for once more,
// unless the page has it by then, as from the answer to its own press.
async function ask() {
  again = true;
  if (asked) return;
  asked = true;
  while (again) {
    const must = forced;
    again = forced = false;
    await refresh({ isNeeded: () => must || forced || isBehind() });
  }
  asked = false;
}

function catchUp() {
  forced = true;
  ask();
}

function onJob(event) {
  wanted = Math.max(wanted, Number(event.lastEventId));
  if (isBehind()) ask();
}

// What changed comes along. An answer that is on its way still may be older: it is looked at then.
function onParts(event) {
  wanted = Math.max(wanted, Number(event.lastEventId));
  showParts(JSON.parse(event.data), { isAgain: true });
  ask();
}

// A device that was let in no more is told so by a status that a stream does not show: the page
// goes, and the bench asks for its code.
async function lookAtDoor() {
  try {
    const answer = await fetch(DOOR, { cache: "no-store" });
    if (answer.status === SHUT) location.reload();
  } catch {
    // No bench at all: it is followed as ever.
  }
}

function lose() {
  close();
  lookAtDoor();
  if (!lostAt) lostAt = performance.now();
  setTimeout(() => {
    if (lostAt && performance.now() - lostAt >= QUIET_MS) mark(false);
  }, QUIET_MS + 50);
  setTimeout(open, AGAIN_MS);
}

function look() {
  if (!stream || document.hidden || performance.now() - heardAt < DEAD_MS) return;
  mark(false);
  lose();
}

function close() {
  stream?.close();
  stream = null;
}

function hear(name, act) {
  stream.addEventListener(name, (event) => {
    heardAt = performance.now();
    act(event);
  });
}

function open() {
  const address = document.body.dataset.events;
  if (!address || document.hidden || stream) return;
  // A page that only watched does not sit down because it is back first.
  const joint = address.includes("?") ? "&" : "?";
  const named = `${address}${joint}page=${PAGE}`;
  wanted = 0;
  stream = new EventSource(hasSeat() ? named : `${named}&watched=1`);
  heardAt = performance.now();
  hear("open", () => {
    if (lostAt) catchUp();
    lostAt = 0;
    mark(true);
    flush();
  });
  hear("job", onJob);
  hear("parts", onParts);
  hear("scale", (event) => onScale(JSON.parse(event.data)));
  hear("seat", (event) => onSeat(JSON.parse(event.data)));
  hear("beat", () => {});
  stream.addEventListener("error", lose);
}

/** Keep the page at what the bench knows. */
export function follow() {
  open();
  setInterval(look, LOOK_MS);
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) close();
    else open();
  });
  addEventListener("pagehide", close);
  addEventListener("pageshow", open);
  document.addEventListener("bench:stale", catchUp);
  let address = document.body.dataset.events;
  document.addEventListener("bench:shown", () => {
    if (document.body.dataset.events === address) return;
    address = document.body.dataset.events;
    close();
    open();
  });
}
