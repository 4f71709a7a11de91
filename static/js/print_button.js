// The button that prints the page: without scripts it is not there, and the browser's own menu prints.
for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
