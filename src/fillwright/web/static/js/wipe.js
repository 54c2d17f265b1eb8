// The glass can be wiped: no touch counts until Enter on the pad, or two opposite corners.

const CORNER = 0.2;
const PAUSE_MS = 3000;

function cornerOf(event) {
  const across = event.clientX / innerWidth;
  const down = event.clientY / innerHeight;
  const side = (share) => (share < CORNER ? -1 : share > 1 - CORNER ? 1 : 0);
  return [side(across), side(down)];
}

export function useWipe() {
  let last = null;
  let at = 0;
  const shut = () => document.getElementById("wipe")?.close();

  document.addEventListener("click", (event) => {
    const dialog = document.getElementById("wipe");
    if (!dialog) return;
    if (!dialog.open) {
      if (event.target.closest("[data-wipe]")) dialog.showModal();
      return;
    }
    event.preventDefault();
    event.stopPropagation();
    const corner = cornerOf(event);
    if (!corner[0] || !corner[1]) return;
    const opposite = last && corner[0] === -last[0] && corner[1] === -last[1];
    if (opposite && event.timeStamp - at < PAUSE_MS) {
      last = null;
      shut();
    } else {
      last = corner;
      at = event.timeStamp;
    }
  }, true);
  document.addEventListener("keydown", (event) => {
    if (!document.getElementById("wipe")?.open) return;
    event.preventDefault();
    event.stopPropagation();
    if (event.key === "Enter") shut();
  }, true);
}
