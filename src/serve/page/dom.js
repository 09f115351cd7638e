// Pieces of the page. What a builder wrote goes in as text, never as markup.

/** An element with attributes, listeners (`on…`) and children; strings become text. */
export function el(name, given = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "class") made.className = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat().filter((child) => child !== undefined && child !== null && child !== false));
  return made;
}

const SVG = "http://www.w3.org/2000/svg";

export function svg(name, given = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(given)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value !== undefined) made.setAttribute(key, value);
  }
  made.append(...children);
  return made;
}

/** Replaces what stands in `place`. */
export function fill(place, ...children) {
  place.replaceChildren(...children.flat().filter(Boolean));
}

/** The same for pieces without listeners: what stands there and is to stand there is kept, so that the browser lays out and paints only
 * what differs. */
export function renew(place, ...children) {
  const there = [...place.childNodes];
  const wanted = children.flat().filter(Boolean);
  wanted.forEach((child, k) => {
    const old = there[k];
    if (!old) place.append(child);
    else if (!madeAlike(old, child)) old.replaceWith(child);
  });
  for (const old of there.slice(wanted.length)) old.remove();
}

/** Makes an old piece like a new one; false where it is another kind of piece. */
function madeAlike(old, made) {
  if (old.nodeName !== made.nodeName) return false;
  if (old.nodeType === Node.TEXT_NODE) {
    if (old.data !== made.data) old.data = made.data;
    return true;
  }
  for (const { name, value } of made.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  for (const name of old.getAttributeNames()) if (!made.hasAttribute(name)) old.removeAttribute(name);
  renew(old, ...made.childNodes);
  return true;
}

export const by = (id) => document.getElementById(id);

/** A table with a caption; the first cell of a row names it. */
export function table(caption, heads, rows, given = {}) {
  const head = el("thead", {}, el("tr", {}, heads.map((words) => (words ? el("th", { scope: "col" }, words) : el("td")))));
  const line = (cells) =>
    el("tr", {}, cells.map((cell, k) => (k === 0 ? el("th", { scope: "row" }, cell) : el("td", {}, cell))));
  return el("table", given, el("caption", {}, caption), heads.some(Boolean) ? head : null, el("tbody", {}, rows.map(line)));
}

/** A picture that the program drew, as an element. */
export function drawn(text) {
  // Said twice it is no XML.
  const named = text.includes("xmlns=") ? text : text.replace("<svg ", `<svg xmlns="${SVG}" `);
  const read = new DOMParser().parseFromString(named, "image/svg+xml").documentElement;
  return document.importNode(read, true);
}

let numbers = 0;
export const unique = (name) => `${name}-${(numbers += 1)}`;

/** Clamped to a range. */
export const within = (value, from, to) => Math.min(Math.max(value, from), to);

/** A distance by which a key moves a slider, in steps; `undefined` for other keys. With Shift ten times. */
export function steps(event) {
  const times = event.shiftKey ? 10 : 1;
  const moved = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[event.key];
  if (moved !== undefined) return moved * times;
  return { PageUp: 10, PageDown: -10 }[event.key];
}

/** Follows a pointer that took hold of `handle` until it lets go. */
export function taken(handle, { start, move, end }) {
  handle.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || start?.(event) === false) return;
    event.preventDefault();
    handle.focus({ preventScroll: true });
    handle.setPointerCapture(event.pointerId);
    const follow = (event) => move(event);
    const leave = (event) => {
      handle.removeEventListener("pointermove", follow);
      handle.removeEventListener("pointerup", leave);
      handle.removeEventListener("pointercancel", leave);
      end?.(event);
    };
    handle.addEventListener("pointermove", follow);
    handle.addEventListener("pointerup", leave);
    handle.addEventListener("pointercancel", leave);
    follow(event);
  });
}
