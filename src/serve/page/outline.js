// The outline's points by hand: up and down the width there, left and right the station.

import { steps, taken, within } from "./dom.js";
import { attempt, number, ownLever, stepped, text } from "./desk.js";
import { follow, handle, onChart, put } from "./figures.js";

const hands = [];

const point = (k) => [ownLever(`outline.width[${k}][0]`), ownLever(`outline.width[${k}][1]`)];

function count() {
  let k = 0;
  while (point(k).every(Boolean)) k += 1;
  return k;
}

/** Stations keep their order: a point stays a step away from its neighbours. */
function station(k, value) {
  const [own] = point(k);
  const [before, after] = [point(k - 1)[0], point(k + 1)[0]];
  const from = before ? number(before) + own.step : 0;
  const to = after ? number(after) - own.step : Infinity;
  return stepped(own, within(value, from, to));
}

function move(k, [x, y]) {
  const [along, across] = point(k);
  if (number(along) !== 0) attempt(along.key, station(k, x));
  attempt(across.key, stepped(across, Math.max(y, across.step)));
}

function make(place, k) {
  const made = handle({ "aria-label": `width point ${k + 1}; left and right move its station`, "aria-valuemin": "0" });
  let lead = null;
  taken(made, {
    start: (event) => (lead = follow(place, event, point(k).map(number))),
    move: (event) => move(k, lead(event)),
  });
  made.addEventListener("keydown", (event) => {
    const by = steps(event);
    if (by === undefined) return;
    event.preventDefault();
    const [along, across] = point(k);
    if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
      if (number(along) !== 0) attempt(along.key, station(k, number(along) + by * along.step));
    } else attempt(across.key, stepped(across, number(across) + by * across.step));
  });
  place.hands.append(made);
  return made;
}

export function outlineHands(place) {
  const wanted = count();
  while (hands.length > wanted) hands.pop().remove();
  while (hands.length < wanted) hands.push(make(place, hands.length));
  hands.forEach((made, k) => {
    const [along, across] = point(k);
    put(place, made, onChart(place, [number(along), number(across)]));
    made.setAttribute("aria-valuenow", String(number(across)));
    made.setAttribute("aria-valuemax", String(Math.max(across.to, number(across))));
    made.setAttribute("aria-valuetext", `${text(across)} ${across.unit} wide at station ${text(along)} ${along.unit}`);
  });
  place.made.classList.toggle("by-hand", wanted > 0);
}
