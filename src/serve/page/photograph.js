// Tiller from a photograph: what is marked, what is known of the marks, what it tells, and the way into the log. The picture stays in this page;
// the program is told the marks' places and sizes.

import { Refused, ask } from "./door.js";
import { answer } from "./answer.js";
import { chips } from "./form.js";
import { el, fill, unique } from "./dom.js";
import { send } from "./outbox.js";
import { go, ofBow, shop } from "./phone.js";
import { picture } from "./picture.js";

/** As many points as tell a limb's curve well, and as many as are taken. */
const GOOD = 12;
const MOST = 40;

const list = (key, short, words, most, todo) => ({ key, short, words, most, todo, points: [] });
const state = {
  shown: null,
  rectangle: true,
  sizes: { draw: "", camera: "", across: "", up: "", stick: "", behind: "" },
  lists: [
    list("marks", "m", "marks of known size", 4, "Mark the four corners, going round; the first two lie across."),
    list("nocks", "n", "nocks", 2, "Mark the upper nock, then the lower one, where the groove meets the edge of the back."),
    list("grip", "g", "grip", 1, "Mark the middle of the bow on the edge of its back."),
    list("upper", "U", "upper limb", MOST, "Mark a dozen places along the edge of the back, from the fade to the nock."),
    list("lower", "L", "lower limb", MOST, "Mark a dozen places along the edge of the back, from the fade to the nock."),
  ],
  now: "marks",
  told: null,
  asked: null,
  why: "",
};
const of = (key) => state.lists.find((each) => each.key === key);
let place = null;
let inside = null;

/** The list in hand; limbs follow an edge that starts at the grip. */
function current() {
  const now = of(state.now);
  return { ...now, most: most(now), edge: ["upper", "lower"].includes(now.key) ? of("grip").points[0] : null };
}

const tenth = (value) => String(Math.round(10 * value) / 10);
const row = ({ x, y }) => [tenth(x), tenth(y)];

/** As the log has it. */
function keys() {
  const { sizes, shown, rectangle } = state;
  const rows = (key) => [key, of(key).points.map(row)];
  const given = (key) => (sizes[key].trim() ? [[key, sizes[key].trim()]] : []);
  const all = state.lists.flatMap(({ points }) => points);
  const miss = Math.sqrt(all.reduce((sum, point) => sum + point.miss ** 2, 0) / Math.max(all.length, 1));
  return [
    ...ofBow(),
    ...given("draw"),
    ["picture", shown.size.map(String)],
    ...given("camera"),
    rows("marks"),
    ...(rectangle ? [...given("across"), ...given("up")] : given("stick")),
    ...given("behind"),
    rows("nocks"),
    ["grip", row(of("grip").points[0])],
    rows("upper"),
    rows("lower"),
    ["clicks", tenth(miss)],
  ];
}

/** What is still to be marked or said, in words. */
function missing() {
  const { sizes, rectangle } = state;
  const short = (key, most, words) => (of(key).points.length < most ? words : null);
  return [
    short("marks", rectangle ? 4 : 2, rectangle ? "four marks of known size" : "two marks of known distance"),
    short("nocks", 2, "both nocks"),
    short("grip", 1, "the grip"),
    short("upper", 5, "the upper limb"),
    short("lower", 5, "the lower limb"),
    sizes.camera.trim() ? null : "how far the camera stood",
    (rectangle ? sizes.across.trim() && sizes.up.trim() : sizes.stick.trim()) ? null : "the sizes between the marks",
  ].filter(Boolean);
}

function size(key, label, more = "") {
  const id = unique("size");
  const { units } = shop.state;
  const input = el("input", { id, type: "text", inputmode: "decimal", autocomplete: "off", value: state.sizes[key], "data-size": key });
  input.addEventListener("input", () => {
    state.sizes[key] = input.value;
    state.told = null;
    tell();
  });
  return el("div", { class: "one" }, el("label", { for: id }, label, more ? el("small", {}, ` ${more}`) : null), el("span", { class: "field" }, input, el("span", { class: "unit" }, units)));
}

async function look() {
  const body = { key: "look", of: "tiller", keys: keys() };
  [state.told, state.asked, state.why] = [null, null, ""];
  try {
    state.told = await ask("try-reading", body);
    state.shown.whole();
    state.shown.show(state.told.marked);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    if (error.said.asked) {
      state.asked = error.said.asked.questions;
      toBlame(state.asked[0]);
    } else state.why = error.words;
  }
  paintInside();
}

/** Shows the point that is asked about. */
function toBlame({ key, row: number }) {
  const list = key && of(key);
  if (!list) return;
  state.now = key;
  const point = list.points[number ?? 0];
  if (point) state.shown.look(point);
}

function log() {
  send("tiller", keys());
  [state.told, state.asked] = [null, null];
  for (const each of state.lists) each.points.length = 0;
  state.shown = null;
  paintInside();
  go("tillering");
}

const said = () => place.querySelector(".picture-said");

/** What is left to do, below the picture. */
function tell() {
  const left = missing();
  const button = place.querySelector(".picture-ask");
  if (!button) return;
  button.disabled = left.length > 0;
  place.querySelector(".picture-left").textContent = left.length ? `Still wanted: ${left.join(", ")}.` : "";
  const words = place.querySelectorAll(".picture-lists span");
  state.lists.forEach((each, k) => (words[k].textContent = counted(each)));
}

