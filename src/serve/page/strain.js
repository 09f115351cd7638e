// The strain drawn down, by the highest place on its curve or by the slider below it: the length or the widths follow.

import { el, steps, taken, unique, within } from "./dom.js";
import { desk, on, pull } from "./desk.js";
import { follow, handle, onChart, put } from "./figures.js";

/** Percent of breaking, as far as the program goes. */
const LEAST = 20;
const MOST = 150;

let at = null;
let hand = null;
let slider = null;
let words = null;
let follows = "longer";
/** What is asked for and not answered yet. */
let wanted = null;
let held = false;
/** Why it cannot be drawn. */
let fixed = null;

const percent = () => wanted ?? Math.round(desk.look.hardest[1]);

function draw(value) {
  const now = within(Math.round(value), LEAST, MOST);
  if (now === percent()) return;
  wanted = now;
  paint();
  pull("ease", { percent: now, by: follows });
}

function paint() {
  const hardest = desk.look?.hardest;
  hand.toggleAttribute("hidden", !hardest);
  slider.closest(".ease").hidden = !hardest;
  fixed.textContent = desk.look?.not_eased ?? "";
  fixed.hidden = !fixed.textContent;
  if (!hardest) return;
  put(at, hand, onChart(at, [hardest[0], wanted ?? hardest[1]]));
  slider.value = String(percent());
  words.textContent = `${percent()} %`;
  const said = `${percent()} percent of breaking, the ${follows === "longer" ? "length follows" : "widths follow"}`;
  for (const one of [hand, slider]) one.setAttribute("aria-valuetext", said);
  hand.setAttribute("aria-valuenow", String(percent()));
}

function make(place) {
  at = place;
  hand = handle({ "aria-label": "strain of the part that works hardest", "aria-valuemin": String(LEAST), "aria-valuemax": String(MOST) });
  place.hands.append(hand);
  let lead = null;
  taken(hand, {
    start(event) {
      held = true;
      lead = follow(place, event, desk.look.hardest);
    },
    move: (event) => draw(lead(event)[1]),
    end() {
      held = false;
      rest();
    },
  });
  hand.addEventListener("keydown", moved);
  slider = el("input", { type: "range", min: String(LEAST), max: String(MOST), step: "1", id: unique("ease"), oninput: () => draw(Number(slider.value)), onkeydown: moved });
  words = el("output", { for: slider.id });
  const name = unique("follows");
  const way = (value, text) => {
    const choose = () => {
      follows = value;
      paint();
    };
    return el("label", {}, el("input", { type: "radio", name, value, checked: value === follows, onchange: choose }), text);
  };
  place.made.querySelector(".under").append(
    el(
      "div",
      { class: "ease" },
      el("label", { for: slider.id }, "draw the hardest part to"),
      slider,
      words,
      el("fieldset", { class: "units" }, el("legend", { class: "unseen" }, "what follows"), way("longer", "length follows"), way("wider", "widths follow")),
    ),
  );
  fixed = el("p", { class: "quiet" });
  place.made.querySelector(".under").append(fixed);
  on("pulled", rest);
}

function moved(event) {
  const k = steps(event);
  if (k === undefined) return;
  event.preventDefault();
  draw(percent() + k);
}

/** Once answered, it stands where the bow is. */
function rest() {
  if (held || desk.pulling) return;
  wanted = null;
  paint();
}

export function strainHands(place) {
  if (!hand) make(place);
  paint();
}
