// What is tried: set aside, compared, kept in the file, taken back.

import { ask } from "./door.js";
import { by, el, fill, renew, table } from "./dom.js";
import { attemptAll, changes, desk, files, lever, on, read, tell, trouble, two, written } from "./desk.js";

async function done(doing) {
  try {
    return await doing();
  } catch (error) {
    trouble(error);
    return undefined;
  }
}

function bar() {
  const count = desk.tries.size;
  const named = Boolean(desk.state?.file);
  by("bar").hidden = !desk.state?.levers.length;
  by("count").textContent = count ? `${count} ${count === 1 ? "value differs" : "values differ"} from the file${two() ? "s" : ""}` : two() ? "as the files say" : "as the file says";
  if (!named) by("count").textContent = "this bow has no file yet";
  const where = two() ? "files" : "file";
  by("keep").textContent = `keep in the ${where}`;
  by("reset").textContent = `back to the ${where}`;
  by("keep").hidden = !named;
  by("keep").disabled = count === 0;
  by("reset").disabled = count === 0;
  by("take-back").hidden = !named;
  by("take-back").disabled = !desk.state?.kept;
  by("name-form").hidden = named;
}

/** A value in words, as far as its lever is known. */
function words(key, value) {
  const known = lever(key);
  if (!known) return `${key}: ${value}`;
  const of = desk.state.laminations.find(({ key }) => key === known.group);
  const whose = known.limb === "upper" || known.limb === "lower" ? `${known.limb} ${of ? "" : "limb, "}` : "";
  return `${whose}${of ? `${of.name}, ` : ""}${known.label}: ${value.trim()} (file ${written(known)})`;
}

function compare() {
  const aside = desk.state?.aside ?? [];
  by("aside-form").hidden = !desk.state?.is_bow;
  if (!aside.length) {
    renew(by("aside-list"), el("p", { class: "quiet" }, "None yet. They live as long as the program runs."));
    return;
  }
  const value = (pairs) => el("ul", { class: "values" }, pairs.map(([key, value]) => el("li", {}, words(key, value))));
  const rows = aside.map((one) => [
    one.name,
    one.weight,
    one.hardest,
    one.changes.length ? value(one.changes) : "as the file says",
    el(
      "span",
      { class: "buttons" },
      el("button", { type: "button", "aria-label": `take up ${one.name}`, onclick: () => attemptAll(one.changes.map(([key, value]) => ({ key, value }))) }, "take up"),
      el("button", { type: "button", "aria-label": `drop ${one.name}`, onclick: () => done(() => ask("drop-aside", { name: one.name })) }, "drop"),
    ),
  ]);
  const now = desk.look ? [["now", desk.look.weight.text, hardest(), desk.tries.size ? value([...desk.tries]) : "as the file says", ""]] : [];
  fill(by("aside-list"), table("Tries set aside", ["name", "weight", "works hardest", "differs in", ""], [...now, ...rows], { class: "stacked" }));
}

function hardest() {
  const share = (strain) => Number.parseFloat(strain.cells[3]) || 0;
  const worst = [...desk.look.strains].sort((a, b) => share(b) - share(a))[0];
  return worst ? `${worst.limb ? `${worst.limb} ` : ""}${worst.cells[0]} ${worst.cells[3]}` : "";
}

/* Keeping. */

const dialog = () => by("keep-dialog");
/** Of the text whose lines are shown: what is written goes over these and no others. */
let shownHash = "";

function shown(lines, heads) {
  return table(
    "Lines that change",
    ["", ...heads],
    lines.map(({ place, was, now }) => [place, el("code", { class: "was" }, was || "(no line)"), el("code", { class: "now" }, now || "(no line)")]),
  );
}

async function offer(title, note, heads, button) {
  shownHash = desk.state.hash;
  let lines;
  try {
    lines = await ask("lines", { changes: changes() });
  } catch (error) {
    // Told at its lever, and here, where it was asked for.
    trouble(error);
    if (error.faults?.length) tell("trouble", `This makes no bow, and is not kept. ${error.words}`);
    return;
  }
  if (!lines.length) {
    dialog().close();
    tell("said", `${files()} ${two() ? "say" : "says"} what is tried already: nothing was written.`);
    return;
  }
  by("keep-title").textContent = title;
  by("keep-note").textContent = note;
  fill(by("keep-lines"), shown(lines, heads));
  by("keep-write").textContent = button;
  if (!dialog().open) dialog().showModal();
}

async function write() {
  let lines;
  try {
    lines = await ask("keep", { changes: changes() }, { hash: shownHash });
  } catch (error) {
    if (error.status === 412) {
      await read();
      await offer(
        two() ? "A file was changed meanwhile" : "The file was changed meanwhile",
        two()
          ? "Nothing was written, to neither file. Below stands what the files say now, and what they would say with your tries."
          : "Nothing was written. Below stands what the file says now, and what it would say with your tries.",
        ["the file now", "with your tries"],
        "write mine over these lines",
      );
      return;
    }
    dialog().close();
    trouble(error);
    return;
  }
  dialog().close();
  desk.tries.clear();
  await read();
  const written = [...new Set(lines.map(({ place }) => place.split(/, line \d+$/)[0]))];
  tell("said", `Kept in ${two() ? written.join(" and ") : desk.state.file}.`);
}

async function takeBack() {
  const back = await done(async () => {
    await ask("take-back", {}, { hash: desk.state.hash });
    return true;
  });
  await read();
  if (back) tell("said", `Taken back: ${files()} ${two() ? "are as they were" : "is as it was"} before the last keep.`);
}

export function tries() {
  on("state", () => {
    bar();
    compare();
  });
  on("tries", bar);
  on("look", compare);
  by("reset").addEventListener("click", () => attemptAll([]));
  by("keep").addEventListener("click", () =>
    offer(two() ? "Keep in the files?" : "Keep in the file?", `These lines of ${files()} change, the rest stays as it is.`, ["the file says", "it will say"], "write them"),
  );
  by("keep-write").addEventListener("click", write);
  by("keep-not").addEventListener("click", () => dialog().close());
  by("take-back").addEventListener("click", takeBack);
  by("aside-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const field = by("aside-name");
    await done(async () => {
      await ask("aside", { name: field.value, changes: changes() });
      field.value = "";
    });
  });
  by("name-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const name = await done(() => ask("name", { name: by("file-name").value, changes: changes() }));
    if (!name) return;
    desk.tries.clear();
    await read();
    tell("said", `Kept as ${name}.`);
  });
}
