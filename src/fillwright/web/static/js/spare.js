// What the page need not be sent again: parts that are still the same, folds and questions that are
// shut, and the drawing for the other width. The server leaves them out, the page keeps what it
// has, and asks once they are to be seen.

const PHONE = matchMedia("(max-width: 760px)");

/** Return what is asked for with a page, so that it leaves these parts out. */
export function withSpares() {
  const shut = document.querySelectorAll("details.more[id]:not([open]), .ask[id][hidden]:not(:empty)");
  const parts = document.querySelectorAll("[data-part]:not(:empty)");
  return {
    "Fw-Spares": [
      ...Array.from(shut, ({ id }) => id),
      ...Array.from(parts, ({ id, dataset }) => `${id}=${dataset.part}`),
      PHONE.matches ? "wide" : "narrow",
    ].join(" "),
  };
}

/** Ask again when something comes into sight that was left out. */
export function fillSpares(ask) {
  document.addEventListener("toggle", ({ target }) => {
    if (target.open && target.hasAttribute("data-as-is")) ask();
  }, true);
  // A page that lacks nothing stays: asked again, the answer to a press would lose what was typed.
  PHONE.addEventListener("change", () => {
    if (document.querySelector("[data-as-is]")) ask();
  });
}
