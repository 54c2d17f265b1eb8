// Bring the page to what the server drew, node by node: what has the focus keeps it, with the
// half-typed number in it, and a tablet's own keyboard does not fold away.

const KEPT = new Set(["open"]);

function sameKind(old, fresh) {
  return old.nodeType === fresh.nodeType && old.nodeName === fresh.nodeName &&
    (old.id || "") === (fresh.id || "") &&
    (old.dataset?.whole ?? "") === (fresh.dataset?.whole ?? "");
}

function takeAttributes(old, fresh) {
  for (const { name } of Array.from(old.attributes)) {
    if (!fresh.hasAttribute(name) && !(old.nodeName === "DETAILS" && KEPT.has(name))) {
      old.removeAttribute(name);
    }
  }
  for (const { name, value } of Array.from(fresh.attributes)) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
}

function takeChildren(old, fresh) {
  const wanted = new Set(Array.from(fresh.children, (child) => child.id).filter(Boolean));
  let next = old.firstChild;
  for (const child of Array.from(fresh.childNodes)) {
    while (next?.id && !wanted.has(next.id) && next.id !== child.id) {
      const gone = next;
      next = next.nextSibling;
      gone.remove();
    }
    if (next && sameKind(next, child)) {
      const here = next;
      next = next.nextSibling;
      morph(here, child);
    } else if (next && !child.id && !next.id) {
      const here = next;
      next = next.nextSibling;
      here.replaceWith(document.importNode(child, true));
    } else {
      old.insertBefore(document.importNode(child, true), next);
    }
  }
  while (next) {
    const gone = next;
    next = next.nextSibling;
    gone.remove();
  }
}

/** Change `old` into `fresh`. Drawings are exchanged whole. */
export function morph(old, fresh) {
  if (old.isEqualNode(fresh)) return false;
  if (!sameKind(old, fresh) || old.nodeName === "svg") {
    old.replaceWith(document.importNode(fresh, true));
  } else if (old.nodeType === Node.ELEMENT_NODE) {
    takeAttributes(old, fresh);
    takeChildren(old, fresh);
  } else {
    old.data = fresh.data;
  }
  return true;
}
