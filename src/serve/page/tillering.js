// Tiller by figures: the targets at a draw, what was read on both limbs, and what to take where; from a photograph below it.

import { answer } from "./answer.js";
import { by, el, fill, table } from "./dom.js";
import { on, shop } from "./phone.js";
import { photograph } from "./photograph.js";
import { open } from "./readings.js";

let at = 0;
const figures = el("div");

function paint() {
  if (!shop.state || shop.place !== "tillering") return;
  const { draws, latest, units } = shop.state;
  const inside = by("tillering-inside");
  if (!figures.isConnected) fill(inside, figures);
  if (!draws.length) return fill(figures, el("p", { class: "says" }, "The build file describes laminations and no bow: there is no tiller."));
  at = Math.min(at, draws.length - 1);
  const draw = draws[at];
  const turn = (by_) => () => {
    at += by_;
    paint();
  };
  const enter = () => {
    const bare = (words) => words.replace(` ${units}`, "");
    const hints = Object.fromEntries(draw.rows.map(([station, upper, lower]) => [station, [bare(upper), bare(lower)]]));
    open("tiller", { values: draw.draw ? { draw: draw.draw } : {}, hints: { gaps: hints } });
  };
  const last = latest.find((spoken) => spoken.of === "tiller");
  fill(
    figures,
    el(
      "div",
      { class: "turn" },
      el("button", { type: "button", class: "tall", disabled: at === 0, "aria-label": "less draw", onclick: turn(-1) }, "‹"),
      el("p", { class: "large", role: "status" }, draw.words),
      el("button", { type: "button", class: "tall", disabled: at === draws.length - 1, "aria-label": "more draw", onclick: turn(1) }, "›"),
    ),
    table(`Belly to string, targets ${draw.words}; stations from the bow's centre, ${units}`, ["station", "upper", "lower"], draw.rows, { class: "targets" }),
    el("button", { type: "button", class: "main-button tall", onclick: enter }, "enter what both limbs read"),
    el("p", { class: "quiet" }, "Read from aside, with eyes protected. Never draw past the design's draw length; stop at any tick or crack."),
    last ? answer(last) : null,
  );
  // What is being marked stays as it is while the figures are drawn anew.
  const pictured = photograph(draw.draw);
  if (!pictured.isConnected) inside.append(pictured);
}

export function tillering() {
  for (const name of ["state", "place"]) on(name, paint);
}
