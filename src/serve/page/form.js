// A form for one reading: what is proposed, what was typed, and what is sent. The program judges; here is only what it asks.

import { el, fill, unique } from "./dom.js";
import { figure } from "./pad.js";
import { work } from "./phone.js";

/** Chosen where nothing else is, and then not sent. */
const STANDARD = { counted_from: "end", on: "table" };

const isRead = (text) => (text ?? "").trim() !== "";

const isTwoSided = (field) => field.columns.length === 3 && field.columns[1] === "left";
const PROPOSED = ["serial", "lamination", "strip", "after", "apart", "counted_from", "on"];
const IN_SIGHT = ["upper", "lower", "tip", "apart", "counted_from", "draw", "width", "strip"];

/** A proposed value, as it is read at a glance. */
function inWords(field, values) {
  const value = values[field.key] || STANDARD[field.key];
  if (!value || field.key === "counted_from") return "";
  if (field.kind === "choice") return field.choices.find(([word]) => word === value)?.[1] ?? value;
  return { serial: `bow ${value}`, after: `after pass ${value}`, apart: `edges ${value} ${field.unit} apart` }[field.key] ?? value;
}

/** From where places are counted, in words. */
const countedFrom = (values) => ((values.counted_from || STANDARD.counted_from) === "centre" ? "the bow's centre" : (work(values.lamination)?.end ?? "the strip's end"));

/** Whether a field is asked with these values. */
function asks(field, values) {
  if (!field.only) return true;
  const [key, words] = field.only;
  return words.split("|").includes(values[key] ?? "");
}

/** Left and right of a strip are read, or its middle alone. */
const columns = (field, draft) => (isTwoSided(field) && draft.edges === 1 ? [field.columns[0], "thickness"] : field.columns);

const emptyRow = (place, count) => [place, ...Array(count - 1).fill("")];

/** Round places along a strip of this length, well inside its ends. */
function along(length, inch) {
  const step = inch ? 4 : 100;
  const inside = inch ? 1 : 25;
  const places = [inside];
  for (let at = step; at < length - inside; at += step) places.push(at);
  return [...places, Math.floor(length - inside)].map(String);
}

/** A new draft of this kind, with what can be proposed. */
export function begin(form, state, given = {}) {
  const values = { ...given.values };
  for (const field of form.fields) {
    if (field.kind === "choice" && values[field.key] === undefined && !field.free) values[field.key] = field.choices[0]?.[0] ?? "";
  }
  const draft = { of: form.word, values, date: "", note: "", edges: state.apart ? 2 : 1, hints: given.hints ?? {} };
  if (!draft.values.apart && state.apart) draft.values.apart = state.apart;
  // The bow that was read last.
  if (draft.values.serial === undefined && state.serial && form.fields.some((field) => field.key === "serial")) draft.values.serial = state.serial;
  propose(form, state, draft, given.values ?? {});
  return draft;
}

/** Fills in what follows from the lamination: the pass, the strip, places worth reading. */
export function propose(form, state, draft, given = {}) {
  const of = work(draft.values.lamination);
  const { values } = draft;
  const has = (key) => form.fields.some((field) => field.key === key);
  const set = (key, value) => {
    if (has(key) && given[key] === undefined) values[key] = value;
  };
  const rows = (key, places, count) => set(key, (places.length ? places : ["", "", ""]).map((place) => emptyRow(place, count)));
  if (of && form.word === "strip") {
    set("after", String(of.made));
    set("strip", of.strips[0] ?? "");
    rows("readings", of.read_at, 3);
  }
  if (form.word === "done" && of) set("pass", String(of.made + 1));
  if (form.word === "test strip") rows("readings", [], 3);
  if (form.word === "sled") rows("heights", of ? along(of.length, state.units === "in") : [], 2);
  if (form.word === "tiller") rows("gaps", (state.draws[0]?.rows ?? []).map(([station]) => station), 3);
}

