// The pictures that the program draws, and what a hand can take hold of on them.

import { by, drawn, el, fill, svg, unique } from "./dom.js";
import { desk, on, pull } from "./desk.js";
import { outlineHands } from "./outline.js";
import { sideHands } from "./side.js";

/** A place for one picture: the program's drawing below, our hands above, both in one frame. */
export function frame(given = {}) {
  const drawing = el("div", { class: "drawing" });
  const hands = svg("svg", { class: "hands", role: "group" });
  const caption = el("figcaption", { id: unique("caption") });
  const made = el("figure", { ...given, "aria-labelledby": caption.id }, caption, el("div", { class: "sheet" }, drawing, hands), el("div", { class: "under" }));
  return { made, drawing, hands, caption };
}

/** Puts the drawing there; lines of one chart are told apart by their dashes. */
export function show(place, figure) {
  const picture = drawn(figure.svg);
  place.caption.textContent = figure.title;
  const names = [];
  for (const line of picture.querySelectorAll("path.edge[data-part]")) {
    const name = line.dataset.part;
    if (!names.includes(name)) names.push(name);
    line.classList.add(`line-${names.indexOf(name) % 6}`);
  }
  fill(place.drawing, picture);
  place.hands.setAttribute("viewBox", picture.getAttribute("viewBox"));
  place.left = Number(picture.dataset.left);
  place.top = Number(picture.dataset.top);
  place.figure = figure;
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

/** Units of the frame for this many pixels. */
export const pixels = (place, count) => count / (place.hands.getScreenCTM()?.a || 1);

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
  made.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
  made.querySelector(".reach").setAttribute("r", pixels(place, 22).toFixed(2));
  made.querySelector(".dot").setAttribute("r", pixels(place, 8).toFixed(2));
}

const places = new Map();
const order = ["strain", "outline", "force", "bend", "stack"];

function paint() {
  const look = desk.look;
  if (!look) return;
  for (const figure of look.figures) {
    if (!places.has(figure.name)) {
      const place = frame({ class: `figure ${figure.name}` });
      places.set(figure.name, place);
      if (figure.name === "side") by("side").append(place.made);
      if (figure.name === "strain") place.made.querySelector(".under").append(ease());
    }
    show(places.get(figure.name), figure);
  }
  const made = order.map((name) => places.get(name)?.made).filter(Boolean);
  if (by("figures").childElementCount !== made.length) by("figures").append(...made);
  for (const [name, place] of places) place.made.hidden = !look.figures.some((figure) => figure.name === name);
  if (places.has("side")) sideHands(places.get("side"));
  if (places.has("outline")) outlineHands(places.get("outline"));
  grey();
}

/** What is drawn in grey is the last bow that was one. */
function grey() {
  const stale = desk.faults.length > 0 || (desk.state?.faults.length ?? 0) > 0;
  document.body.classList.toggle("stale", stale);
}

/** The strain drawn down: length or width follows. */
function ease() {
  const percent = el("input", { type: "range", min: "50", max: "110", step: "1", id: "ease-percent" });
  const words = el("output", { for: "ease-percent" });
  const say = () => {
    words.textContent = `${percent.value} %`;
    percent.setAttribute("aria-valuetext", `${percent.value} percent of breaking`);
  };
  const go = (way) => pull("ease", { percent: Number(percent.value), by: way });
  percent.addEventListener("input", say);
  let mine = false;
  percent.addEventListener("input", () => (mine = true));
  const follow = () => {
    if (!desk.look) return say();
    const hardest = Math.max(...desk.look.strains.map((strain) => Number.parseFloat(strain.cells[3]) || 0));
    if (!mine && hardest > 0) percent.value = String(Math.round(hardest));
    say();
  };
  on("look", follow);
  on("told", () => (mine = false));
  follow();
  return el(
    "div",
    { class: "ease" },
    el("label", { for: "ease-percent" }, "hardest part to"),
    percent,
    words,
    el("span", { class: "buttons" }, el("button", { type: "button", onclick: () => go("longer") }, "by length"), el("button", { type: "button", onclick: () => go("wider") }, "by width")),
  );
}

export function figures() {
  on("look", paint);
  on("state", grey);
  new ResizeObserver(() => desk.look && paint()).observe(by("side"));
}

