// Two different limbs: which one's levers and curves are shown, and what both have beside each other.

import { by, el, fill, renew, table } from "./dom.js";
import { desk, on, showLimb, two } from "./desk.js";

/** What is tried in a limb's own file. */
function tried(limb) {
  const own = new Set(desk.state.levers.filter((lever) => lever.limb === limb).map(({ key }) => key));
  return [...desk.tries.keys()].filter((key) => own.has(key) || (limb === "lower" && key.startsWith("lower:"))).length;
}

function choose() {
  const limbs = two() ? desk.state.limbs : [];
  by("limb").hidden = limbs.length === 0;
  const words = ({ limb, file }) => {
    const count = tried(limb);
    return [el("span", {}, `${limb} limb`), el("small", {}, count ? `${file}, ${count} tried` : file)];
  };
  // Buttons that are there stay, so that what has the focus keeps it.
  if (by("limb").childElementCount !== limbs.length) {
    fill(by("limb"), limbs.map(({ limb }) => el("button", { type: "button", "data-limb": limb, onclick: () => showLimb(limb) })));
  }
  for (const [k, one] of limbs.entries()) {
    const button = by("limb").children[k];
    button.setAttribute("aria-pressed", String(one.limb === desk.limb));
    renew(button, ...words(one));
  }
}

function gaps() {
  const shown = desk.look?.gaps;
  by("gaps").hidden = !shown;
  if (!shown) return;
  const made = table(`Belly to string, square to the string, ${desk.state.units}; + where the upper limb stands farther off`, shown.heads, shown.rows);
  renew(by("gaps"), el("div", { class: "wide", tabindex: "0", role: "group", "aria-label": "belly to string on both limbs" }, made), el("p", { class: "quiet" }, shown.pull));
}

export function limbs() {
  for (const name of ["state", "tries", "limb"]) on(name, choose);
  on("picture", gaps);
}
