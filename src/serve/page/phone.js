// What the shop's places share: what the program said last, which place is shown, and the pairing of this phone.

import { Refused, ask, code, get, hold, isPhone } from "./door.js";

export const shop = { state: null, place: "passes" };

const listeners = new Map();

/** `state`, `place`, `answered`, `box`, `link`. */
export function on(name, heard) {
  listeners.set(name, [...(listeners.get(name) ?? []), heard]);
}

export function tell(name, ...said) {
  for (const heard of listeners.get(name) ?? []) heard(...said);
}

/** Exchanges the code in the address for a token of this phone's own. */
export async function pair() {
  if (!isPhone || !code) return;
  hold((await ask("pair", { code })).token);
}

export function take(state) {
  shop.state = state;
  tell("state");
}

let reading = false;
let again = false;

/** Reads the places anew; several wishes at once are one. */
export async function read() {
  again = true;
  if (reading) return;
  reading = true;
  while (again) {
    again = false;
    try {
      take(await get("/shop"));
      tell("link", true);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      tell("link", false, error);
    }
  }
  reading = false;
}

export function go(place) {
  shop.place = place;
  try {
    sessionStorage.setItem("taperwright-shop-place", place);
  } catch {}
  tell("place");
}

export const work = (name) => shop.state?.laminations.find((lamination) => lamination.name === name);

/** Whose a reading is, where the log tells bows apart: the one that was read last. */
export const ofBow = () => (shop.state?.serial ? [["serial", shop.state.serial]] : []);

/** The lamination that is being ground, as far as the log tells. */
export function inHand() {
  const { laminations, latest } = shop.state;
  const isLeft = (of) => of?.lines.some((line) => !line.made);
  const read = latest.map((spoken) => work(spoken.lamination)).find(isLeft);
  return read ?? laminations.find(isLeft) ?? laminations[0];
}

/** Texts that outlive the page; where the browser keeps none they live with it. */
const memory = new Map();

export function kept(name, standard) {
  try {
    const text = localStorage.getItem(name);
    return text === null ? (memory.get(name) ?? standard) : JSON.parse(text);
  } catch {
    return memory.get(name) ?? standard;
  }
}

export function keep(name, value) {
  memory.set(name, value);
  try {
    localStorage.setItem(name, JSON.stringify(value));
  } catch {}
}
