// The pictures that the program draws, and what a hand can take hold of on them.

import { by, drawn, el, renew, svg, unique } from "./dom.js";
import { desk, on } from "./desk.js";
import { outlineHands } from "./outline.js";
import { sideHands } from "./side.js";
import { strainHands } from "./strain.js";

/** A place for one picture: the program's drawing below, our hands above, both in one frame. */
export function frame(given = {}) {
  const drawing = el("div", { class: "drawing" });
  const hands = svg("svg", { class: "hands", role: "group" });
  const caption = el("figcaption", { id: unique("caption") });
  const made = el("figure", { ...given, "aria-labelledby": caption.id }, caption, el("div", { class: "sheet" }, drawing, hands), el("div", { class: "under" }));
  const place = { made, drawing, hands, caption, scale: null, spots: new Map() };
  new ResizeObserver(() => {
    place.scale = null;
    lettered(place, place.drawing);
    handy(place);
  }).observe(hands);
  return place;
}

/** Most height of letters in a picture, in pixels: a large one needs none that are larger. */
const LETTERS = 15;

/** Of another size on the screen: letters stay letters. */
function lettered(place, picture) {
  for (const text of picture.querySelectorAll("text")) {
    text.dataset.size ??= text.getAttribute("font-size");
    text.setAttribute("font-size", Math.min(Number(text.dataset.size), pixels(place, LETTERS)).toFixed(3));
  }
}

/** What a hand takes hold of stays as large as a thumb. */
function handy(place) {
  for (const [made, spot] of place.spots) put(place, made, spot);
}

/** Puts the drawing there; lines of one chart are told apart by their dashes. */
export function show(place, figure) {
  if (place.figure?.svg === figure.svg) return;
  const picture = drawn(figure.svg);
  place.caption.textContent = figure.title;
  const names = [];
  for (const line of picture.querySelectorAll("path.edge[data-part]")) {
    const name = line.dataset.part;
    if (!names.includes(name)) names.push(name);
    line.classList.add(`line-${names.indexOf(name) % 10}`);
  }
  const box = picture.getAttribute("viewBox");
  if (place.hands.getAttribute("viewBox") !== box) {
    place.hands.setAttribute("viewBox", box);
    place.scale = null;
  }
  lettered(place, picture);
  renew(place.drawing, picture);
  place.left = Number(picture.dataset.left);
  place.top = Number(picture.dataset.top);
  place.figure = figure;
  handy(place);
}

/** From axes to the frame, and back from a pointer. */
export const onChart = (place, [x, y]) => {
  const { axes, area } = place.figure;
  return [
    place.left + (area[0] * (x - axes[0][0])) / (axes[0][1] - axes[0][0]),
    place.top - (area[1] * (y - axes[1][0])) / (axes[1][1] - axes[1][0]),
  ];
};

export function fromPointer(place, event) {
  const [x, y] = inFrame(place, event);
  const { axes, area } = place.figure;
  return [
    axes[0][0] + ((x - place.left) * (axes[0][1] - axes[0][0])) / area[0],
    axes[1][0] + ((place.top - y) * (axes[1][1] - axes[1][0])) / area[1],
  ];
}

/** A pointer in units of the frame. */
export function inFrame(place, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(place.hands.getScreenCTM().inverse());
  return [at.x, at.y];
}

/** Where on the chart a pointer leads what stood at `from` as it was taken hold of: by the way it went since, in the axes of then. What
 * the page shows may move under the hand, and axes may grow. */
export function follow(place, event, from) {
  const start = fromPointer(place, event);
  const { width, height } = place.hands.getBoundingClientRect();
  const far = fromPointer(place, { clientX: event.clientX + width, clientY: event.clientY + height });
  const per = [(far[0] - start[0]) / width, (far[1] - start[1]) / height];
  const [x, y] = [event.clientX, event.clientY];
  return (now) => [from[0] + (now.clientX - x) * per[0], from[1] + (now.clientY - y) * per[1]];
}

/** Units of the frame for this many pixels. */
export function pixels(place, count) {
  // Asked once for each size: to ask lays the page out.
  place.scale ||= place.hands.getScreenCTM()?.a;
  return count / (place.scale || 1);
}

/** Something to take hold of: a dot with room for a thumb around it. */
export function handle(given) {
  const made = svg(
    "g",
    { class: "handle", role: "slider", tabindex: "0", ...given },
    svg("circle", { class: "reach" }),
    svg("circle", { class: "dot" }),
  );
  return made;
}

export function put(place, made, [x, y]) {
  place.spots.set(made, [x, y]);
  made.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
  made.querySelector(".reach").setAttribute("r", pixels(place, 22).toFixed(2));
  made.querySelector(".dot").setAttribute("r", pixels(place, 8).toFixed(2));
}

const places = new Map();

// While a hand moves there is no time for pictures that nobody sees; they are drawn as they come into sight.
const sight = new IntersectionObserver(
  (entries) => {
    for (const entry of entries) for (const place of places.values()) if (place.made === entry.target) place.seen = entry.isIntersecting;
    paint();
  },
  { rootMargin: "200px" },
);
const order = ["strain", "outline", "force", "bend", "stack"];

function paint() {
  const look = desk.look;
  if (!look) return;
  for (const figure of look.figures) {
    if (!places.has(figure.name)) {
      const place = frame({ class: `figure ${figure.name}` });
      places.set(figure.name, place);
      sight.observe(place.made);
      if (figure.name === "side") by("side").append(place.made);
    }
    const place = places.get(figure.name);
    // One that is of another limb now is not left with the hands of this one over it.
    if (place.seen !== false || place.figure?.title !== figure.title) show(place, figure);
  }
  const made = order.map((name) => places.get(name)?.made).filter(Boolean);
  if (by("figures").childElementCount !== made.length) by("figures").append(...made);
  for (const [name, place] of places) place.made.hidden = !look.figures.some((figure) => figure.name === name);
  if (places.has("side")) sideHands(places.get("side"));
  if (places.has("strain")) strainHands(places.get("strain"));
  if (places.has("outline")) outlineHands(places.get("outline"));
}

/** What is drawn in grey is the last bow that was one. */
function grey() {
  const stale = desk.faults.length > 0 || (desk.state?.faults.length ?? 0) > 0;
  document.body.classList.toggle("stale", stale);
}

export function figures() {
  on("picture", paint);
  on("look", grey);
  on("state", grey);
  new ResizeObserver(() => desk.look && paint()).observe(by("side"));
}

