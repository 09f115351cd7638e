// What a reading said: two sentences at once, everything else a touch away.

import { el, table } from "./dom.js";

const grid = (caption, { heads, rows }) => el("div", { class: "wide" }, table(caption, heads, rows));

export function answer(spoken, { level = "h3" } = {}) {
  const [first, second, ...rest] = spoken.says;
  return el(
    "article",
    { class: "answer" },
    el(level, {}, spoken.title),
    el("p", { class: "quiet" }, spoken.date),
    spoken.asked.map((words) => el("p", { class: "notice fault" }, `Not used: ${words}.`)),
    [first, second].filter(Boolean).map((words) => el("p", { class: "says" }, words)),
    spoken.take ? grid(spoken.take.caption, spoken.take) : null,
    rest.length ? el("details", {}, el("summary", {}, "all that follows"), rest.map((words) => el("p", {}, words))) : null,
    spoken.beside ? el("details", {}, el("summary", {}, "reading beside model"), grid("Reading beside model", spoken.beside)) : null,
    spoken.take_over.length
      ? el("details", {}, el("summary", {}, "for the build file"), el("p", {}, "At the desk, these keys would take it over:"), spoken.take_over.map((words) => el("p", {}, el("code", {}, words))))
      : null,
  );
}
