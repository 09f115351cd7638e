// Sled and passes: one line at a time. Ticks are readings of the log, so that they outlive page and phone.

import { answer } from "./answer.js";
import { box, send } from "./outbox.js";
import { by, el, fill, table } from "./dom.js";
import { chips } from "./form.js";
import { inHand, keep, kept, ofBow, on, shop } from "./phone.js";
import { open } from "./readings.js";

const CHOSEN = "taperwright-lamination";
let chosen = kept(CHOSEN, null);
/** The card that is shown, where it is not the next one: its index. */
let at = null;

/** The last pass that is made with a strip, ticks on their way counted. */
function madeWith(of, strip) {
  const k = of.one_by_one.indexOf(strip);
  let made = k < 0 ? of.made : of.made_of[k];
  for (const { of: kind, keys } of box.items) {
    const given = Object.fromEntries(keys);
    if (kind === "done" && (given.serial ?? "") === shop.state.serial && given.lamination === of.name && (given.strip ?? strip) === strip) made = Number(given.pass);
  }
  return made;
}

/** The last pass that is made with all of them. */
const madeOf = (of) => (of.one_by_one.length ? Math.min(...of.one_by_one.map((strip) => madeWith(of, strip))) : madeWith(of, ""));

function tick(of, pass, strip) {
  send("done", [...ofBow(), ["lamination", of.name], ...(strip ? [["strip", strip]] : []), ["pass", String(pass)]]);
  at = null;
  paint();
}

/** Cards in the order of the work: scrap stands before the pass that a new paper begins with. */
const cards = (of) => of.lines.flatMap((line) => (line.new_paper ? [{ line, scrap: true }, { line }] : [{ line }]));

function scrapLogged(of, line, made) {
  return line.pass <= made || (line.pass === made + 1 && made === of.made && !of.scrap_wanted);
}

const isDone = (of, { line, scrap }, made) => (scrap ? scrapLogged(of, line, made) : line.pass <= made);

function scrapCard(of, line, made) {
  const logged = scrapLogged(of, line, made);
  return el(
    "div",
    { class: "card scrap" },
    el("p", { class: "over" }, `before pass ${line.pass}`),
    el("p", { class: "large" }, `New paper: ${line.paper}`),
    el("p", {}, "Send scrap through first and log it: a new paper moves the gauge's zero. The passes are restated from what it reads."),
    el("p", { class: "state" }, logged ? "✓ scrap is logged" : ""),
    el("button", { type: "button", class: "main-button tall", onclick: () => open("test strip", { values: { lamination: of.name } }) }, logged ? "log scrap once more" : "log scrap"),
  );
}

function passCard(of, line, made) {
  const { units } = shop.state;
  const last = of.lines.at(-1).pass;
  const notes = [
    line.turn_over ? "Turn the strip over first." : null,
    line.repeat ? "The same gap again: strip and cutter spring." : null,
    line.new_paper && !scrapLogged(of, line, made) ? "No scrap is logged since the new paper." : null,
    line.sides ? `${line.sides}: the pair changes sides at each pass.` : null,
    of.one_by_one.length ? `${of.one_by_one.join(", then ")}, at this gap.` : null,
    `Touches ${line.touches}${/\d/.test(line.touches) ? ` ${units}, from ${of.end}` : ""}.`,
  ].filter(Boolean);
  const facts = [
    ["paper", line.paper],
    ["drop", `${line.drop} ${units}`],
    ["turns", line.turns],
  ];
  const isMade = line.pass <= made;
  const one = (strip) => {
    const ticked = line.pass <= madeWith(of, strip);
    const words = strip ? `${strip} is through` : `pass ${line.pass} is made`;
    if (!ticked) return el("button", { type: "button", class: "main-button tall", onclick: () => tick(of, line.pass, strip) }, words);
    return el("button", { type: "button", class: "tall ticked", onclick: () => tick(of, line.pass - 1, strip) }, `✓ ${strip || "made"}`, el("small", {}, "touch to take the tick back"));
  };
  return el(
    "div",
    { class: `card${isMade ? " made" : ""}` },
    el("p", { class: "over" }, el("span", {}, `pass ${line.pass} of ${last}`), el("span", {}, line.on)),
    el("p", { class: "gap" }, el("small", {}, "set the gauge to"), el("strong", {}, line.gap), el("span", { class: "unit" }, units)),
    el("dl", { class: "facts" }, facts.map(([what, value]) => el("div", {}, el("dt", {}, what), el("dd", {}, value)))),
    el("ul", { class: "notes" }, notes.map((words) => el("li", {}, words.startsWith("No scrap") ? el("strong", {}, words) : words))),
    el("div", { class: "ticks" }, (of.one_by_one.length ? of.one_by_one : [""]).map(one)),
  );
}

function paint() {
  if (!shop.state || shop.place !== "passes") return;
  const inside = by("passes-inside");
  const all = shop.state.laminations;
  if (!all.length) return fill(inside, el("p", { class: "says" }, shop.state.faults.length ? "No passes are shown until this is mended." : "Nothing is ground here: the build file has no sander, or its laminations are ground already."));
  if (!all.some((of) => of.name === chosen)) chosen = inHand().name;
  const of = all.find((one) => one.name === chosen);
  const choose = (name) => {
    [chosen, at] = [name, null];
    keep(CHOSEN, name);
    paint();
  };
  const made = madeOf(of);
  const list = cards(of);
  const first = list.findIndex((card) => !isDone(of, card, made));
  const index = Math.min(at ?? (first < 0 ? list.length - 1 : first), list.length - 1);
  const card = list[index];
  const turn = (to) => {
    at = to === first ? null : to;
    paint();
  };
  const done = first < 0 ? el("p", { class: "says" }, "All passes are made. Read the strip at three places and log it.") : null;
  const measured = shop.state.latest.find((spoken) => spoken.of === "sled" && spoken.lamination === of.name);
  fill(
    inside,
    chips("lamination", all.map(({ name }) => [name, name]), chosen, choose),
    shop.state.serial ? el("p", { class: "says" }, `Bow ${shop.state.serial}.`) : null,
    done,
    card ? (card.scrap ? scrapCard(of, card.line, made) : passCard(of, card.line, made)) : el("p", { class: "says" }, "No pass is left."),
    el(
      "div",
      { class: "turn" },
      el("button", { type: "button", class: "tall", disabled: index <= 0, onclick: () => turn(index - 1) }, "‹ back"),
      el("button", { type: "button", class: "tall", onclick: () => open("strip", { values: { lamination: of.name } }) }, "read a strip"),
      el("button", { type: "button", class: "tall", disabled: index >= list.length - 1, onclick: () => turn(index + 1) }, "next ›"),
    ),
    of.sled.length
      ? el("details", {}, el("summary", {}, "the sled"), el("p", {}, `${of.wood}: ${of.runs_in_words}.`), table(`Sled for ${of.sled_serves.join(", ") || of.name}: its surface above the table`, [`from ${of.end}`, "station", "height"], of.sled), of.shims.length ? el("div", { class: "wide" }, table(`Shims under the carrier for ${of.name}`, ["place", "station", "shim", "made up from", "comes to"], of.shims)) : null, el("p", { class: "buttons" }, el("button", { type: "button", onclick: () => open("sled", { values: { lamination: of.name } }) }, "log its heights")), measured ? answer(measured) : null)
      : null,
  );
}

export function passes() {
  for (const name of ["state", "place", "box"]) on(name, paint);
}