const most = ({ key, most }) => (key === "marks" ? (state.rectangle ? 4 : 2) : most);
const counted = (each) => `${each.words}: ${each.points.length}${each.most < MOST ? ` of ${most(each)}` : ""}`;

const lists = () =>
  chips("to mark now", state.lists.map((each) => [each.key, counted(each)]), state.now, (key) => {
    state.now = key;
    place.querySelector(".picture-todo").textContent = current().todo;
    state.shown.draw();
  });

const KINDS = { stiff: "stiff", weak: "bends too much", take: "take wood off" };

function result() {
  const { told, asked, why } = state;
  if (why) return el("p", { class: "notice fault", role: "alert" }, why);
  if (asked) {
    const full = (words) => `${words[0].toUpperCase()}${words.slice(1)}.`;
    return el("div", { class: "question", role: "alert" }, el("h3", {}, "Not to be used yet"), asked.slice(0, 3).flatMap(({ message, hints }) => [el("p", { class: "says" }, full(message)), ...hints.map((hint) => el("p", {}, full(hint)))]));
  }
  if (!told) return null;
  const parts = told.marked.filter(({ what }) => what !== "edge");
  return el(
    "div",
    { class: "picture-told" },
    parts.length
      ? el("ul", { class: "picture-key" }, parts.map(({ what, words }) => el("li", {}, el("span", { class: `swatch ${what}`, role: "img", "aria-label": KINDS[what] }), ` ${words}`)))
      : el("p", {}, "Nothing on either limb stands out in this picture."),
    answer(told.answer),
    el("button", { type: "button", class: "main-button tall", onclick: log }, "log it"),
  );
}

async function choose(input) {
  const [file] = input.files;
  if (!file) return;
  state.why = "";
  try {
    state.shown = await picture(file, {
      lists: () => state.lists,
      current,
      changed() {
        [state.told, state.asked] = [null, null];
        fill(place.querySelector(".picture-result"));
        tell();
      },
      aloud(words) {
        said().textContent = words;
      },
    });
    for (const each of state.lists) each.points.length = 0;
    [state.told, state.asked, state.now] = [null, null, "marks"];
  } catch {
    [state.shown, state.why] = [null, "This file is no picture that the browser can read: choose a JPEG or PNG."];
  }
  paintInside();
  state.shown?.place.focus({ preventScroll: true });
}

function paintInside() {
  const { shown } = state;
  const file = unique("file");
  const input = el("input", { id: file, type: "file", accept: "image/*", class: "picture-file" });
  input.addEventListener("change", () => choose(input));
  const head = [
    el("p", {}, "Stand square to the bow at half its length, three paces or more away, and write down how far. Four marks of known size in the bow's plane take the tilt out: two laths with a mark at each end, say."),
    el("p", { class: "picture-choose" }, el("label", { for: file }, shown ? "Another picture:" : "A picture of the bent bow; it stays in this page:"), " ", input),
  ];
  if (!shown) return fill(inside, head, result());
  const checked = (on) => {
    state.rectangle = on === "four";
    of("marks").points.length = 0;
    paintInside();
  };
  const snapId = unique("snap");
  const snapping = el("input", { type: "checkbox", id: snapId, checked: true });
  snapping.addEventListener("change", () => shown.snapping(snapping.checked));
  fill(
    inside,
    head,
    el("div", { class: "form" }, size("draw", "drawn to", "empty at brace"), size("camera", "from camera to bow")),
    chips("marks of known size", [["four", "four corners"], ["two", "two ends of a scale stick"]], state.rectangle ? "four" : "two", checked),
    el("div", { class: "form" }, state.rectangle ? [size("across", "mark 1 to mark 2"), size("up", "mark 2 to mark 3")] : size("stick", "mark 1 to mark 2"), size("behind", "marks behind the bow's middle", "empty in its plane")),
    el("div", { class: "picture-lists" }, lists()),
    el("p", { class: "picture-todo" }, current().todo),
    shown.place,
    el(
      "div",
      { class: "picture-tools" },
      el("button", { type: "button", onclick: () => shown.zoom(1.5) }, "nearer"),
      el("button", { type: "button", onclick: () => shown.zoom(1 / 1.5) }, "farther"),
      el("button", { type: "button", onclick: () => shown.take() }, "take the last mark away"),
      el("label", { for: snapId, class: "picture-snap" }, snapping, " marks go to the limb's edge"),
    ),
    el("p", { class: "picture-said quiet", "aria-live": "polite" }),
    el("p", { class: "picture-left" }),
    el("button", { type: "button", class: "main-button tall picture-ask", onclick: look }, "what does it tell?"),
    el("div", { class: "picture-result" }, result()),
  );
  tell();
  shown.draw();
}

/** The part of the place that a photograph has; it keeps what is marked while the place is drawn anew. */
export function photograph(draw) {
  if (!place) {
    inside = el("div", {});
    place = el("details", { class: "photograph" }, el("summary", {}, "from a photograph"), inside);
    place.addEventListener("toggle", () => place.open && paintInside());
  }
  // The draw whose targets are shown, until a picture is in hand.
  if (!state.shown) state.sizes.draw = draw;
  return place;
}
