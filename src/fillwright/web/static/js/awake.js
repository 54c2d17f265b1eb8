// Keep the screen on where weights are taken. Over plain HTTP from another machine a browser may
// refuse; then the page says so.

let lock = null;

async function ask() {
  if (document.body.dataset.awake !== "on" || document.hidden || (lock && !lock.released)) return;
  const note = document.getElementById("stay-on");
  try {
    lock = await navigator.wakeLock.request("screen");
    if (note) note.hidden = true;
  } catch {
    if (note) note.hidden = Boolean(navigator.wakeLock);
  }
}

/** Keep the screen on in Trim, Prove and Run. */
export function stayAwake() {
  ask();
  document.addEventListener("visibilitychange", ask);
  document.addEventListener("bench:shown", ask);
}
