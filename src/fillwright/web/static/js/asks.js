// A question that stands ready in the page is opened in its place, without another request.

function open(id) {
  const place = document.getElementById(id);
  if (!place) return false;
  for (const other of document.querySelectorAll(".ask")) other.hidden = other !== place;
  (place.querySelector("[data-first]") ?? place.querySelector("input:not([type=hidden]), button"))?.focus();
  place.scrollIntoView({ block: "center" });
  return true;
}

function onClick(event) {
  const ask = event.target.closest("a[data-ask]");
  if (ask && !event.defaultPrevented && open(ask.dataset.ask)) event.preventDefault();
  const back = event.target.closest("a[data-unask]");
  if (back) {
    event.preventDefault();
    back.closest(".ask").hidden = true;
    (document.querySelector("input[data-weigh]") ?? document.getElementById("main-action"))?.focus();
  }
}

/** Open and close the questions of the page. */
export function useAsks() {
  document.addEventListener("click", onClick);
}
