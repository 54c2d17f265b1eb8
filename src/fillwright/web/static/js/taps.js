// One stroke timed by two taps: the first at the press, the second at the stop.

import { inWords } from "./words.js";

const began = new Map();

function seconds(from) {
  return ((performance.now() - from) / 1000).toFixed(1);
}

/** Let a button with data-tap fill the field that it names. */
export function useTaps() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("button[data-tap]");
    if (!button) return;
    const field = document.getElementById(button.dataset.tap);
    if (!field) return;
    const name = button.dataset.tap;
    if (!began.has(name)) {
      began.set(name, performance.now());
      button.dataset.words ||= button.textContent;
      button.textContent = inWords("Tap at the stop");
      return;
    }
    field.value = seconds(began.get(name));
    began.delete(name);
    button.textContent = button.dataset.words;
  });
}
