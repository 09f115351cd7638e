// Glue-up at the form: the dry run, the clock, the tips off the form, and what that makes of the next stage.

import { by, el, fill, table } from "./dom.js";
import { keep, kept, on, shop } from "./phone.js";
import { open } from "./readings.js";

const DRY = "taperwright-dry-run";
const CLOCK = "taperwright-clock";
const OPEN = "taperwright-open-time";
let running = 0;

const minutes = (seconds) => {
  const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, Math.floor(seconds) % 60];
  const two = (n) => String(n).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
};

/** A clock that runs on while the phone sleeps: it knows when it was started. */
function clock(stage) {
  const name = `${shop.state.file} ${stage.number}`;
  const all = kept(CLOCK, {});
  const set = (what) => {
    const now = kept(CLOCK, {});
    if (what) now[name] = { what, from: Date.now() };
    else delete now[name];
    keep(CLOCK, now);
    paint();
  };
  const runs = all[name];
  const openTime = el("input", { type: "text", inputmode: "decimal", autocomplete: "off", id: `open-${stage.number}`, value: kept(OPEN, ""), oninput: () => keep(OPEN, openTime.value) });
  const field = el("div", { class: "one" }, el("label", { for: openTime.id }, "open time, by the glue's data sheet"), el("span", { class: "field" }, openTime, el("span", { class: "unit" }, "min")));
  const start = (what, words) => el("button", { type: "button", class: "tall", onclick: () => set(what) }, words);
  if (!runs) return el("div", { class: "clock" }, field, el("div", { class: "two" }, start("open", "glue is mixed: start"), start("clamp", "in clamps: start")));
  const face = el("output", { class: "face" });
  const words = el("p", { class: "says" });
  const show = () => {
    const gone = (Date.now() - runs.from) / 1000;
    const whole = runs.what === "open" ? 60 * Number.parseFloat(kept(OPEN, "")) : stage.clamp_s;
    const left = whole - gone;
    face.textContent = Number.isFinite(left) ? minutes(Math.abs(left)) : minutes(gone);
    const what = runs.what === "open" ? "open time" : "clamp time";
    words.textContent = !Number.isFinite(left) ? `gone since ${what} began` : left >= 0 ? `of the ${what} are left` : `over the ${what}`;
    face.classList.toggle("over-time", left < 0);
  };
  show();
  clearInterval(running);
  running = setInterval(() => (face.isConnected ? show() : clearInterval(running)), 1000);
  return el(
    "div",
    { class: "clock" },
    face,
    words,
    el("div", { class: "two" }, runs.what === "open" ? start("clamp", "in clamps: start") : null, el("button", { type: "button", class: "tall", onclick: () => set(null) }, "stop the clock")),
  );
}

function dryRun(stage) {
  const key = (words) => `${shop.state.file} ${stage.number} ${words}`;
  const ticked = new Set(kept(DRY, []));
  return el(
    "fieldset",
    { class: "dry-run" },
    el("legend", {}, "Dry run"),
    stage.dry_run.map((words) => {
      const input = el("input", {
        type: "checkbox",
        checked: ticked.has(key(words)),
        onchange: () => {
          const now = new Set(kept(DRY, []));
          if (input.checked) now.add(key(words));
          else now.delete(key(words));
          keep(DRY, [...now]);
        },
      });
      return el("label", {}, input, el("span", {}, words));
    }),
  );
}

function paint() {
  if (!shop.state || shop.place !== "glueing") return;
  const { stages } = shop.state;
  const made = stages.map((stage, k) => {
    const before = k > 0 ? stages[k - 1] : null;
    return el(
      "article",
      { class: "stage" },
      el("h3", {}, `Stage ${stage.number}: ${stage.pieces}`),
      before?.now.length ? el("div", { class: "notice" }, el("strong", {}, `As stage ${before.number} came off`), before.now.slice(0, 3).map((words) => el("p", {}, words))) : null,
      table(`Stage ${stage.number} in figures`, ["", ""], stage.rows),
      dryRun(stage),
      clock(stage),
      el("button", { type: "button", class: "main-button tall", onclick: () => open("release", { values: { stage: String(stage.number) } }) }, "both tips off the form"),
      stage.now.map((words, n) => (n < 3 ? el("p", { class: "says" }, words) : null)),
    );
  });
  fill(by("glueing-inside"), made.length ? made : el("p", { class: "says" }, "The build file names no stage of a glue-up."));
}

export function glueing() {
  for (const name of ["state", "place"]) on(name, paint);
}
