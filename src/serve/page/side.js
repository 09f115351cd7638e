// The bow from the side, drawn by its nocking point: the limbs follow through the shapes that the program worked out.

import { steps, svg, taken, within } from "./dom.js";
import { desk, moved } from "./desk.js";
import { handle, inFrame, put } from "./figures.js";

let at = null;
let parts = null;

/** A hand is about to draw: at every draw the limbs have their shape then. */
function readied() {
  if (desk.drawing) return;
  desk.drawing = true;
  if (desk.look?.draws.some((drawn) => !drawn.limb)) moved();
}

/** The bow stands `at` so many draws from brace; at full draw where nothing is said. */
function stands(to) {
  at = to;
  desk.drawn = at === null ? null : Math.round(at);
}

const between = (a, b, t) => a + (b - a) * t;

/** The bow `at` that many computed draws from brace. */
function shape(draws, at) {
  const k = Math.min(Math.floor(at), draws.length - 2);
  // Until all of them are there, the bow stands at one that is.
  if (!draws[k].limb || !draws[k + 1].limb) return [draws[Math.round(at)], draws[draws.length - 1]].find((drawn) => drawn.limb);
  const [a, b, t] = [draws[k], draws[k + 1], at - k];
  const point = ([x, y], [u, v]) => [between(x, u, t), between(y, v, t)];
  const shape = (a, b) => ({ limb: a.limb.map((corner, n) => point(corner, b.limb[n])), nock: point(a.nock, b.nock) });
  const lower = a.lower && { ...shape(a.lower, b.lower), along: between(a.lower.along, b.lower.along, t) };
  return { ...shape(a, b), hand: between(a.hand, b.hand, t), lower };
}

const mirrored = ([x, y]) => [-x, y];

function paint(place) {
  const draws = desk.look.draws;
  const last = draws.length - 1;
  const now = at === null ? last : within(at, 0, last);
  const { limb, nock, hand, lower } = last > 0 ? shape(draws, now) : { ...draws[0] };
  const other = lower ?? { limb: limb.map(mirrored), nock: mirrored(nock), along: 0 };
  const spot = ([x, y]) => `${(place.left + x).toFixed(2)} ${(place.top - y).toFixed(2)}`;
  parts.upper.setAttribute("d", `M${limb.map(spot).join("L")}Z`);
  parts.lower.setAttribute("d", `M${other.limb.map(spot).join("L")}Z`);
  parts.string.setAttribute("d", `M${spot(nock)}L${spot([other.along, hand])}L${spot(other.nock)}`);
  put(place, parts.handle, [place.left + other.along, place.top - hand]);
  const drawn = draws[Math.round(now)];
  const words = `${drawn.draw}: ${drawn.force}`;
  parts.handle.setAttribute("aria-valuemax", String(last));
  parts.handle.setAttribute("aria-valuenow", String(Math.round(now)));
  parts.handle.setAttribute("aria-valuetext", `drawn to ${drawn.draw}, ${drawn.force}`);
  parts.words.textContent = `drawn to ${words}`;
}

function make(place) {
  parts = {
    upper: svg("path", { class: "limb" }),
    lower: svg("path", { class: "limb" }),
    string: svg("path", { class: "string" }),
    handle: handle({ "aria-label": "nocking point, draws the bow", "aria-valuemin": "0" }),
    words: document.createElement("p"),
  };
  parts.words.className = "drawn-to";
  place.hands.append(parts.upper, parts.lower, parts.string, parts.handle);
  place.made.querySelector(".under").append(parts.words);
  const last = () => desk.look.draws.length - 1;
  taken(parts.handle, {
    move(event) {
      const hand = place.top - inFrame(place, event)[1];
      const draws = desk.look.draws;
      const k = draws.findIndex((drawn) => hand <= drawn.hand);
      if (k < 0) stands(last());
      else if (k === 0) stands(0);
      else stands(k - 1 + (hand - draws[k - 1].hand) / (draws[k].hand - draws[k - 1].hand));
      paint(place);
    },
    end() {
      stands(Math.round(at) === last() ? null : Math.round(at));
      paint(place);
    },
  });
  for (const soon of ["pointerenter", "pointerdown", "focus"]) parts.handle.addEventListener(soon, readied);
  parts.handle.addEventListener("keydown", (event) => {
    const jump = { Home: -Infinity, End: Infinity }[event.key] ?? steps(event);
    if (jump === undefined) return;
    event.preventDefault();
    const to = within((at ?? last()) + jump, 0, last());
    stands(to === last() ? null : to);
    paint(place);
  });
}

export function sideHands(place) {
  if (!desk.look.draws.length) return;
  if (!parts) make(place);
  paint(place);
}
