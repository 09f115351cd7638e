// Light or dark: as the machine has it, or as was chosen here.

import { by } from "./dom.js";

const KEPT = "taperwright-theme";
const dark = matchMedia("(prefers-color-scheme: dark)");

function show() {
  const chosen = localStorage.getItem(KEPT);
  const now = chosen ?? (dark.matches ? "dark" : "light");
  document.documentElement.dataset.theme = now;
  by("theme").textContent = now === "dark" ? "light sheet" : "dark sheet";
}

export function theme() {
  by("theme").addEventListener("click", () => {
    localStorage.setItem(KEPT, document.documentElement.dataset.theme === "dark" ? "light" : "dark");
    show();
  });
  dark.addEventListener("change", show);
  show();
}
