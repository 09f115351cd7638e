// The numbers beside the bow.

import { by, el, renew, table } from "./dom.js";
import { desk, on } from "./desk.js";

function look() {
  const { numbers, strains } = desk.look;
  const differs = numbers.some(([, , was]) => was);
  const heads = differs ? ["", "tried", "file"] : ["", ""];
  renew(
    by("strains"),
    table(
      "How hard the wood works",
      ["part", "strain", "of breaking", ""],
      strains.map(({ cells: [part, strain, where, share], verdict }) => [
        part,
        [strain, el("small", {}, where)],
        share || "no figure",
        el("span", { class: `verdict ${verdict.replace(/\W+/g, "-")}` }, verdict),
      ]),
    ),
  );
  renew(by("figures-in-words"), table("Figures of the bow", heads, numbers.map(([what, now, was]) => (differs ? [what.trim(), now, was] : [what.trim(), now]))));
}

function whole() {
  renew(by("moves"), table("What each lever is worth", ["lever", "moved", "weight"], desk.whole.moves));
}

export function numbers() {
  on("picture", () => desk.look && look());
  on("whole", whole);
}
