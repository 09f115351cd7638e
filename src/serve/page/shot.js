// What the bow shoots, once the hand rests.

import { by, el, fill, table } from "./dom.js";
import { desk, on } from "./desk.js";
import { frame, show } from "./figures.js";

const place = frame({ class: "figure shot" });

function told() {
  const { none_because: none, heads, rows, lighter_heads: parts, lighter, band, caution, figure } = desk.shot;
  by("shot").classList.remove("waits");
  if (none) {
    fill(by("shot"), el("h2", {}, "What it shoots"), el("p", { class: "none" }, none));
    return;
  }
  const speeds = table("Arrows from light to heavy", heads, rows, { class: "speeds" });
  fill(
    by("shot"),
    el("h2", {}, "What it shoots"),
    el("div", { class: "wide", tabindex: "0", role: "group", "aria-label": "speeds by arrow" }, speeds),
    el("p", { class: "quiet" }, band),
    place.made,
    table("What lighter parts are worth", parts, lighter, { class: "lighter" }),
    el("p", { class: "notice warning" }, caution),
  );
  if (figure) show(place, figure);
}

export function shot() {
  on("shot", told);
  // The speeds of the last bow are no longer those of this one.
  on("tries", () => by("shot").classList.add("waits"));
}
