// A number pad for thumbs. It types into the figure that was touched last; a keyboard may do the same.

import { el } from "./dom.js";

let target = null;

/** The figure that the pad types into. */
export const aimed = () => target;

export function aim(input) {
  target?.classList.remove("aimed");
  target = input;
  target?.classList.add("aimed");
}

/** A figure that the pad can type into; phones bring up no keyboard of their own for it. */
export function figure(given, changed) {
  const made = el("input", { type: "text", inputmode: "none", autocomplete: "off", class: "figure-field", ...given });
  made.addEventListener("focus", () => aim(made));
  made.addEventListener("input", () => changed(made.value));
  return made;
}

function type(text) {
  if (!target?.isConnected) return;
  target.value = text === null ? target.value.slice(0, -1) : target.value + text;
  target.dispatchEvent(new Event("input", { bubbles: true }));
}

/** The unit goes at the end and comes off with a second touch. */
function unit(words) {
  if (!target?.isConnected) return;
  const bare = target.value.replace(/\s*(mm|in)$/, "");
  target.value = bare !== target.value || !bare ? bare : `${bare} ${words}`;
  target.dispatchEvent(new Event("input", { bubbles: true }));
}

/** The pad; `next` is called with its wide key. */
export function pad({ units, other, next }) {
  const fractions = units === "in";
  const key = (shown, label, act, more = "") =>
    el("button", { type: "button", class: `pad-key ${more}`, "aria-label": label, onmousedown: (event) => event.preventDefault(), onclick: act }, shown);
  const digit = (text) => key(text, text, () => type(text), "digit");
  const wide = el("button", { type: "button", class: "pad-next main-button", onmousedown: (event) => event.preventDefault(), onclick: next }, "next");
  const last = fractions
    ? [key("/", "fraction bar", () => type("/")), key("␣", "space before a fraction", () => type(" "))]
    : [key("−", "minus", () => type("-"))];
  const made = el(
    "div",
    { class: `pad ${fractions ? "" : "plain"}`, role: "group", "aria-label": "number pad" },
    ["7", "8", "9"].map(digit),
    key("⌫", "delete the last figure", () => type(null)),
    ["4", "5", "6"].map(digit),
    fractions ? key("−", "minus", () => type("-")) : last[0],
    ["1", "2", "3"].map(digit),
    fractions ? last[0] : key(other, `read in ${other}`, () => unit(other)),
    digit("0"),
    key(".", "point", () => type("."), "digit"),
    fractions ? [last[1], key(other, `read in ${other}`, () => unit(other))] : null,
    wide,
  );
  return { made, wide };
}
