// What lies on the bench, as this page sees it: the file's state, what is tried on it, and the answers. One question at a time; of
// several the newest wins.

import { Refused, ask, get } from "./door.js";

const REST = 150;
const LIMB = "taperwright-limb";

/** What the program said last. */
export const desk = {
  state: null,
  look: null,
  whole: null,
  shot: null,
  glue: null,
  /** Values tried, by key, as they would be written. */
  tries: new Map(),
  /** Faults of what is tried; the answers are then of the last values that made a bow. */
  faults: [],
  /** What the last solving moved. */
  told: [],
  /** Whether a figure that was drawn is not answered yet. */
  pulling: false,
  place: "bow",
  /** Of two different limbs, the one whose levers and curves are shown. */
  limb: sessionStorage.getItem(LIMB) === "lower" ? "lower" : "upper",
  /** Where the bow stands, as one of its draws from brace on; nothing for full draw. A hand that draws wants the limbs at every draw. */
  drawn: null,
  drawing: false,
  /** Laminations that "solve" may change, by their mark. */
  free: new Set(),
};

const listeners = new Map();

/** `state`, `tries`, `look`, `picture` (what was looked at is to be drawn), `whole`, `shot`, `glue`, `limb`, `told`, `pulled`, `said`, `trouble`. */
export function on(name, heard) {
  listeners.set(name, [...(listeners.get(name) ?? []), heard]);
}

export function tell(name, ...said) {
  for (const heard of listeners.get(name) ?? []) heard(...said);
}

export const changes = () => Array.from(desk.tries, ([key, value]) => ({ key, value }));

/** A lever by its key, as the file has it. */
export const lever = (key) => desk.state?.levers.find((lever) => lever.key === key);

/** Whether two files describe two different limbs. */
export const two = () => desk.state?.limbs?.length === 2;

/** The same by its key in the file of the limb that is shown. */
export function ownLever(key) {
  if (!two() || desk.limb === "upper") return lever(key);
  return lever(`lower:${key}`) ?? [lever(key)].find((one) => one?.limb === "both");
}

export function showLimb(limb) {
  if (desk.limb === limb) return;
  desk.limb = limb;
  sessionStorage.setItem(LIMB, limb);
  tell("limb");
  moved();
}

/** What the files are called in words. */
export const files = () => (two() ? desk.state.limbs.map(({ file }) => file).join(" and ") : desk.state.file);

/** The file's text without TOML's quotes. */
export const written = (lever) => lever.text.replace(/^"(.*)"$/s, "$1");

/** What is tried or, where nothing is, what the file has, as text. */
export const text = (lever) => desk.tries.get(lever.key) ?? written(lever);

/** The same as a number in the lever's unit: of the last answer, where what is tried is a text of its own. */
export function number(lever) {
  const tried = desk.tries.get(lever.key);
  if (tried === undefined) return lever.value;
  const bare = tried.endsWith(lever.suffix) ? tried.slice(0, tried.length - lever.suffix.length) : tried;
  if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(bare.trim())) return Number(bare);
  return desk.look?.values.find(([key]) => key === lever.key)?.[1] ?? lever.value;
}

/** A value on the lever's steps, as it would be written: with no more places than it needs, and no fewer than the file has. */
export function stepped(lever, value) {
  const k = Math.round((value - lever.value) / lever.step);
  if (k === 0 && lever.text !== undefined) return written(lever);
  const low = lever.from < 0 ? -Infinity : 0;
  const [whole, places = ""] = Math.max(lever.value + k * lever.step, low).toFixed(lever.decimals).split(".");
  const least = lever.text?.match(/\.(\d+)/)?.[1].length ?? 0;
  const kept = places.replace(/0+$/, "").padEnd(Math.min(least, places.length), "0");
  return (kept ? `${whole}.${kept}` : whole) + lever.suffix;
}

/** Tries a value; the file's own is no try. */
export function attempt(key, value) {
  desk.drawing = false;
  const known = lever(key);
  if (value === null || (known && value === written(known))) desk.tries.delete(key);
  else desk.tries.set(key, value);
  solved.base = null;
  moved();
  tried();
}

/** Tries these and nothing else. */
export function attemptAll(all, { keepBase = false } = {}) {
  desk.tries = new Map(all.filter(({ key, value }) => !lever(key) || written(lever(key)) !== value).map(({ key, value }) => [key, value]));
  if (!keepBase) solved.base = null;
  moved();
  tried();
}

let telling = false;

/** Tells of tries once the question is on its way: it is answered while the page follows the hand. */
function tried() {
  if (telling) return;
  telling = true;
  queueMicrotask(() => {
    telling = false;
    tell("tries");
  });
}

/* Looks. */

let wanted = false;
let busy = null;
let resting = 0;
let drawing = 0;

/** What the program says of the bow on the bench. */
function seen(said) {
  desk.look = said;
  desk.faults = [];
  looked();
}

/** Everything else is looked at once nothing has moved for a while. */
function restSoon() {
  clearTimeout(resting);
  resting = setTimeout(rest, REST);
}

/** Figures are said at once and drawn in the next frame's own time: an answer that comes just before a frame is in it all the same. */
function looked() {
  tell("look");
  drawing ||= requestAnimationFrame(() => {
    drawing = 0;
    // The next question first: it is answered while this one is drawn.
    if (wanted) look();
    tell("picture");
  });
}

/** Something moved: look again as soon as the last look is answered, and at everything once the hand rests. */
export function moved() {
  if (!wanted) {
    wanted = true;
    // What moves with this move is said in the same breath; the next picture is too late to ask.
    queueMicrotask(look);
  }
  restSoon();
}

