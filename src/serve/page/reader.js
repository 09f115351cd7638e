// The book in a tab of its own, as it lies in the folder: this page allows the style and the typeface that the book carries inside.

import { blob } from "./door.js";

try {
  const bytes = await blob(`/file/${Number(location.search.slice(1))}`);
  const text = await bytes.text();
  if (!bytes.type.startsWith("text/html")) throw new Error("not a page");
  document.open();
  document.write(text);
  document.close();
  // A place in it that was gone to before the tab was loaded anew.
  document.getElementById(location.hash.slice(1))?.scrollIntoView();
} catch (error) {
  document.getElementById("said").textContent = error.words ?? "This is no book. Open it from the bench, at the place Book.";
}
