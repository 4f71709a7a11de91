/* The pad of digits beside a PIN's field. Without this script the field itself is typed into. */

const form = document.querySelector("[data-pin-pad]");
const field = form.querySelector("input[type=password]");
let sent = false;

for (const part of form.querySelectorAll("[data-with-pad]")) part.hidden = false;
// No keyboard on the screen beside the pad; a real one goes on working.
field.inputMode = "none";

form.addEventListener("click", ({ target }) => {
  const key = target.closest("[data-digit], [data-erase]");
  if (key === null || sent) return;
  if ("erase" in key.dataset) {
    field.value = field.value.slice(0, -1);
  } else {
    field.value += key.dataset.digit;
    if (field.value.length >= field.maxLength) form.requestSubmit();
  }
});

// One tap too many must not count as one more try.
form.addEventListener("submit", (event) => {
  if (sent) event.preventDefault();
  sent = true;
});

// Come back to with the browser's own button, the page is as it was left. The event also ends
// every first loading, when digits may have been tapped already.
addEventListener("pageshow", ({ persisted }) => {
  if (!persisted) return;
  sent = false;
  field.value = "";
});
