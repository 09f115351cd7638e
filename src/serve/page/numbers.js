// The numbers beside the bow.

import { by, el, renew, table } from "./dom.js";
import { desk, on, two } from "./desk.js";

function look() {
  const { numbers, strains } = desk.look;
  const differs = numbers.some(([, , was]) => was);
  const heads = differs ? ["", "tried", "file"] : ["", ""];
  const worked = (caption, own) =>
    table(
      caption,
      ["part", "strain", "of breaking", ""],
      own.map(({ cells: [part, strain, where, share], verdict }) => [
        part,
        [strain, el("small", {}, where)],
        share || "no figure",
        el("span", { class: `verdict ${verdict.replace(/\W+/g, "-")}` }, verdict),
      ]),
    );
  const words = "How hard the wood works";
  const limbs = [...new Set(strains.map(({ limb }) => limb))];
  renew(by("strains"), limbs.map((limb) => worked(limb ? `${words}, ${limb} limb` : words, strains.filter((strain) => strain.limb === limb))));
  renew(by("figures-in-words"), table("Figures of the bow", heads, numbers.map(([what, now, was]) => (differs ? [what.trim(), now, was] : [what.trim(), now]))));
}

function whole() {
  renew(by("moves"), table(two() ? "What each lever is worth to the bow of both limbs" : "What each lever is worth", ["lever", "moved", "weight"], desk.whole.moves));
}

export function numbers() {
  on("picture", () => desk.look && look());
  on("whole", whole);
}
