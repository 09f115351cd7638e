// The way to the program: the token, questions and answers, and the stream that says what changed.

const KEPT = "taperwright-token";
// A page asks under a name of its own, so that its newer questions pass its older ones.
const page = Array.from(crypto.getRandomValues(new Uint8Array(8)), (byte) => byte.toString(16).padStart(2, "0")).join("");

function token() {
  const given = location.hash.slice(1);
  // A tab with the book has places of its own there.
  if (/^[0-9a-f]{32}$/.test(given)) {
    sessionStorage.setItem(KEPT, given);
    history.replaceState(null, "", location.pathname);
  }
  return sessionStorage.getItem(KEPT) ?? "";
}

const held = token();
const headers = (more) => ({ "Taperwright-Token": held, "Taperwright-Page": page, ...more });

/** An answer that is none: its status (0 where nobody answered) and what was said with it. */
export class Refused extends Error {
  constructor(status, said) {
    super(said?.why ?? "");
    this.status = status;
    this.said = said ?? {};
    this.faults = this.said.faults ?? [];
  }

  /** A newer question of this page took its place. */
  get passed() {
    return this.status === 409 && this.said.newer === true;
  }

  /** In words, for whoever reads the page. */
  get words() {
    if (this.status === 0) return "The program does not answer.";
    if (this.status === 403) return "This page may not come in. Open the address that the program printed when it was started.";
    if (this.status === 408) return "It took too long and was given up.";
    if (this.faults.length) return this.faults.map((fault) => `${fault.at ? `${fault.at}: ` : ""}${fault.message}`).join(". ");
    return this.said.why ? `${this.said.why[0].toUpperCase()}${this.said.why.slice(1)}.` : `It was refused (${this.status}).`;
  }
}

async function sent(path, options) {
  let response;
  try {
    response = await fetch(path, options);
  } catch (error) {
    if (error.name === "AbortError") throw new Refused(409, { newer: true });
    throw new Refused(0);
  }
  if (!response.ok) throw new Refused(response.status, await response.json().catch(() => ({})));
  return response;
}

export async function get(path) {
  return (await sent(path, { headers: headers() })).json();
}

/** A file that the program makes, as a blob. */
export async function blob(path) {
  return (await sent(path, { headers: headers() })).blob();
}

export async function ask(question, body = {}, { hash, signal } = {}) {
  const more = { "Content-Type": "application/json" };
  if (hash !== undefined) more["If-Match"] = `"${hash}"`;
  const response = await sent(`/${question}`, { method: "POST", headers: headers(more), body: JSON.stringify(body), signal });
  try {
    return await response.json();
  } catch (error) {
    throw error.name === "AbortError" ? new Refused(409, { newer: true }) : new Refused(0);
  }
}

/** Reads the stream of events for as long as the page is open; `link` is told whether it stands. */
export async function listen(heard, link) {
  let wait = 500;
  for (;;) {
    try {
      const response = await sent("/events", { headers: headers() });
      const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
      let rest = "";
      for (;;) {
        const { value, done } = await reader.read();
        if (done) break;
        const lines = (rest + value).split("\n");
        rest = lines.pop();
        for (const line of lines.filter(Boolean)) {
          const event = JSON.parse(line);
          if (event.event === "open") {
            wait = 500;
            link(true);
          } else heard(event);
        }
      }
      link(false);
    } catch (error) {
      link(false, error instanceof Refused && error.status === 403 ? error.words : undefined);
    }
    await new Promise((rested) => setTimeout(rested, wait));
    wait = Math.min(2 * wait, 10_000);
  }
}