/** The reading's keys with their values, as they are sent. */
export function keys(form, draft) {
  const must = work(draft.values.lamination)?.must_say_count && form.fields.some((field) => field.key === "counted_from");
  const read = form.fields.filter((field) => asks(field, draft.values)).flatMap((field) => {
    const value = draft.values[field.key];
    const standard = STANDARD[field.key];
    if (standard !== undefined) {
      const chosen = value || standard;
      return chosen === standard && !(must && field.key === "counted_from") ? [] : [[field.key, chosen]];
    }
    if (field.key === "apart" && draft.edges === 1) return [];
    if (Array.isArray(value)) {
      if (!Array.isArray(value[0])) {
        const several = value.filter(isRead).map((text) => text.trim());
        return several.length ? [[field.key, several]] : [];
      }
      const count = columns(field, draft).length || 2;
      const rows = value.map((row) => row.slice(0, count).map((text) => (text ?? "").trim())).filter((row) => row.slice(1).some(isRead));
      return rows.length ? [[field.key, rows.map((row) => row.filter(isRead))]] : [];
    }
    return isRead(value) ? [[field.key, value.trim()]] : [];
  });
  return isRead(draft.note) ? [...read, ["note", draft.note.trim()]] : read;
}

/** Words to touch, one of which holds. */
export function chips(label, choices, chosen, choose) {
  const name = unique("chips");
  return el(
    "fieldset",
    { class: "chips" },
    el("legend", {}, label),
    choices.map(([value, words]) => {
      const radio = el("input", { type: "radio", name, value, checked: value === chosen, onchange: () => choose(value) });
      return el("label", {}, radio, el("span", {}, words));
    }),
  );
}

/** Draws the form into `place`; `changed(anew)` is called after each change, `anew` where the form has other fields now. */
export function draw(place, form, state, draft, changed) {
  const { values } = draft;
  const set = (key, value, anew = false) => {
    values[key] = value;
    changed(anew);
  };
  const parts = { setup: [], main: [], more: [] };
  const setup = [];
  const twoSided = form.fields.find(isTwoSided);
  for (const field of form.fields.filter((field) => asks(field, values))) {
    if (field.key === "apart" && draft.edges === 1) continue;
    const drawn = DRAWN[field.kind](field, { values, draft, set, changed, state });
    // What the log proposes stands folded, so that the figures are in reach at once.
    const proposed = twoSided || form.word === "sled" ? PROPOSED.includes(field.key) && (field.kind === "choice" || isRead(values[field.key])) : false;
    const late = field.free && !IN_SIGHT.includes(field.key) && !(field.key === "serial" && state.serials.length);
    parts[proposed ? "setup" : late ? "more" : "main"].push(drawn);
    if (proposed) setup.push(inWords(field, values));
  }
  if (twoSided) parts.setup.push(chips("read at", [["1", "the middle"], ["2", "left and right"]], String(draft.edges), (value) => ((draft.edges = Number(value)), changed(true))));
  const folded = parts.setup.length
    ? el("details", { class: "setup", open: draft.setup, ontoggle: (event) => (draft.setup = event.target.open) }, el("summary", {}, el("span", {}, setup.filter(Boolean).join(", "))), parts.setup)
    : null;
  const day = el("input", { type: "date", value: draft.date, max: state.today, id: unique("day"), onchange: () => ((draft.date = day.value), changed(false)) });
  const note = el("input", { type: "text", id: unique("note"), maxlength: "160", value: draft.note, oninput: () => ((draft.note = note.value), changed(false)) });
  const more = el(
    "details",
    { class: "more", open: draft.open, ontoggle: (event) => (draft.open = event.target.open) },
    el("summary", {}, "more to say"),
    parts.more,
    el("div", { class: "one" }, el("label", { for: day.id }, "the day, if not today"), day),
    el("div", { class: "one" }, el("label", { for: note.id }, "a remark"), note),
  );
  fill(place, folded, parts.main, more);
}

const suffix = (unit) => (unit ? el("span", { class: "unit" }, unit) : null);
const named = (label, unit) => (unit ? `${label}, ${unit}` : label);

