// Keep the screen on where weights are taken, and only there. Where the browser cannot or will
// not (over plain HTTP from another machine, or with a low battery) the page says so.

let lock = null;
let refused = false;
let asking = false;

function isWanted() {
  return document.body.dataset.awake === "on" && !document.hidden;
}

function tell() {
  const note = document.getElementById("stay-on");
  if (note) note.hidden = !refused;
}

function letGo() {
  const held = lock;
  lock = null;
  held?.release().catch(() => {});
}

async function ask() {
  tell();
  if (!isWanted()) {
    letGo();
    return;
  }
  if (asking || (lock && !lock.released)) return;
  asking = true;
  try {
    lock = await navigator.wakeLock.request("screen");
    refused = false;
  } catch {
    lock = null;
    refused = !document.hidden;
  }
  asking = false;
  tell();
  // The page may have gone on while the browser made up its mind.
  if (!isWanted()) letGo();
}

/** Keep the screen on in Trim, Prove and Run. */
export function stayAwake() {
  ask();
  document.addEventListener("visibilitychange", ask);
  document.addEventListener("bench:shown", ask);
}
