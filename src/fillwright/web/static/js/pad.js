// The number pad is the whole keyboard. Keys live only while the weigh field or a group of
// answers has the focus, and the bench settings can turn them off.

const STEPS = ["main", "notes", "foot"];
// A scale that types begins with the sign of the weight: the sign is a key only if nothing follows.
const SIGN_MS = 60;

let sign = null;

function isOn() {
  return document.body.dataset.keys !== "off";
}

// An open question comes before the page around it; what is hidden has no key.
function buttonFor(key) {
  const all = document.querySelectorAll(`[data-key="${CSS.escape(key)}"]`);
  const shown = Array.from(all).filter((button) => !button.closest("[hidden]"));
  return shown.find((button) => button.closest(".ask")) ?? shown[0];
}

function press(key) {
  const button = buttonFor(key);
  if (!button) return false;
  if (button.matches("input")) {
    button.checked = button.type === "radio" ? true : !button.checked;
    button.dispatchEvent(new Event("change", { bubbles: true }));
    focusNext(button);
  } else {
    button.click();
  }
  return true;
}

function focusNext(after) {
  const boxes = Array.from(document.querySelectorAll("[data-keys] input[type=checkbox]"));
  const next = boxes.find((box) => !box.checked && box !== after) ??
    document.querySelector("#first input[data-start]") ?? document.querySelector("#foot .main");
  next?.focus();
}

function holdSign(field, key) {
  sign = { field, key, timer: setTimeout(() => {
    const held = sign;
    sign = null;
    press(held.key);
  }, SIGN_MS) };
}

function signFirst() {
  const { field, key, timer } = sign;
  clearTimeout(timer);
  sign = null;
  field.setRangeText(key, 0, 0, "end");
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function onKey(event) {
  if (sign && /^[0-9., ]$/u.test(event.key)) signFirst();
  if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
  if (event.key === "F6") {
    event.preventDefault();
    walk(event.shiftKey ? -1 : 1);
    return;
  }
  if (!isOn()) return;
  const at = document.activeElement;
  const field = at?.matches("input[data-weigh]") ? at : null;
  const inGroup = at?.closest("[data-keys]") && !isTyping(at);
  if (!field && !inGroup && at !== document.body) return;
  if (at === document.body && !document.querySelector("[data-keys]")) return;
  const isEmpty = !field || field.value === "";
  if (event.key === "Enter") {
    // On a number pad Enter is the main action wherever the focus stands, a box included.
    const main = document.querySelector("#foot .main");
    if (!field && main && (at === document.body || at.matches("input[type=checkbox], input[type=radio]"))) {
      event.preventDefault();
      main.click();
    }
    return;
  }
  const wanted = event.key === "," || event.key === "." ? "" : event.key;
  if (!/^[0-9*/+-]$/u.test(wanted)) return;
  if (/^[0-9]$/u.test(wanted) && field) return;
  if ((wanted === "-" || wanted === "+") && !isEmpty) return;
  if (field && (wanted === "-" || wanted === "+")) {
    event.preventDefault();
    if (!sign) holdSign(field, wanted);
    return;
  }
  if (press(wanted)) event.preventDefault();
}

function isTyping(node) {
  return node.matches("textarea, select, input:not([type=checkbox], [type=radio], [type=hidden])");
}

function firstIn(place) {
  const all = place.querySelectorAll("[data-start], input:not([type=hidden]), button, a[href], summary");
  const shown = Array.from(all).filter((node) => !node.closest("[hidden]"));
  return shown.find((node) => node.hasAttribute("data-start")) ?? shown[0] ?? place;
}

function walk(step) {
  const places = STEPS.map((id) => document.getElementById(id)).filter(Boolean);
  const at = places.findLastIndex((place) => place.contains(document.activeElement));
  const next = places[(at + step + places.length) % places.length];
  (next.id === "notes" ? next : firstIn(next)).focus();
}

/** Listen to the keys. */
export function useKeys() {
  document.addEventListener("keydown", onKey);
}
