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
  const inch = stage.units === "in";
  const value = desk.tries.has(stage.want_key) ? Number(desk.tries.get(stage.want_key)) : stage.tip;
  const step = inch ? 1 / 32 : 0.5;
  return { key: stage.want_key, value: Math.round(value / step) * step, step, decimals: inch ? 4 : 1, suffix: "", from: -Infinity, to: Infinity, unit: stage.units };
}

function make(name) {
  const place = frame({ class: "figure stage-figure" });
  const tip = handle({ "aria-label": `${name}: tip left once released, draws what holds it` });
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
    const key = `${one.stage.file} ${one.stage.number} ${words}`;
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

/** The stages in the order of the work; of two different limbs the upper one's before the lower one's. */
function inOrder(glue) {
  const { file, units } = desk.state;
  if (!glue.limbs) return glue.stages.map((stage) => ({ ...stage, file, units, name: `stage ${stage.number}`, title: `Stage ${stage.number}` }));
  const all = glue.limbs.flatMap(({ limb, file, units, stages }) =>
    stages.map((stage) => ({ ...stage, file, units, name: `${limb} limb, stage ${stage.number}`, title: `Stage ${stage.number}, ${limb} limb` })),
  );
  return all.sort((a, b) => a.number - b.number);
}

function paint() {
  const glue = desk.glue;
  if (!glue) return;
  const list = by("stages");
  const all = inOrder(glue);
  if (!all.length) fill(list, el("p", {}, "The file names no stage of a glue-up: laminations and riser are glued flat, and the bow is left straight."));
  for (const stage of all) {
    if (!stages.has(stage.name)) stages.set(stage.name, make(stage.name));
    const one = stages.get(stage.name);
    one.stage = stage;
    one.made.querySelector("h3").textContent = `${stage.title}: ${stage.pieces}`;
    show(one.place, stage.figure);
    fill(one.rows, table(glue.limbs ? `${stage.title}, in figures` : `${stage.title} in figures`, ["", ""], stage.rows));
    dryRun(one);
    put(one.place, one.tip, onChart(one.place, [stage.tip_at, stage.tip]));
    one.tip.setAttribute("aria-valuenow", stage.tip.toFixed(3));
    one.tip.setAttribute("aria-valuetext", `${Number(stage.tip.toFixed(3))} ${stage.units}`);
  }
  const shown = all.map((stage) => stages.get(stage.name).made);
  if (shown.length && (shown.length !== list.childElementCount || shown.some((made, k) => list.children[k] !== made))) fill(list, shown);
  const each = glue.limbs ?? [glue];
  const of = (limb) => (limb ? `, ${limb} limb` : "");
  fill(by("fades"), each.map(({ limb, fades }) => (fades.length ? table(`Over the riser's fades${of(limb)}`, ["strip", "strain", "", ""], fades) : null)));
  const ways = (limb) => (limb ? `Both limbs glued in other ways: the ${limb} limb's tip, the bow's weight` : "The same stack glued in other ways");
  fill(by("ways"), each.map(({ limb, ways: rows }) => (rows.length ? table(ways(limb), ["how", "unstrung tip", "weight", "energy"], rows) : null)));
  fill(by("glue-warnings"), [...(glue.limbs ? glue.warnings : []), ...each.flatMap(({ warnings }) => warnings)].map(notice));
}

export function glueUp() {
  on("glue", paint);
  new ResizeObserver(() => desk.place === "glue" && paint()).observe(by("stages"));
}
