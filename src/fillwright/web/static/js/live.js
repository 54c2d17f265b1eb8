// Follow the bench: one stream a page, closed while the page is hidden.

import { flush } from "./queue.js";
import { onScale } from "./scale.js";
import { refresh } from "./send.js";

const QUIET_MS = 1500;

let stream = null;
let lostAt = 0;
let asked = false;

function mark(isThere) {
  document.documentElement.dataset.bench = isThere ? "there" : "gone";
  const place = document.getElementById("no-bench");
  if (place) place.hidden = isThere;
}

async function catchUp() {
  if (asked) return;
  asked = true;
  await refresh();
  asked = false;
}

function onJob(event) {
  const shown = Number(document.body.dataset.revision ?? 0);
  if (Number(event.lastEventId) > shown) catchUp();
}

function onError() {
  if (!lostAt) lostAt = performance.now();
  setTimeout(() => {
    if (lostAt && performance.now() - lostAt >= QUIET_MS) mark(false);
  }, QUIET_MS + 50);
  if (stream?.readyState === EventSource.CLOSED) {
    close();
    setTimeout(open, QUIET_MS);
  }
}

function close() {
  stream?.close();
  stream = null;
}

function open() {
  const address = document.body.dataset.events;
  if (!address || document.hidden || stream) return;
  stream = new EventSource(address);
  stream.addEventListener("open", () => {
    if (lostAt) catchUp();
    lostAt = 0;
    mark(true);
    flush();
  });
  stream.addEventListener("job", onJob);
  stream.addEventListener("scale", (event) => onScale(JSON.parse(event.data)));
  stream.addEventListener("error", onError);
}

/** Keep the page at what the bench knows. */
export function follow() {
  open();
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
