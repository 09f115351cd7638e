// Readings: any kind that the log knows, typed with the thumb; what it says comes back at once, or as soon as the network is.

import { amend, box, drop, send } from "./outbox.js";
import { answer } from "./answer.js";
import { begin, draw, keys, propose } from "./form.js";
import { by, el, fill } from "./dom.js";
import { aim, aimed, pad } from "./pad.js";
import { go, inHand, keep, kept, on, shop, work } from "./phone.js";

const DRAFT = "taperwright-draft";
/** Questions of one reading that are read out; the rest are like them. */
const SHOWN = 2;
let draft = kept(DRAFT, null);
let sent = null;
let said = null;
let choosing = false;
let place = null;
let keysPad = null;

const formOf = (word) => shop.state.forms.find((form) => form.word === word);

/** What the next reading is, as far as the log tells: the strip in hand. */
function next() {
  const lamination = draft?.values.lamination ?? inHand()?.name;
  return begin(formOf(lamination ? "strip" : "sheet"), shop.state, { values: lamination ? { lamination } : {} });
}

function store() {
  keep(DRAFT, draft);
}

/** Opens the form of a kind, from another place, with what is known there. */
export function open(word, given = {}) {
  draft = begin(formOf(word), shop.state, given);
  [said, sent, choosing] = [null, null, false];
  store();
  go("readings");
  paint();
}

const figures = () => [...by("readings-inside").querySelectorAll(".figure-field")].filter((input) => !input.closest("details:not([open])"));
const isOpen = (input) => input.value.trim() === "" && input.dataset.free !== "true" && input.dataset.free !== "";

/** The next figure that is wanted and not typed yet, after the one in hand. */
function wanted() {
  const all = figures();
  const at = all.indexOf(aimed());
  return all.find((input, k) => k > at && isOpen(input));
}

function show(input) {
  draft.at = figures().indexOf(input);
  input.focus({ preventScroll: true });
  // Above the pad.
  input.scrollIntoView({ block: "nearest" });
}

function label() {
  if (keysPad) keysPad.wide.textContent = wanted() ? "next" : "send";
}

function onward() {
  const input = wanted();
  if (input) {
    show(input);
    label();
    return;
  }
  sent = send(draft.of, keys(formOf(draft.of), draft), draft.date);
  said = null;
  paint();
}

function changed(anew) {
  if (draft.anew) {
    draft.anew = false;
    propose(formOf(draft.of), shop.state, draft);
  }
  draft.at = anew ? undefined : figures().indexOf(aimed());
  store();
  if (anew) paintForm();
  label();
}

function paintForm() {
  const form = formOf(draft.of);
  draw(place, form, shop.state, draft, changed);
  const first = figures()[draft.at] ?? figures().find(isOpen);
  aim(first ?? null);
  if (first) show(first);
  label();
}

function kindList() {
  return el(
    "div",
    { class: "kinds" },
    el("h3", {}, "What was read?"),
    shop.state.forms.map((form) => el("button", { type: "button", onclick: () => open(form.word) }, el("strong", {}, form.word), el("span", {}, form.what))),
  );
}

/** A reading that is asked about: the question, and two answers. */
function question(item) {
  const { questions, meant } = item.asked;
  const mend = () => {
    draft = draft?.of === item.of && draft.sent === item.key ? draft : fromItem(item);
    drop(item);
    [sent, said] = [null, null];
    store();
    paint();
  };
  const yes = () => {
    sent = amend(item, meant.keys);
    paint();
  };
  const leave = () => {
    drop(item);
    paint();
  };
  return el(
    "div",
    { class: "question", role: "alert" },
    el("h3", {}, `${item.of}: not used yet`),
    questions.slice(0, SHOWN).map(({ message }) => el("p", { class: "says" }, `${message[0].toUpperCase()}${message.slice(1)}.`)),
    questions.length > SHOWN ? el("p", {}, `And ${questions.length - SHOWN} more like it.`) : null,
    [...new Set(questions.flatMap(({ hints }) => hints))].slice(0, 4).map((hint) => el("p", {}, `${hint[0].toUpperCase()}${hint.slice(1)}${/[.?]$/.test(hint) ? "" : "."}`)),
    el(
      "div",
      { class: "two" },
      meant ? el("button", { type: "button", class: "main-button", onclick: yes }, meant.words) : el("button", { type: "button", onclick: leave }, "leave it out"),
      el("button", { type: "button", onclick: mend }, "no, I type it again"),
    ),
  );
}

