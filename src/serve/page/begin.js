// The first minute: three questions, or an example, and a bow stands on the bench.

import { ask } from "./door.js";
import { by } from "./dom.js";
import { desk, on, read, trouble } from "./desk.js";

async function begin(question, body) {
  by("begin-told").textContent = "";
  try {
    await ask(question, body);
    await read();
    by("main").focus();
  } catch (error) {
    if (error.status === 422) by("begin-told").textContent = error.words;
    else trouble(error);
  }
}

function examples() {
  const inch = by("begin-form").elements.units.value === "in";
  for (const unit of document.querySelectorAll("#begin .length-unit")) unit.textContent = inch ? "in" : "mm";
  for (const unit of document.querySelectorAll("#begin .force-unit")) unit.textContent = inch ? "lbf" : "N";
  for (const field of document.querySelectorAll("#begin input[data-in]")) field.placeholder = inch ? field.dataset.in : field.dataset.mm;
}

export function begins() {
  on("state", () => {
    const empty = desk.state.file === null && desk.state.levers.length === 0;
    by("begin").hidden = !empty;
    document.body.classList.toggle("empty", empty);
  });
  const form = by("begin-form");
  form.addEventListener("change", examples);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const { weight, draw, length, units, style } = form.elements;
    begin("begin", { weight: weight.value, draw: draw.value, length: length.value, units: units.value, style: style.value });
  });
  for (const button of document.querySelectorAll("#begin button[data-example]")) {
    button.addEventListener("click", () => begin("begin-with", { name: button.dataset.example }));
  }
  examples();
}
