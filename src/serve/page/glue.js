// Glue-up: what each stage leaves, how it must be held, and what to have ready before the glue is open.

import { by, el, fill, steps, table, taken } from "./dom.js";
import { attempt, desk, lever, number, on, stepped } from "./desk.js";
import { follow, frame, handle, onChart, put, show } from "./figures.js";
import { notice } from "./levers.js";

const DONE = "taperwright-dry-run";
const stages = new Map();

const done = () => new Set(JSON.parse(sessionStorage.getItem(DONE) ?? "[]"));

/** The wished tip as a lever, also where the file has none yet. */
function wish(stage) {
  const known = lever(stage.want_key);
  if (known) return known;
  const inch = desk.state.units === "in";
  const value = desk.tries.has(stage.want_key) ? Number(desk.tries.get(stage.want_key)) : stage.tip;
  const step = inch ? 1 / 32 : 0.5;
  return { key: stage.want_key, value: Math.round(value / step) * step, step, decimals: inch ? 4 : 1, suffix: "", from: -Infinity, to: Infinity, unit: desk.state.units };
}

function make(number_) {
  const place = frame({ class: "figure stage-figure" });
  const tip = handle({ "aria-label": `stage ${number_}: tip left once released, draws what holds it` });
  const rows = el("div", { class: "rows" });
  const list = el("fieldset", { class: "dry-run" });
  const made = el("section", { class: "stage" }, el("h3", {}), el("div", { class: "stage-inside" }, place.made, rows), list);
  const one = { made, place, tip, rows, list, stage: null };
  place.hands.append(tip);
  const draw = (value) => attempt(one.stage.want_key, stepped(wish(one.stage), value));
  let lead = null;
  taken(tip, {
    start: (event) => (lead = follow(place, event, [one.stage.tip_at, one.stage.tip])),
    move: (event) => draw(lead(event)[1]),
  });
  tip.addEventListener("keydown", (event) => {
    const k = steps(event);
    if (k === undefined) return;
    event.preventDefault();
    const given = wish(one.stage);
    draw((desk.tries.has(given.key) ? number(given) : one.stage.tip) + k * given.step);
  });
  return one;
}

function dryRun(one) {
  const ticked = done();
  const boxes = one.stage.dry_run.map((words) => {
    const key = `${desk.state.file} ${one.stage.number} ${words}`;
    const box = el("input", {
      type: "checkbox",
      checked: ticked.has(key),
      onchange: () => {
        const now = done();
        if (box.checked) now.add(key);
        else now.delete(key);
        sessionStorage.setItem(DONE, JSON.stringify([...now]));
      },
    });
    return el("label", {}, box, el("span", {}, words));
  });
  const shape = JSON.stringify(one.stage.dry_run);
  if (one.list.dataset.shape === shape) return;
  one.list.dataset.shape = shape;
  fill(one.list, el("legend", {}, "Dry run"), boxes);
}

function paint() {
  const glue = desk.glue;
  if (!glue) return;
  const list = by("stages");
  if (!glue.stages.length) fill(list, el("p", {}, "The file names no stage of a glue-up: laminations and riser are glued flat, and the bow is left straight."));
  for (const stage of glue.stages) {
    if (!stages.has(stage.number)) stages.set(stage.number, make(stage.number));
    const one = stages.get(stage.number);
    one.stage = stage;
    one.made.querySelector("h3").textContent = `Stage ${stage.number}: ${stage.pieces}`;
    show(one.place, stage.figure);
    fill(one.rows, table(`Stage ${stage.number} in figures`, ["", ""], stage.rows));
    dryRun(one);
    put(one.place, one.tip, onChart(one.place, [stage.tip_at, stage.tip]));
    one.tip.setAttribute("aria-valuenow", stage.tip.toFixed(3));
    one.tip.setAttribute("aria-valuetext", `${Number(stage.tip.toFixed(3))} ${desk.state.units}`);
  }
  const shown = glue.stages.map((stage) => stages.get(stage.number).made);
  if (shown.length && (shown.length !== list.childElementCount || shown.some((made, k) => list.children[k] !== made))) fill(list, shown);
  fill(by("fades"), glue.fades.length ? table("Over the riser's fades", ["strip", "strain", "", ""], glue.fades) : null);
  fill(by("ways"), glue.ways.length ? table("The same stack glued in other ways", ["how", "unstrung tip", "weight", "energy"], glue.ways) : null);
  fill(by("glue-warnings"), glue.warnings.map(notice));
}

export function glueUp() {
  on("glue", paint);
  new ResizeObserver(() => desk.place === "glue" && paint()).observe(by("stages"));
}
