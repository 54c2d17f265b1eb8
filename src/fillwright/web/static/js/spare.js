// What the page need not be sent again: parts that are still the same, folds and questions that are
// shut, and the drawing for the other width. The server leaves them out, the page keeps what it
// has, and asks once they are to be seen. Where nothing but parts changed, they come alone.

import { newId } from "./ids.js";
import { morph, takeOwn } from "./morph.js";

const PHONE = matchMedia("(max-width: 760px)");

function markOf(place) {
  const { part, text, own } = place?.dataset ?? {};
  return part ?? text ?? own;
}

let hasAsked = false;

/** The name of this page, by which the bench knows what it has. */
export const PAGE = newId();

/** Return what is asked for with a page, so that it leaves these parts out. */
export function withSpares() {
  hasAsked = true;
  const shut = document.querySelectorAll("details.more[id]:not([open]), .ask[id][hidden]:not(:empty)");
  const parts = document.querySelectorAll("[data-part]:not([data-as-is]), [data-text], [data-own]");
  return {
    "Fw-Page": PAGE,
    "Fw-Spares": [
      ...Array.from(shut, ({ id }) => id),
      `frame=${document.body.dataset.frame}`,
      ...Array.from(parts, (part) => `${part.id}=${markOf(part)}`),
      PHONE.matches ? "wide" : "narrow",
    ].join(" "),
  };
}

// Other answers may have come first: a change of another page than this one, or of one that has
// moved on since, is none.
function isOfThis({ frame, same, own }) {
  const { revision = 0 } = document.body.dataset;
  return frame === document.body.dataset.frame &&
    Number(own.page?.["data-revision"] ?? revision) >= Number(revision) &&
    Object.entries(same).every(([id, mark]) => markOf(document.getElementById(id)) === mark);
}

/** Take the parts that changed; return whether any did, or null where they are not of this page. */
export function takeParts(told) {
  if (!isOfThis(told)) return null;
  const { parts, drawn, texts, own } = told;
  if (parts || drawn) {
    const place = document.createElement("template");
    place.innerHTML = `<svg>${drawn}</svg>${parts}`;
    const [drawing, ...others] = place.content.children;
    // What is drawn is looked at only: nothing in it has the focus, or was typed into.
    for (const part of [...drawing.children]) document.getElementById(part.id).replaceWith(part);
    for (const part of others) morph(document.getElementById(part.id), part);
  }
  for (const [id, [mark, words]] of Object.entries(texts)) {
    const old = document.getElementById(id);
    old.dataset.text = mark;
    old.textContent = words;
  }
  for (const [id, attributes] of Object.entries(own)) {
    takeOwn(document.getElementById(id), attributes);
  }
  return Boolean(parts || drawn) || Object.keys(texts).length > 0;
}

/** Ask again when something comes into sight that was left out. */
export function fillSpares(ask) {
  let soon = 0;
  // Several that are opened at once are asked for once.
  const askSoon = () => {
    clearTimeout(soon);
    soon = setTimeout(ask, 0, { isQuiet: true });
  };
  document.addEventListener("toggle", ({ target }) => {
    // What is told of a page hangs on which folds were open when it asked.
    const isOld = hasAsked && document.body.dataset.events && target.matches("details.more[id]");
    if (isOld || (target.open && target.hasAttribute("data-as-is"))) askSoon();
  }, true);
  // A page that lacks nothing stays: asked again, the answer to a press would lose what was typed.
  PHONE.addEventListener("change", () => {
    if (document.querySelector("[data-as-is]")) ask();
  });
}
