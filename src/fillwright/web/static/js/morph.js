// Bring the page to what the server drew, node by node: what has the focus keeps it, with the
// half-typed number in it, and a tablet's own keyboard does not fold away.

const KEPT = new Set(["open"]);

function sameKind(old, fresh) {
  if (old.nodeType !== fresh.nodeType || old.nodeName !== fresh.nodeName) return false;
  return old.nodeType !== Node.ELEMENT_NODE ||
    (old.id === fresh.id && old.getAttribute("data-whole") === fresh.getAttribute("data-whole"));
}

/** Give `old` these attributes and no others, touching only those that differ. */
export function takeOwn(old, attributes) {
  const wanted = Object.entries(attributes);
  for (const [name, value] of wanted) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  if (old.attributes.length === wanted.length) return;
  for (const name of old.getAttributeNames()) {
    if (!(name in attributes) && !(old.nodeName === "DETAILS" && KEPT.has(name))) {
      old.removeAttribute(name);
    }
  }
}

/** Give `old` the attributes of `fresh`. */
export function takeAttributes(old, fresh) {
  takeOwn(old, Object.fromEntries(Array.from(fresh.attributes, ({ name, value }) => [name, value])));
}

// Most children are the same as before: they are passed by, before anything else is asked of them.
function takeChildren(old, fresh) {
  let wanted = null;
  let next = old.firstChild;
  for (let child = fresh.firstChild; child; child = child.nextSibling) {
    if (next?.isEqualNode(child)) {
      next = next.nextSibling;
      continue;
    }
    if (next?.id && next.id !== child.id) {
      wanted ??= new Set(Array.from(fresh.children, ({ id }) => id));
      while (next?.id && !wanted.has(next.id) && next.id !== child.id) {
        const gone = next;
        next = next.nextSibling;
        gone.remove();
      }
    }
    if (next && sameKind(next, child)) {
      const here = next;
      next = next.nextSibling;
      take(here, child);
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

/** Change `old` into `fresh`, which is of the same kind and differs. */
function take(old, fresh) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    old.data = fresh.data;
  } else if (fresh.hasAttribute("data-as-is")) {
    // A part that is still the same is whole; anything else may have new words by now.
    if (!fresh.hasAttribute("data-part")) old.setAttribute("data-as-is", "");
  } else {
    takeAttributes(old, fresh);
    takeChildren(old, fresh);
  }
}

/** Change `old` into `fresh`, but for what the server left out; return whether it did. */
export function morph(old, fresh) {
  if (old.isEqualNode(fresh)) return false;
  if (sameKind(old, fresh)) take(old, fresh);
  else old.replaceWith(document.importNode(fresh, true));
  return !fresh.hasAttribute("data-as-is");
}
