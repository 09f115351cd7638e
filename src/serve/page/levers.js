// Levers: every value of the build file that can be changed here, with slider, steps, and what the builder types.

import { by, el, fill, steps, unique, within } from "./dom.js";
import { attempt, desk, lever, number, on, pull, stepped, tell, text, two, written } from "./desk.js";

const OPEN = "taperwright-open";
const rows = new Map();
let built = "";
/** What was said at the levers last. */
let stood = "";

/** The group without whose it is. */
const bare = (group) => group.replace(/^(both|lower):/, "");

/** The group's name in words. */
function title(group) {
  return lamination(group)?.name ?? { target: "Wish", outline: "Outline", riser: "Riser", string: "String", shot: "Shot", glue: "Glue-up" }[bare(group)] ?? bare(group);
}

const lamination = (group) => desk.state.laminations.find(({ key }) => key === group);

const isOpen = (group) => JSON.parse(sessionStorage.getItem(OPEN) ?? "{}")[group] ?? (bare(group) === "target" || (bare(group).startsWith("lamination") && matchMedia("(min-width: 1180px)").matches));

function remember(group, open) {
  sessionStorage.setItem(OPEN, JSON.stringify({ ...JSON.parse(sessionStorage.getItem(OPEN) ?? "{}"), [group]: open }));
}