const DRAWN = {
  choice(field, { values, draft, set, state }) {
    const standard = STANDARD[field.key];
    const choices = field.free && standard === undefined ? [["", "not said"], ...field.choices] : field.choices;
    return chips(field.label, choices, values[field.key] || standard || "", (value) => {
      values[field.key] = value;
      if (field.key === "lamination") draft.anew = true;
      set(field.key, value, true);
    });
  },
  number(field, { values, set }) {
    const id = unique("figure");
    const input = figure({ id, value: values[field.key] ?? "", "data-key": field.key, "data-free": field.free, "aria-label": named(field.label, field.unit) }, (text) => set(field.key, text));
    return el("div", { class: "one" }, el("label", { for: id }, field.label), el("span", { class: "field" }, input, suffix(field.unit)));
  },
  text(field, { values, set, state }) {
    const id = unique("text");
    const names = { strip: work(values.lamination)?.strips, serial: state.serials }[field.key] ?? [];
    const input = el("input", { type: "text", id, maxlength: "40", autocomplete: "off", value: values[field.key] ?? "", oninput: () => set(field.key, input.value) });
    const choose = (name) => el("button", { type: "button", "aria-pressed": String(values[field.key] === name), onclick: () => set(field.key, name, true) }, name);
    return el("div", { class: "one" }, el("label", { for: id }, field.label), el("span", { class: "field" }, names.map(choose), input));
  },
  several(field, { values, set }) {
    const all = Array.isArray(values[field.key]) ? values[field.key] : [""];
    values[field.key] = all;
    const one = (text, k) =>
      figure({ value: text, "data-key": field.key, "data-free": k > 0, "aria-label": `${named(field.label, field.unit)}, ${k + 1}` }, (now) => {
        all[k] = now;
        set(field.key, all);
      });
    const another = el("button", { type: "button", onclick: () => set(field.key, [...all, ""], true) }, "one more");
    return el("div", { class: "one" }, el("span", {}, field.label), el("span", { class: "field several" }, all.map(one), suffix(field.unit), another));
  },
  rows: (field, context) => rows(field, context),
  along(field, context) {
    const { values, set } = context;
    const value = values[field.key];
    const words = field.choices.map(([word]) => word);
    const way = Array.isArray(value) ? "places" : words.includes(value) ? value : value === undefined && field.free ? "" : "one";
    const choices = [...(field.free ? [["", "not said"]] : []), ...field.choices, ["one", "one size"], ["places", "place by place"]];
    const chosen = chips(field.label, choices, way, (now) =>
      set(field.key, { "": undefined, one: "", places: [["", ""], ["", ""], ["", ""]] }[now] ?? (words.includes(now) ? now : undefined), true),
    );
    const one = () => {
      const id = unique("figure");
      const input = figure({ id, value: value ?? "", "data-key": field.key, "aria-label": named(field.label, field.unit) }, (text) => set(field.key, text));
      return el("div", { class: "one" }, el("label", { for: id }, field.label), el("span", { class: "field" }, input, suffix(field.unit)));
    };
    return el("div", {}, chosen, way === "one" ? one() : null, way === "places" ? rows(field, context) : null);
  },
};

function rows(field, { values, draft, set, state }) {
  const heads = columns(field, draft);
  const all = Array.isArray(values[field.key]) && Array.isArray(values[field.key][0]) ? values[field.key] : [emptyRow("", heads.length)];
  values[field.key] = all;
  const hints = draft.hints[field.key] ?? {};
  const cell = (row, r, k) => {
    const label = k === 0 ? `${heads[0]} ${r + 1}, ${field.unit}` : `${heads[k]} at ${row[0] || `row ${r + 1}`}, ${field.unit}`;
    const input = figure({ value: row[k] ?? "", "data-key": field.key, "data-place": k === 0 && isRead(row[0]), "aria-label": label }, (text) => {
      row[k] = text;
      set(field.key, all);
    });
    const hint = k > 0 ? hints[row[0]]?.[k - 1] : undefined;
    return el(k === 0 ? "th" : "td", k === 0 ? { scope: "row" } : {}, input, hint ? el("small", {}, `target ${hint}`) : null);
  };
  const body = all.map((row, r) => el("tr", {}, heads.map((_, k) => cell(row, r, k))));
  const table = el(
    "table",
    { class: "figures-table" },
    el("caption", {}, `${field.label}, ${state.units}`, field.columns[0] === "place" ? [". Places from ", el("strong", {}, countedFrom(values))] : []),
    el("thead", {}, el("tr", {}, heads.map((words) => el("th", { scope: "col" }, words)))),
    el("tbody", {}, body),
  );
  const add = el("button", { type: "button", onclick: () => set(field.key, [...all, emptyRow("", field.columns.length)], true) }, "one more place");
  const less = all.length > 1 ? el("button", { type: "button", onclick: () => set(field.key, all.slice(0, -1), true) }, "one less") : null;
  return el("div", {}, table, el("p", { class: "buttons" }, add, less));
}
