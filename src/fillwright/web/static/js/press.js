// A press that lands just after the page moved beneath the finger, or twice, is no press.

const SAME_PRESS_MS = 400;
const AFTER_MOVE_MS = 250;

let movedAt = -AFTER_MOVE_MS;
let lastPress = { key: "", at: -SAME_PRESS_MS };

/** Say that the page has moved: presses rest for a moment. */
export function hold() {
  movedAt = performance.now();
  document.documentElement.dataset.moved = "now";
  setTimeout(() => {
    if (performance.now() - movedAt >= AFTER_MOVE_MS) delete document.documentElement.dataset.moved;
  }, AFTER_MOVE_MS + 10);
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

/** Keep presses from what they were not meant for. */
export function guardPresses() {
  document.addEventListener("click", onClick, true);
}