/** The form with what was sent. */
function fromItem(item) {
  const values = Object.fromEntries(item.keys.filter(([key]) => key !== "note"));
  const form = formOf(item.of);
  for (const field of form.fields) {
    if (field.kind === "several" && typeof values[field.key] === "string") values[field.key] = [values[field.key]];
    if (Array.isArray(values[field.key]?.[0])) values[field.key] = values[field.key].map((row) => [...row, ...Array(Math.max(0, field.columns.length - row.length)).fill("")]);
  }
  const made = begin(form, shop.state, { values });
  made.edges = item.keys.some(([key]) => key === "apart") ? 2 : 1;
  return made;
}

function afterwards() {
  const lamination = said.lamination && work(said.lamination);
  const left = lamination?.lines.filter((line) => !line.made) ?? [];
  const nextPass = left[0] ? el("p", { class: "says" }, `Next for ${lamination.name}: pass ${left[0].pass}, ${left[0].paper}, gap ${left[0].gap} ${shop.state.units}.`) : null;
  return el(
    "div",
    {},
    answer(said),
    nextPass,
    el(
      "div",
      { class: "two" },
      el("button", { type: "button", class: "main-button", onclick: () => ((draft = next()), store(), ([said, sent] = [null, null]), paint()) }, "next reading"),
      lamination ? el("button", { type: "button", onclick: () => go("passes") }, "to the passes") : null,
    ),
  );
}

function paint() {
  if (!shop.state || shop.place !== "readings") return;
  const inside = by("readings-inside");
  const asked = box.items.find((item) => item.asked);
  keysPad = null;
  if (asked) return fill(inside, question(asked));
  if (said) return fill(inside, afterwards());
  if (sent && box.items.some((item) => item.key === sent)) {
    return fill(inside, el("p", { class: "says", role: "status" }, "Kept on this phone; it is sent as soon as the program answers."), el("div", { class: "two" }, el("button", { type: "button", class: "main-button", onclick: () => ((draft = next()), store(), (sent = null), paint()) }, "next reading")));
  }
  if (choosing) return fill(inside, kindList());
  draft ??= next();
  if (!formOf(draft.of)) draft = next();
  const form = formOf(draft.of);
  place = el("div", { class: "form" });
  keysPad = pad({ units: shop.state.units, other: shop.state.other_unit, next: onward });
  const kind = el("button", { type: "button", class: "kind", onclick: () => ((choosing = true), paint()) }, el("strong", {}, form.word), el("span", {}, "another kind"));
  fill(inside, kind, place, keysPad.made);
  paintForm();
}

export function readings() {
  let shown = "";
  // Whoever touches the place again wants the next one.
  on("place", () => {
    if (shop.place !== "readings") return;
    choosing = false;
    if (said) [said, sent] = [null, null];
    paint();
  });
  on("state", () => {
    // What is being typed stays; only what follows from other places is drawn anew.
    if (shown === "" || (said && !choosing)) paint();
    shown = "once";
  });
  on("answered", (item, spoken) => {
    if (item.key === sent && spoken) {
      said = spoken;
      draft = null;
      store();
      paint();
    } else if (!spoken) {
      if (item.key === sent && draft) draft.sent = item.key;
      if (shop.place !== "readings") go("readings");
      paint();
    }
  });
  on("box", () => sent && !said && paint());
}
