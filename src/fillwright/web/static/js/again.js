// Pages that show what comes over a line are fetched again and again while they are looked at.

import { refresh } from "./send.js";

const EVERY_MS = 700;

function isBusy() {
  const at = document.activeElement;
  return document.hidden || Boolean(at?.matches("textarea, select, input:not([type=radio], [type=checkbox])"));
}

async function again() {
  if (document.body.dataset.again === "on" && !isBusy()) await refresh({ isQuiet: true });
  setTimeout(again, EVERY_MS);
}

/** Keep such a page fresh. */
export function keepFresh() {
  setTimeout(again, EVERY_MS);
}
