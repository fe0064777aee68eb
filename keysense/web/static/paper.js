// The press that prints a signed paper; without a script the browser's own way of printing does the same.

for (const press of document.querySelectorAll("[data-print]")) {
  press.hidden = false;
  press.addEventListener("click", () => window.print());
}
