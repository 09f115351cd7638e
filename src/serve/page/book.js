// Book: the files made, with progress, and opened.

import { ask, blob } from "./door.js";
import { by, el, fill } from "./dom.js";
import { desk, on, tell, trouble } from "./desk.js";

const MADE = "taperwright-made";
let open = null;

async function make() {
  by("make").disabled = true;
  by("progress").hidden = false;
  by("progress-bar").value = 0;
  by("progress-words").textContent = "working out sleds, passes and sheets";
  try {
    const names = await ask("make");
    sessionStorage.setItem(MADE, JSON.stringify({ file: desk.state.file, hash: desk.state.hash, names }));
    by("progress-words").textContent = `${names.length} files made`;
  } catch (error) {
    by("progress").hidden = true;
    trouble(error);
    // Levers, at which faults stand, are at another place.
    if (error.faults?.length) tell("trouble", `Nothing was made. ${error.words}`);
  }
  by("make").disabled = false;
  list();
}

/** While files are made; also when another page makes them. */
export function made({ done, of }) {
  if (!by("make").disabled) return;
  by("progress-bar").max = of;
  by("progress-bar").value = done;
  by("progress-words").textContent = done < of ? `file ${done + 1} of ${of}` : `${of} files made`;
}

const KINDS = { html: "book, in a tab of its own", pdf: "PDF", svg: "drawing", dxf: "for a cutter", csv: "table", json: "data", toml: "build file", txt: "text" };
const ending = (name) => name.split(".").pop();

async function show(number, name) {
  try {
    const bytes = await blob(`/file/${number}`);
    if (open) URL.revokeObjectURL(open);
    open = URL.createObjectURL(bytes);
    const kind = ending(name);
    const save = el("a", { href: open, download: name.split("/").pop(), class: "button" }, `save ${name.split("/").pop()}`);
    const close = el("button", { type: "button", onclick: () => (by("reader").hidden = true) }, "close");
    const inside =
      kind === "svg"
        ? el("img", { src: open, alt: name })
        : kind === "pdf"
          ? el("iframe", { src: open, title: name })
          : el("pre", { tabindex: "0", "aria-label": name }, (await bytes.text()).slice(0, 100_000));
    fill(by("reader"), el("div", { class: "reader-head" }, el("h3", { tabindex: "-1" }, name), save, close), inside);
    by("reader").hidden = false;
    by("reader").querySelector("h3").focus();
    by("reader").scrollIntoView({ block: "nearest" });
  } catch (error) {
    trouble(error);
  }
}

/** What the list of files says. */
let listed = null;

function list() {
  const known = JSON.parse(sessionStorage.getItem(MADE) ?? "null");
  const state = desk.state;
  by("make").hidden = !state?.file;
  by("book-out").textContent = state?.out ?? "output";
  by("book-needs").hidden = Boolean(state?.file);
  const mine = known && known.file === state?.file;
  const old = mine && known.hash !== state.hash;
  // A list that says the same stays: a button that is put in anew under a finger loses its click.
  const said = mine ? JSON.stringify([known.names, old]) : "";
  if (said === listed) return;
  listed = said;
  if (!mine) {
    fill(by("files"));
    return;
  }
  const groups = new Map();
  known.names.forEach((name, number) => {
    const folder = name.includes("/") ? name.slice(0, name.lastIndexOf("/")) : "";
    groups.set(folder, [...(groups.get(folder) ?? []), [number, name]]);
  });
  const item = ([number, name]) => {
    const words = [name.split("/").pop(), el("small", {}, KINDS[ending(name)] ?? "")];
    // A page brings its own style, which this one does not let in: it is read in a tab of its own, which knows the token from this one.
    const made =
      ending(name) === "html"
        ? el("a", { class: "button file", href: `/reader?${number}`, target: "_blank", rel: "opener" }, words)
        : el("button", { type: "button", class: "file", onclick: () => show(number, name) }, words);
    return el("li", {}, made);
  };
  fill(
    by("files"),
    old ? el("p", { class: "notice warning" }, "The build file has changed since these were made: make them again.") : null,
    [...groups].map(([folder, names]) => el("section", {}, el("h3", {}, folder || "first of all"), el("ul", { class: "file-list" }, names.map(item)))),
  );
}

function pending() {
  by("book-tries").hidden = desk.tries.size === 0;
}

export function book() {
  on("state", list);
  on("tries", pending);
  by("make").addEventListener("click", make);
}
