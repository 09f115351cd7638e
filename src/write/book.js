// Keeps ticks and notes of this book in the browser that shows it, and tells a screen reader that a stacked table is a table still.
(() => {
  "use strict";
  const roles = { table: "table", thead: "rowgroup", tbody: "rowgroup", tr: "row", td: "cell" };
  for (const table of document.querySelectorAll(".stacked table")) {
    for (const [name, role] of Object.entries(roles)) {
      for (const part of [table, ...table.querySelectorAll(name)]) if (part.localName === name) part.setAttribute("role", role);
    }
    for (const head of table.querySelectorAll("th")) head.setAttribute("role", head.scope === "row" ? "rowheader" : "columnheader");
  }

  const said = document.getElementById("book-kept");
  if (!said) return;
  const key = said.dataset.key;
  const forget = document.getElementById("book-forget");
  const fields = [...document.querySelectorAll("main input[name]")];
  const refused = said.textContent;
  const box = (field) => field.type === "checkbox";
  const read = () => {
    try {
      const kept = JSON.parse(localStorage.getItem(key));
      return kept !== null && typeof kept === "object" ? kept : {};
    } catch (error) {
      // What does not read as ours is begun anew; a refusal is the caller's.
      if (error instanceof SyntaxError) return {};
      throw error;
    }
  };
  const show = () => {
    const kept = read();
    for (const field of fields) {
      const value = kept[field.name];
      if (box(field)) field.checked = value === true;
      else field.value = typeof value === "string" ? value : "";
    }
  };
  const lost = () => {
    if (said.textContent !== refused) said.textContent = refused;
    forget.hidden = true;
  };
  const kept = (work) => {
    try {
      work();
      return true;
    } catch {
      lost();
      return false;
    }
  };
  // Some browsers let one read and refuse to write.
  if (!kept(() => { localStorage.setItem(key, JSON.stringify(read())); show(); })) return;
  said.textContent = "Ticks and notes stay in this browser, on this device, for this build file as it is. Print the book to keep them elsewhere.";
  forget.hidden = false;
  document.addEventListener("input", ({ target }) => {
    if (!target.name) return;
    kept(() => {
      // Read anew: the book may be open twice.
      const all = read();
      const value = box(target) ? target.checked : target.value;
      if (value) all[target.name] = value;
      else delete all[target.name];
      localStorage.setItem(key, JSON.stringify(all));
    });
  });
  addEventListener("storage", (event) => {
    if (event.key === key || event.key === null) kept(show);
  });
  forget.addEventListener("click", () => {
    if (confirm("Take all ticks and notes out of this book?")) kept(() => { localStorage.removeItem(key); show(); });
  });
})();
