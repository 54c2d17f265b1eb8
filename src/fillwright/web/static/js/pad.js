// The number pad is the whole keyboard. Keys live only while the weigh field or a group of
// answers has the focus, and the bench settings can turn them off.

const STEPS = ["main", "notes", "foot"];
const WALKED = "input:not([type=hidden]), select, textarea, summary, button, a[href]";
// A scale that types begins with the sign of the weight: the sign is a key only if nothing follows.
const SIGN_MS = 60;

let sign = null;
let touched = null;

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
  if (!field && (steps(event, at) || picks(event, at))) {
    event.preventDefault();
    return;
  }
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

// A number pad has no Tab: its own plus goes on to the next thing, its minus back; its point goes
// on where nothing is typed and plus is the whole job.
function steps(event, at) {
  const by = { NumpadAdd: 1, NumpadSubtract: -1, NumpadDecimal: isTyping(at) ? 0 : 1 }[event.code];
  if (!by || (!isTyping(at) && event.code !== "NumpadDecimal" && buttonFor(event.key))) return false;
  if (by < 0 && isTyping(at) && !at.matches("select") && at.value !== "") return false;
  const all = document.querySelectorAll(["main", "#foot"].map((place) =>
    WALKED.split(", ").map((one) => `${place} ${one}`).join(", ")).join(", "));
  const shown = Array.from(all).filter(isShown);
  const next = shown[(Math.max(shown.indexOf(at), by < 0 ? 0 : -1) + by + shown.length) % shown.length];
  next?.focus();
  if (next?.matches("input") && isTyping(next)) next.select();
  return true;
}

// A digit picks that line of a list, and Enter does what the form is for.
function picks(event, at) {
  if (!at?.matches("select")) return false;
  if (event.key === "Enter") {
    const main = document.querySelector("#foot button.main");
    if (main?.form === at.form) main.click();
    else at.form?.requestSubmit();
    return true;
  }
  if (!/^[1-9]$/u.test(event.key)) return false;
  // Where the lines are numbered; a name that begins with a digit is found by the browser's own way.
  const line = Array.from(at.options).find((one) => one.text.trim().startsWith(`${event.key} `));
  if (!line) return false;
  at.value = line.value;
  at.dispatchEvent(new Event("change", { bubbles: true }));
  return true;
}

// What a closed fold holds has boxes all the same in some browsers, and takes no focus.
function isShown(node) {
  return node.getClientRects().length > 0 && (node.checkVisibility?.() ?? true);
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

// A pad has no key that takes a letter back: the first key replaces a number that stood there.
function isOldNumber(node) {
  return Boolean(node?.matches?.("input[inputmode=decimal], input[inputmode=numeric]")) &&
    node.value !== "" && node.value === node.defaultValue;
}

function onFocus(event) {
  if (isOldNumber(event.target)) event.target.select();
}

// The finger that brings the focus puts the caret too; a second tap is for the caret alone.
function onPointer() {
  touched = document.activeElement;
}

function onClick(event) {
  if (event.target !== touched && isOldNumber(event.target)) event.target.select();
  touched = event.target;
}

/** Listen to the keys. */
export function useKeys() {
  document.addEventListener("keydown", onKey);
  document.addEventListener("focusin", onFocus);
  document.addEventListener("pointerdown", onPointer);
  document.addEventListener("click", onClick);
}
