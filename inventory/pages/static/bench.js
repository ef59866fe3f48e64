"use strict";
// Pages work without this file; it only saves taps.

document.documentElement.classList.add("scripted");

// A form that was sent says so, and cannot be sent twice by an impatient thumb.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "1";
  const button = event.submitter;
  if (button) button.classList.add("busy");
});

// Going back must show the stock of now, and forms that were not sent yet.
window.addEventListener("pageshow", (event) => {
  if (event.persisted) window.location.reload();
});

// A hand scanner types: whatever is typed outside a field goes to the scan field, wherever a finger was last.
document.addEventListener("keydown", (event) => {
  const field = document.getElementById("code") || document.getElementById("q");
  const typing = document.activeElement && document.activeElement.matches("input:not([type=radio], [type=checkbox]), textarea, select");
  if (!field || typing || event.ctrlKey || event.metaKey || event.altKey || event.key.length !== 1 || event.key === " ") return;
  field.value = "";
  field.focus();
});

// Choosing a photo sends it: one tap less.
const photo = document.getElementById("photo");
if (photo) {
  document.getElementById("send-photo").hidden = true;
  photo.addEventListener("change", () => photo.files.length && photo.form.requestSubmit());
}
