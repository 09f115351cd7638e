// Phones at the desk: the code that lets one in, who is in, and the way out.

import { Refused, ask, get } from "./door.js";
import { by, drawn, el, fill } from "./dom.js";
import { trouble } from "./desk.js";

let ends = 0;

const ago = (seconds) => (seconds < 90 ? "just now" : seconds < 5400 ? `${Math.round(seconds / 60)} minutes ago` : `${Math.round(seconds / 3600)} hours ago`);

async function list() {
  const { address, phones, idle_hours: hours } = await get("/phones");
  by("phones-off").hidden = address !== null;
  by("phones-on").hidden = address === null;
  const row = ({ number, from, paired_s: paired, silent_s: silent }) =>
    el(
      "li",
      {},
      el("span", {}, `phone ${number} at ${from}: let in ${ago(paired)}, asked last ${ago(silent)}`),
      el("button", { type: "button", onclick: () => ask("shut-out", { number }).then(list).catch(trouble) }, `shut phone ${number} out`),
    );
  fill(by("phones-list"), phones.length ? el("ul", { class: "phones" }, phones.map(row)) : el("p", {}, "No phone is in."));
  by("phones-idle").textContent = `A phone that asks for nothing in ${hours} hours is shut out by itself.`;
}

async function offer() {
  const { address, picture, seconds } = await ask("phone-code");
  const code = drawn(picture.slice(picture.indexOf("<svg")));
  code.setAttribute("role", "img");
  code.setAttribute("aria-label", "the address below, for a camera");
  fill(by("phone-code"), el("div", { class: "qr" }, code), el("p", {}, el("code", {}, address)), el("p", {}, `Works once, for ${Math.round(seconds / 60)} minutes.`));
  clearTimeout(ends);
  ends = setTimeout(() => fill(by("phone-code")), 1000 * seconds);
}

/** A phone came in or went: its code is used up. */
export function phonesChanged() {
  if (!by("phones-dialog").open) return;
  fill(by("phone-code"));
  list().catch(trouble);
}

export function pairing() {
  const told = (error) => {
    if (!(error instanceof Refused)) throw error;
    fill(by("phone-code"), el("p", { class: "notice fault" }, error.words));
  };
  by("phones-open").addEventListener("click", () => {
    fill(by("phone-code"));
    by("phones-dialog").showModal();
    list().catch(told);
  });
  by("phone-show").addEventListener("click", () => offer().catch(told));
  by("phones-close").addEventListener("click", () => by("phones-dialog").close());
}
