// The weight: large, with its band, beside the wish and what the file says; on a steel rule whose mark can be taken and drawn.

import { by, el, fill, renew, steps, svg, taken, within } from "./dom.js";
import { attemptAll, desk, lever, number, on, pull, stepped, text, trouble, two } from "./desk.js";
import { ask } from "./door.js";

const WISH = "target.draw_weight";
const HEIGHT = 54;
const EDGE = 14;

const rule = by("weight-rule");
let reach = null;
/** Width of the rule, in pixels: asked for once for each size, as to ask lays the page out. */
let wide = 0;
/** What the rule shows: a try that moves neither weight nor wish leaves it as it is. */
let painted = "";

const wish = () => lever(WISH);
const finishing = () => (lever("target.finishing") ? number(lever("target.finishing")) : 0);

function draw(value) {
  const given = wish();
  if (!given) return;
  const wanted = stepped(given, within(value, reach.from - finishing(), reach.to - finishing()));
  if (wanted === desk.tries.get(WISH)) return;
  pull("solve", { set: [{ key: WISH, value: wanted }] });
}

/** From the rule's left to its right, of the whole weight with finishing. */
function measured() {
  const given = wish();
  const more = finishing();
  const step = given.step >= 5 ? 25 : 5;
  return { from: Math.floor((given.from + more) / step) * step, to: Math.ceil((given.to + more) / step) * step, step };
}

