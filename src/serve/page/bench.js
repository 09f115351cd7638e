// The bench: puts its places together and keeps them in step with the program.

import { book, made } from "./book.js";
import { begins } from "./begin.js";
import { by, el, fill } from "./dom.js";
import { desk, moved, on, read, tell, two } from "./desk.js";
import { figures } from "./figures.js";
import { glueUp } from "./glue.js";
import { levers, notice } from "./levers.js";
import { limbs } from "./limbs.js";
import { get, listen } from "./door.js";
import { numbers } from "./numbers.js";
import { theme } from "./theme.js";
import { pairing, phonesChanged } from "./pairing.js";
import { shot } from "./shot.js";
import { tries } from "./tries.js";
import { weight } from "./weight.js";

const PLACE = "taperwright-place";

function go(place) {
  desk.place = place;
  sessionStorage.setItem(PLACE, place);
  document.body.dataset.place = place;
  for (const button of document.querySelectorAll("#places button")) {
    if (button.dataset.place === place) button.setAttribute("aria-current", "page");
    else button.removeAttribute("aria-current");
  }
  tell("place");
  if (desk.state) moved();
}

function titles() {
  const { file, log, title, faults } = desk.state;
  by("title").textContent = title || "The bench";
  const named = two() ? desk.state.limbs.map((one) => `${one.limb} limb ${one.file}`).join(", ") : (file ?? "no file yet");
  by("file").textContent = [named, log].filter(Boolean).join(", ");
  document.title = title ? `${title}, at the bench` : "The bench";
  const told = by("file-faults").childElementCount > 0;
  const batch = desk.state.levers.length > 0 && !desk.state.is_bow;
  fill(
    by("file-faults"),
    faults.length && !faults.every((fault) => fault.key === "(file)")
      ? el("p", {}, el("strong", {}, two() ? "The files have faults. " : "The file has faults. "), desk.state.levers.length ? (two() ? "What is shown in grey is the last bow that they made." : "What is shown in grey is the last bow that it made.") : "The bow shows as soon as they are mended.")
      : null,
    faults.map((fault) => el("div", {}, notice(fault), fault.text ? el("code", { class: "line" }, fault.text) : null)),
    batch ? el("p", { class: "notice" }, "This file describes laminations and no bow: there is no weight to show. Its files are made under Book.") : null,
  );
  // What makes the bow grey is not left out of sight.
  if (!told && faults.length) by("file-faults").scrollIntoView({ block: "nearest" });
  document.body.classList.toggle("no-bow", !desk.state.is_bow);
}

let hide = 0;

function say(words, trouble) {
  by("said").className = trouble ? "notice fault" : "notice";
  by("said").textContent = words;
  by("said").hidden = false;
  clearTimeout(hide);
  if (!trouble) hide = setTimeout(() => (by("said").hidden = true), 12_000);
}

/** Reads again what is not as it was read: once the first picture had its time, since changes between two requests are rare. */
async function unlessRead() {
  await new Promise((done) => setTimeout(done, 600));
  const { hash } = await get("/state").catch(() => ({}));
  if (hash !== desk.state?.hash) read();
}

theme();
weight();
levers();
limbs();
figures();
numbers();
shot();
tries();
begins();
glueUp();
book();
pairing();
on("state", titles);
on("trouble", (words) => say(words, true));
on("said", (words) => say(words, false));
on("tries", () => by("said").classList.contains("fault") && (by("said").hidden = true));
for (const button of document.querySelectorAll("#places button")) button.addEventListener("click", () => go(button.dataset.place));
go(sessionStorage.getItem(PLACE) ?? "bow");

let lost = false;
// The stream tells of changes from its first line on: what is read before it may be old by then.
const first = read();
listen(
  (event) => {
    if (event.event === "made") made(event);
    else if (event.event === "phones") phonesChanged();
    else read();
  },
  (stands, why) => {
    by("link").hidden = stands;
    by("link").textContent =
      why ?? "The program was ended, or cannot be reached. What you try here is not lost while this page stays open: start the program again, open its new address, and enter what you want to keep.";
    if (stands && lost) read();
    else if (stands) first.then(unlessRead);
    lost = !stands;
  },
);
