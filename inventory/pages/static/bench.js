"use strict";
// Pages work without this file; it only saves taps.

// A form that was sent says so, and cannot be sent twice by an impatient thumb.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "1";
  const button = event.submitter;
  if (button) button.classList.add("busy");
});

// Coming back to a page must not find its buttons asleep.
window.addEventListener("pageshow", () => {
  document.querySelectorAll("form[data-sent]").forEach((form) => {
    delete form.dataset.sent;
    form.querySelectorAll(".busy").forEach((button) => button.classList.remove("busy"));
  });
});

// A hand scanner types: whatever is typed outside a field goes to the scan field.
document.addEventListener("keydown", (event) => {
  const field = document.getElementById("q");
  const busy = document.activeElement && document.activeElement.matches("input, textarea, select, button, a, summary");
  if (!field || busy || event.ctrlKey || event.metaKey || event.altKey || event.key.length !== 1) return;
  field.value = "";
  field.focus();
});