async function look() {
  if (busy?.whole) busy.stop.abort();
  if (busy || desk.pulling) return;
  await lookNow();
  if (wanted) requestAnimationFrame(look);
}

async function lookNow() {
  wanted = false;
  if (!desk.state?.is_bow) return;
  await question("look", false, seen);
}

async function rest() {
  if (busy || wanted || desk.pulling) {
    resting = setTimeout(rest, REST);
    return;
  }
  if (!desk.state?.is_bow) return;
  await question("whole", true, (said) => {
    desk.whole = said;
    tell("whole");
  });
  if (desk.place === "glue" && !wanted) {
    await question("glue", true, (said) => {
      desk.glue = said;
      tell("glue");
    });
  }
  // A hand that only paused does not wait for arrows.
  if (desk.place === "bow" && !wanted) resting = setTimeout(restLonger, REST);
  if (wanted) requestAnimationFrame(look);
}

async function restLonger() {
  if (busy || wanted || desk.pulling) {
    resting = setTimeout(restLonger, REST);
    return;
  }
  await question("shot", true, (said) => {
    desk.shot = said;
    tell("shot");
  });
  if (wanted) requestAnimationFrame(look);
}

/** The one draw that is looked at while levers move: limbs at all the others are half of an answer. */
function drawn() {
  const last = (desk.look?.draws.length ?? 0) - 1;
  return desk.drawing || last < 0 ? {} : { drawn: desk.drawn ?? last };
}

async function question(name, whole, answered) {
  const asked = { whole, stop: new AbortController() };
  busy = asked;
  try {
    const shown = { ...(two() ? { limb: desk.limb } : {}), ...(name === "look" ? drawn() : {}) };
    const said = await ask(name, { changes: changes(), ...shown }, { signal: asked.stop.signal });
    if (!asked.stop.signal.aborted) answered(said);
  } catch (error) {
    trouble(error);
  } finally {
    busy = null;
  }
}

/** Says what went wrong, where it is said. */
export function trouble(error) {
  if (!(error instanceof Refused)) throw error;
  if (error.passed) return;
  if (error.faults.length) {
    desk.faults = error.faults;
    looked();
  } else tell("trouble", error.words);
}

/* Figures that pull: what is drawn sets a wish, and the program says which values follow. */

const solved = { base: null };
let next = null;

/** Asks `solve` or `ease` with values set on top of what stood before the hand began to draw. */
export async function pull(name, { set = [], ...more } = {}) {
  solved.base ??= changes();
  const base = solved.base.filter(({ key }) => !set.some((one) => one.key === key));
  next = { name, set, body: { changes: [...base, ...set], free: [...desk.free], ...more } };
  for (const { key, value } of set) desk.tries.set(key, value);
  tell("tries");
  if (desk.pulling) return;
  desk.pulling = true;
  while (next) {
    const { name, body } = next;
    next = null;
    if (busy) {
      busy.stop.abort();
      while (busy) await new Promise(requestAnimationFrame);
    }
    try {
      const said = await ask(name, body);
      // What was drawn further meanwhile stands. Where it goes no further, the bow stays where it got to.
      const later = next?.set ?? [];
      if (said.changes) attemptAll([...said.changes.filter(({ key }) => !later.some((one) => one.key === key)), ...later], { keepBase: true });
      desk.told = said.told;
      await lookNow();
    } catch (error) {
      desk.told = [];
      if (!next) trouble(error);
    }
    tell("told");
  }
  desk.pulling = false;
  tell("pulled");
}

/** What "solve" may change at first: in each file what it sizes or, where it names nothing, all that is free. */
function sizedFirst(laminations) {
  const limbs = [...new Set(laminations.map(({ limb }) => limb))];
  return limbs.flatMap((limb) => {
    const own = laminations.filter((one) => one.limb === limb);
    const sized = own.filter((one) => one.sized);
    return (sized.length ? sized : own.filter((one) => one.free)).map(({ id }) => id);
  });
}

/** The bow as it lay on the bench, asked for with its levers; where that cannot be, or something is tried already, it is asked for again. */
async function begun(early) {
  const said = await early;
  if (!said || wanted || busy || desk.look || desk.tries.size) {
    moved();
    return;
  }
  seen(said);
  restSoon();
}

/** Reads the desk anew: what is tried stays, as far as the file still has its lever. */
export async function read() {
  const first = !desk.state;
  // Before anything is tried the bow need not wait for its levers.
  const early = first && !desk.tries.size ? ask("look", { changes: [], limb: desk.limb }).catch(() => null) : null;
  try {
    const state = await get("/state");
    desk.state = state;
    const keys = new Map(state.levers.map((lever) => [lever.key, written(lever)]));
    const gone = [];
    for (const [key, value] of desk.tries) {
      const lost = !keys.has(key) && !key.includes(".want");
      if (lost) gone.push(`${key}: ${value}`);
      if (lost || keys.get(key) === value) desk.tries.delete(key);
    }
    if (gone.length) tell("said", `The file no longer has what was tried here: ${gone.join(", ")}.`);
    const ids = state.laminations.filter((lamination) => lamination.free).map(({ id }) => id);
    if (first || ![...desk.free].some((id) => ids.includes(id))) desk.free = new Set(sizedFirst(state.laminations));
    else desk.free = new Set([...desk.free].filter((id) => ids.includes(id)));
    solved.base = null;
    // The question goes first: it is answered while the page is built.
    if (!early) moved();
    await null;
    tell("state");
    tell("tries");
    if (early) await begun(early);
  } catch (error) {
    // Before anything was read, whoever keeps the stream says why.
    if (desk.state || !(error instanceof Refused)) trouble(error);
  }
}
