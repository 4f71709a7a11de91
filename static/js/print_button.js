// The button that prints the page: without scripts it is not there, and the browser's own menu prints.
// On paper nothing can be opened, so all is open before.
addEventListener("beforeprint", () => {
  for (const details of document.querySelectorAll("details:not([open])")) details.open = true;
});
for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