function paint() {
  const given = wish();
  rule.hidden = !given || !desk.look;
  if (rule.hidden) return;
  reach = measured();
  wide ||= rule.clientWidth;
  const width = Math.max(wide, 200);
  const at = (value) => EDGE + ((width - 2 * EDGE) * (value - reach.from)) / (reach.to - reach.from);
  const weight = desk.look.weight;
  const wanted = number(given) + finishing();
  const spread = Number.parseFloat(desk.whole?.band?.replace(/[^\d.]+/, "") ?? "0") || 0;
  const shown = [width, reach.from, reach.to, reach.step, weight.text, weight.value, number(given), wanted, spread].join();
  if (shown === painted) return;
  painted = shown;
  const picture = svg("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, width, height: HEIGHT, "aria-hidden": "true" });
  const put = (name, given, ...more) => picture.append(svg(name, given, ...more));
  put("rect", { class: "steel", x: 0.5, y: 16.5, width: width - 1, height: 30 });
  if (spread) {
    const [from, to] = [within(weight.value - spread, reach.from, reach.to), within(weight.value + spread, reach.from, reach.to)];
    put("rect", { class: "band", x: at(from), y: 17, width: at(to) - at(from), height: 29 });
  }
  const small = reach.step / 5;
  const roomy = ((width - 2 * EDGE) * reach.step) / (reach.to - reach.from);
  const named = roomy < 22 ? 2 : 1;
  for (let k = 0; reach.from + k * small <= reach.to + 1e-9; k += 1) {
    const value = reach.from + k * small;
    const long = k % 5 === 0;
    if (!long && roomy < 18) continue;
    put("line", { class: "tick", x1: at(value), x2: at(value), y1: 17, y2: long ? 29 : 23 });
    if (long && (k / 5) % named === 0 && k > 0 && value < reach.to) {
      put("text", { class: "mark", x: at(value), y: 42, "text-anchor": "middle" }, String(Math.round(value)));
    }
  }
  const now = at(within(weight.value, reach.from, reach.to));
  put("path", { class: "pointer", d: `M${now} 46L${now - 6} 53.5L${now + 6} 53.5Z` });
  put("line", { class: "pointer", x1: now, x2: now, y1: 17, y2: 47 });
  const mark = at(within(wanted, reach.from, reach.to));
  put("path", { class: "wish", d: `M${mark} 26L${mark - 9} 13L${mark - 9} 1L${mark + 9} 1L${mark + 9} 13Z` });
  put("path", { class: "grip", d: `M${mark - 4} 5h8M${mark - 4} 9h8` });
  renew(rule, picture);
  const unit = weight.unit;
  rule.setAttribute("aria-valuemin", String(reach.from - finishing()));
  rule.setAttribute("aria-valuemax", String(reach.to - finishing()));
  rule.setAttribute("aria-valuenow", String(number(given)));
  rule.setAttribute("aria-valuetext", `${number(given)} ${unit} wanted, ${weight.text} as it stands`);
}

function say() {
  const weight = desk.look?.weight;
  by("weight").hidden = !weight;
  if (!weight) return;
  by("weight-text").textContent = weight.text;
  const band = desk.whole?.band ?? "";
  by("weight-band").textContent = band;
  renew(
    by("weight-words"),
    el("div", {}, el("dt", {}, "at"), el("dd", {}, weight.draw)),
    el("div", {}, el("dt", {}, "wanted"), el("dd", {}, weight.wish)),
    el("div", { class: weight.near ? "near" : "far" }, el("dt", {}, weight.near ? "off by" : "far off"), el("dd", {}, weight.off)),
    weight.file ? el("div", { class: "as-filed" }, el("dt", {}, two() ? "the files say" : "the file says"), el("dd", {}, weight.file)) : null,
  );
}

/** The bows of the series in a row: one at a time lies on the bench. */
function series() {
  const bows = desk.state?.series ?? [];
  by("series").hidden = bows.length === 0;
  by("series-not").textContent = desk.state?.series_not ?? "";
  by("series-not").hidden = !desk.state?.series_not;
  const wanted = lever(WISH) && desk.tries.size ? text(lever(WISH)) : null;
  const step = async (weight) => {
    try {
      attemptAll((await ask("series-bow", { weight })).changes);
    } catch (error) {
      trouble(error);
    }
  };
  const button = ({ weight, count }) => {
    const words = count > 1 ? `${weight}, ${count} bows` : weight;
    return el("button", { type: "button", "aria-pressed": String(weight === wanted), onclick: () => step(weight) }, words);
  };
  // A row that is there stays, so that what has the focus keeps it.
  const row = by("series");
  if (row.childElementCount === bows.length) {
    Array.from(row.children, (child, k) => child.setAttribute("aria-pressed", String(bows[k].weight === wanted)));
  } else fill(row, ...bows.map(button));
}

/** Read aloud once the hand rests, not at every step. */
function aloud() {
  if (!desk.look) return;
  const { text, file } = desk.look.weight;
  const words = `weight ${text}, ${desk.whole.band}${file ? `; ${two() ? "the files say" : "the file says"} ${file}` : ""}`;
  if (by("aloud").textContent !== words) by("aloud").textContent = words;
}

function told() {
  const words = desk.told.map((words) => el("li", {}, words));
  fill(by("told"), words.length ? el("ul", {}, words) : el("p", { class: "quiet" }, "What follows when a figure is drawn is said here."));
}

export function weight() {
  on("look", say);
  on("picture", paint);
  on("state", () => {
    fill(by("series"));
    series();
    say();
    paint();
  });
  on("tries", () => {
    if (desk.tries.size === 0) {
      desk.told = [];
      told();
    }
    paint();
    series();
  });
  on("whole", () => {
    say();
    paint();
    aloud();
  });
  on("told", told);
  told();
  rule.addEventListener("keydown", (event) => {
    const given = wish();
    const k = steps(event);
    if (!given || k === undefined) return;
    event.preventDefault();
    draw(number(given) + k * given.step);
  });
  let last = null;
  taken(rule, {
    move(event) {
      const box = rule.getBoundingClientRect();
      const part = (event.clientX - box.left - EDGE) / (box.width - 2 * EDGE);
      const value = reach.from + part * (reach.to - reach.from) - finishing();
      const wanted = stepped(wish(), value);
      if (wanted !== last) draw(value);
      last = wanted;
    },
    end() {
      last = null;
    },
  });
  new ResizeObserver(() => {
    wide = 0;
    paint();
  }).observe(rule);
}
