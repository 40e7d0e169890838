// One tap, one entry: after a form is sent its button rests until the page is shown again, or until
// outbox.js says that the form is ready for the next entry.
// The server recognises a second sending by itself; this only spares the person the doubt.

function rest(event) {
  if (event.defaultPrevented || !event.submitter) return;
  const button = event.submitter;
  // after the event, so that the button's own name and value are still sent
  setTimeout(() => {
    button.disabled = true;
    button.dataset.resting = "";
  }, 0);
}

function wake() {
  for (const button of document.querySelectorAll("[data-resting]")) {
    button.disabled = false;
    delete button.dataset.resting;
  }
}

document.addEventListener("submit", rest);
document.addEventListener("form:ready", () => setTimeout(wake, 0));
window.addEventListener("pageshow", wake);