/** As it would be read aloud: with its unit. */
const spoken = (lever) => {
  const value = text(lever);
  return /[a-z"'%]/i.test(value) || !lever.unit ? value : `${value} ${lever.unit}`;
};

function row(given, group) {
  const id = unique("lever");
  const name = `${group}: ${given.label}`;
  const told = el("div", { class: "told", id: `${id}-told` });
  const was = el("button", { type: "button", class: "was", hidden: true, onclick: () => attempt(given.key, null) });
  const key = given.key;
  const now = () => lever(key) ?? given;
  if (given.takes === "choice") {
    const select = el(
      "select",
      { id, "aria-label": name, onchange: (event) => attempt(key, event.target.value) },
      given.choices.map((choice) => el("option", { value: choice }, choice)),
    );
    const made = el("div", { class: "lever choice", "data-key": key }, el("label", { for: id }, given.label), select, was, told);
    return { key, made, told, was, show: () => (select.value = text(now())) };
  }
  const field = el("input", {
    id,
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    "aria-label": `${name}, ${given.unit || "plain number"}`,
    "aria-describedby": `${id}-told`,
  });
  let shown = "";
  const typed = () => {
    const value = field.value.trim();
    if (value === "") attempt(key, null);
    else attempt(key, /^[+-]?(\d+\.?\d*|\.\d+)$/.test(value) ? value + now().suffix : value);
    show();
  };
  field.addEventListener("change", typed);
  field.addEventListener("keydown", (event) => {
    if (event.key === "Escape") show();
    const k = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (k === undefined) return;
    event.preventDefault();
    step(k * (event.shiftKey ? 10 : 1));
  });
  const step = (k) => attempt(key, stepped(now(), number(now()) + k * now().step));
  const slider = el("input", {
    type: "range",
    min: String(given.from),
    max: String(given.to),
    step: "any",
    "data-step": String(given.step),
    "aria-label": name,
    oninput: () => attempt(key, stepped(now(), Number(slider.value))),
    onkeydown: (event) => {
      const k = steps(event);
      if (k === undefined) return;
      event.preventDefault();
      step(k);
    },
  });
  const much = `${Number(given.step.toFixed(5))} ${given.unit}`;
  const stepper = (k, sign, words) =>
    el("button", { type: "button", class: "step", "aria-label": `${name}, ${words} by ${much}`, onclick: (event) => step(k * (event.shiftKey ? 10 : 1)) }, sign);
  const show = () => {
    const given = now();
    // What is being typed is left alone until the value itself moves.
    const typing = document.activeElement === field && field.value !== shown && shown === text(given);
    if (!typing) field.value = shown = text(given);
    slider.value = String(number(given));
    slider.setAttribute("aria-valuetext", spoken(given));
    const range = Number(slider.max) - Number(slider.min);
    slider.style.setProperty("--at", `${(100 * within((number(given) - Number(slider.min)) / range, 0, 1)).toFixed(2)}%`);
    slider.style.setProperty("--file", `${(100 * within((given.value - Number(slider.min)) / range, 0, 1)).toFixed(2)}%`);
  };
  const made = el(
    "div",
    { class: "lever", "data-key": key },
    el("label", { for: id }, given.label),
    el("span", { class: "field" }, field, el("span", { class: "unit", "aria-hidden": "true" }, /[a-z]/i.test(given.suffix) ? "" : given.unit)),
    el("span", { class: "slide" }, stepper(-1, "−", "less"), slider, stepper(1, "+", "more")),
    was,
    told,
  );
  return { key, made, told, was, show };
}

/** `upper back`, or `back` where both limbs are alike. */
const named = ({ limb, name }) => (limb ? `${limb} ${name}` : name);

/** What stands above the levers of both limbs, and above those of the limb that is shown. */
function whose(limb) {
  const words = limb === "both" ? "Both limbs: one lever moves both files" : `The ${limb} limb, ${desk.state.limbs.find((one) => one.limb === limb).file}`;
  return el("p", { class: "whose" }, words);
}

/** Whether "solve" may change the lamination. */
function hold(lamination) {
  if (!lamination.free) return el("p", { class: "quiet" }, `${lamination.wood}; ground already, it stays`);
  const box = el("input", {
    type: "checkbox",
    checked: !desk.free.has(lamination.id),
    onchange: () => {
      if (box.checked) desk.free.delete(lamination.id);
      else desk.free.add(lamination.id);
      tell("free");
    },
  });
  return el("label", { class: "hold" }, box, `hold ${named(lamination)} as it is`);
}

function build() {
  // Those of the other limb stand behind its button.
  const levers = (desk.state?.levers ?? []).filter(({ limb }) => !limb || limb === "both" || limb === desk.limb);
  const shape = JSON.stringify([levers.map(({ key, label, takes, unit, from, to }) => [key, label, takes, unit, from, to]), desk.state?.laminations, desk.place]);
  if (shape === built) return;
  built = shape;
  rows.clear();
  const groups = [...new Set(levers.map((lever) => lever.group))];
  const isGlue = (group) => bare(group) === "glue";
  const order = desk.place === "glue" ? [...groups.filter(isGlue), ...groups.filter((group) => !isGlue(group))] : groups;
  const made = order.map((group) => {
    const open = desk.place === "glue" ? isGlue(group) : isOpen(group);
    const inside = levers
      .filter((lever) => lever.group === group)
      .map((lever) => {
        const one = row(lever, title(group));
        rows.set(lever.key, one);
        return one.made;
      });
    const heading = el("summary", {}, el("h3", {}, title(group)), el("span", { class: "count" }));
    const block = el(
      "details",
      { open, "data-group": group, ontoggle: () => desk.place === "bow" && remember(group, block.open) },
      heading,
      el("div", { class: "told" }),
      lamination(group) ? hold(lamination(group)) : null,
      inside,
    );
    return block;
  });
  if (two()) {
    const isBoth = (block) => block.dataset.group.startsWith("both:");
    const both = made.filter(isBoth);
    fill(by("levers-list"), both.length ? whose("both") : null, both, whose(desk.limb), made.filter((block) => !isBoth(block)));
  } else fill(by("levers-list"), made);
  stood = "";
}

function show() {
  let moved = false;
  for (const row of rows.values()) {
    const { key, was, show } = row;
    const given = lever(key);
    const tried = desk.tries.has(key);
    // Dozens of levers stay where they are at every move of one.
    const stands = JSON.stringify(given && [text(given), number(given), written(given), given.suffix, tried]);
    if (row.stands === stands) continue;
    row.stands = stands;
    moved = true;
    show();
    was.hidden = !tried;
    if (given && tried) {
      was.textContent = `file: ${written(given)}`;
      was.setAttribute("aria-label", `${given.label}: back to what the file says, ${written(given)}`);
    }
    was.closest(".lever").classList.toggle("tried", tried);
  }
  if (moved) counted();
}

/** What a closed group holds. */
function counted() {
  for (const block of by("levers-list").querySelectorAll("details")) {
    const tried = block.querySelectorAll(".lever.tried").length;
    const told = block.querySelectorAll(".notice").length;
    const words = [tried ? `${tried} tried` : "", told ? `${told} to read` : ""].filter(Boolean).join(", ");
    block.querySelector(".count").textContent = words;
  }
}

/** A fault or a warning, as it stands at its lever or in a list. */
export function notice(told) {
  const where = `${told.file ? `${told.file}${told.line ? ", " : ": "}` : ""}${told.line ? `line ${told.line}: ` : ""}`;
  return el(
    "div",
    { class: told.fault ? "notice fault" : "notice warning" },
    el("strong", {}, told.fault ? "Fault: " : "Warning: "),
    `${where}${told.at && told.key !== "(file)" ? `${told.at}: ` : ""}${told.message}`,
    told.hints.map((hint) => el("div", { class: "hint" }, hint)),
  );
}

/** Each said at the lever it concerns, or at its group; what concerns neither, in the list at the top. */
function stand() {
  const all = [...desk.faults, ...(desk.faults.length ? [] : [...(desk.whole?.warnings ?? []), ...(desk.look?.warnings ?? [])])];
  const said = JSON.stringify(all);
  if (said === stood) return;
  stood = said;
  for (const place of by("levers-list").querySelectorAll(".told")) fill(place);
  const seen = new Set();
  const apart = el("div");
  for (const told of all) {
    const same = `${told.key} ${told.message}`;
    if (seen.has(same)) continue;
    seen.add(same);
    const place = home(told.key);
    (place ?? apart).append(notice(told));
    if (place && told.fault) place.closest("details").open = true;
  }
  fill(by("apart"), [...apart.children]);
  counted();
}

function home(key) {
  const exact = [...rows.keys()].filter((known) => key === known || key.startsWith(`${known}.`) || key.startsWith(`${known}[`));
  const below = [...rows.keys()].filter((known) => key && (known.startsWith(`${key}.`) || known.startsWith(`${key}[`)));
  if (exact.length) return rows.get(exact.sort((a, b) => b.length - a.length)[0]).told;
  const group = desk.state.laminations.find((one) => key === one.key || key.startsWith(`${one.key}.`))?.key ?? key.split(/[.[]/)[0];
  const blocks = [...by("levers-list").querySelectorAll("details")];
  const block = blocks.find((block) => block.dataset.group === group) ?? blocks.find((block) => block.dataset.group === `both:${group}`);
  if (block && key) return block.querySelector(":scope > .told");
  return below.length ? rows.get(below[0]).told : null;
}

export function levers() {
  on("state", () => {
    build();
    show();
    stand();
  });
  for (const name of ["place", "limb"]) {
    on(name, () => {
      build();
      show();
      stand();
    });
  }
  on("tries", show);
  on("look", () => {
    show();
    stand();
  });
  on("whole", stand);
  by("solve").addEventListener("click", () => pull("solve"));
  on("free", solvable);
  on("state", solvable);
}

function solvable() {
  const free = desk.state.laminations.filter(({ id }) => desk.free.has(id));
  const held = (desk.state.limbs ?? []).find(({ limb }) => !free.some((one) => one.limb === limb));
  by("solve").disabled = free.length === 0 || Boolean(held);
  const names = free.map(named).join(" and ");
  if (held) by("solve-words").textContent = `every lamination of the ${held.limb} limb is held: leave one free in each limb to solve`;
  else if (two()) by("solve-words").textContent = `changes ${names} until weight and tiller are those wanted`;
  else by("solve-words").textContent = free.length ? `changes ${names} until the weight is the one wanted` : "every lamination is held: leave one free to solve";
}
