// The shop's places on a phone: puts them together, keeps them in step with the program, and says what waits.

import { box, pump } from "./outbox.js";
import { by, el, fill } from "./dom.js";
import { Refused, isHeld, isPhone, listen } from "./door.js";
import { glueing } from "./glueing.js";
import { go, keep, kept, on, pair, read, shop } from "./phone.js";
import { passes } from "./passes.js";
import { readings } from "./readings.js";
import { theme } from "./theme.js";
import { tillering } from "./tillering.js";

const PLACES = ["passes", "readings", "glueing", "tillering"];
const SEEN = "taperwright-screen";

function places() {
  for (const place of PLACES) by(place).hidden = !shop.state || shop.place !== place;
  for (const button of document.querySelectorAll("#rail button")) {
    if (button.dataset.go === shop.place) button.setAttribute("aria-current", "page");
    else button.removeAttribute("aria-current");
  }
  by("screen").hidden = !isPhone || !shop.state || kept(SEEN, false) || !["passes", "glueing"].includes(shop.place);
}

function head() {
  const { title, log, faults, whose, readings: count } = shop.state;
  by("title").textContent = title || "The shop";
  by("log").textContent = log ? `${log}: ${count} reading${count === 1 ? "" : "s"}` : "no file yet";
  document.title = `${title}, in the shop`;
  by("pairing").hidden = true;
  by("whose").textContent = whose ?? "";
  by("whose").hidden = !whose;
  fill(by("faults"), faults.map((words) => el("p", { class: "notice fault" }, words)));
  places();
}

function waiting() {
  const count = box.items.filter((item) => !item.asked).length;
  const asked = box.items.some((item) => item.asked);
  const wait = count && box.why ? `${count} reading${count === 1 ? " waits" : "s wait"} on this phone. ${box.why}` : "";
  const question = asked && shop.place !== "readings" ? el("button", { type: "button", onclick: () => go("readings") }, "a reading is asked about") : null;
  by("waiting").hidden = !wait && !question;
  fill(by("waiting"), wait ? el("p", {}, wait) : null, question);
}

/** Says what stands between the page and the program. */
function link(stands, error) {
  by("link").hidden = stands;
  if (stands) return;
  by("link").textContent =
    error?.status === 0 || !error
      ? "The program cannot be reached. What you type and tick is kept on this phone and sent when it can; leave this page open."
      : error.words;
  if (error?.status === 403 && isPhone && !shop.state) unpaired(error.words);
}

function unpaired(words) {
  by("link").hidden = true;
  by("pairing").hidden = false;
  by("pairing-words").textContent = words;
}

async function start() {
  theme();
  passes();
  readings();
  glueing();
  tillering();
  on("state", head);
  on("place", places);
  on("place", waiting);
  on("box", waiting);
  on("link", link);
  by("to-desk").hidden = isPhone;
  by("screen-seen").addEventListener("click", () => {
    keep(SEEN, true);
    places();
  });
  for (const button of document.querySelectorAll("#rail button")) button.addEventListener("click", () => go(button.dataset.go));
  let place = "passes";
  try {
    place = sessionStorage.getItem("taperwright-shop-place") ?? place;
  } catch {}
  shop.place = PLACES.includes(place) ? place : "passes";
  places();
  try {
    await pair();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    if (!isHeld()) return unpaired(error.said.why ? `${error.words} At the desk, “phone” shows one.` : error.words);
  }
  if (!isHeld()) return unpaired("At the desk's page, touch “phone”, and let this phone's camera read the code there.");
  waiting();
  listen(
    (event) => ["file", "log"].includes(event.event) && read(),
    (stands, why) => {
      if (!stands) return link(false, why ? { status: 403, words: why } : undefined);
      read();
      pump();
    },
  );
}

start();
