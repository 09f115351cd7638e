// Readings on their way to the log. Each has a key of its own and is sent until it is answered: in order, and never twice. What waits
// outlives the page.

import { Refused, ask } from "./door.js";
import { keep, kept, take, tell } from "./phone.js";

const KEPT = "taperwright-outbox";
const AGAIN = 4000;
const PATIENCE = 25_000;

export const box = { items: kept(KEPT, []), why: "" };

// `crypto.randomUUID` is not to be had over plain HTTP.
const fresh = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");

function changed() {
  keep(KEPT, box.items);
  tell("box");
}

/** Puts a reading into the box; gives the key that its answer comes with. */
export function send(of, keys, date) {
  const item = { key: fresh(), of, keys, date: date || undefined, at: Date.now(), tried: false, asked: null };
  box.items.push(item);
  changed();
  pump();
  return item.key;
}

/** Sends a reading that was asked about with other values, as a new one. */
export function amend(item, keys) {
  Object.assign(item, { key: fresh(), keys, asked: null, tried: false });
  changed();
  pump();
  return item.key;
}

export function drop(item) {
  box.items = box.items.filter((other) => other !== item);
  changed();
  pump();
}

let busy = false;
let later = 0;

export async function pump() {
  if (busy) return;
  busy = true;
  clearTimeout(later);
  // One that is asked about waits for its builder, and those behind it for it: readings count in their order.
  while (box.items.length && !box.items[0].asked) {
    const item = box.items[0];
    const { key, of, keys, date, at, tried } = item;
    const body = { key, of, keys, date, ago_s: Math.max(0, Math.round((Date.now() - at) / 1000)), again: tried };
    // Whether an answer comes is not known from here on.
    item.tried = true;
    keep(KEPT, box.items);
    try {
      const said = await ask("reading", body, { signal: AbortSignal.timeout(PATIENCE) });
      box.items = box.items.filter((other) => other !== item);
      box.why = "";
      take(said.shop);
      changed();
      tell("answered", item, said.answer);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (error.status === 422 && error.said.asked) {
        item.asked = error.said.asked;
        item.tried = false;
        changed();
        tell("answered", item, null);
        break;
      }
      box.why = error.words;
      changed();
      later = setTimeout(pump, AGAIN);
      break;
    }
  }
  busy = false;
}

addEventListener("online", () => pump());
