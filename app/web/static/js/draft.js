// Keeps what was typed in a form until the ledger has it: a tablet that goes to sleep loses nothing.
// A page that carries data-saved="id" says that the ledger has the draft of that form.

const KEY = "stillroom.draft.";

function store(action) {
  try {
    return action(window.localStorage);
  } catch {
    return null; // storage is full or switched off: the form still works
  }
}

function typed(form) {
  return [...form.elements].filter((box) => box.name && !["hidden", "submit", "button"].includes(box.type));
}

function read(form) {
  const kept = [];
  for (const box of typed(form)) {
    if (box.type === "checkbox" || box.type === "radio") {
      if (box.checked) kept.push([box.name, box.value]);
    } else if (box.value) kept.push([box.name, box.value]);
  }
  return JSON.stringify(kept);
}

function write(form, kept) {
  const values = new Map(kept);
  const chosen = new Set(kept.map(([name, value]) => name + "=" + value));
  form.dispatchEvent(new CustomEvent("draft:rows", { detail: [...values.keys()] }));
  for (const box of typed(form)) {
    if (box.type === "checkbox" || box.type === "radio") {
      box.checked = chosen.has(box.name + "=" + box.value);
    } else {
      box.value = values.get(box.name) ?? "";
      const fold = box.closest("details"); // what is back must not lie hidden
      if (fold && "defaultValue" in box && box.value !== box.defaultValue) fold.open = true;
    }
  }
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

function attend(form) {
  const key = KEY + form.dataset.draft;
  const fresh = read(form);
  const note = form.querySelector(".draft-note");
  const kept = store((s) => s.getItem(key));
  // a refused form already shows the newest text
  if (kept && kept !== fresh && !("refused" in form.dataset)) {
    write(form, JSON.parse(kept));
    if (note) note.hidden = false;
  }
  const keep = () => store((s) => (read(form) === fresh ? s.removeItem(key) : s.setItem(key, read(form))));
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  form.querySelector("[data-draft-clear]")?.addEventListener("click", () => {
    store((s) => s.removeItem(key));
    write(form, JSON.parse(fresh));
    note.hidden = true;
  });
}

for (const mark of document.querySelectorAll("[data-saved]")) {
  store((s) => s.removeItem(KEY + mark.dataset.saved));
}
// after every module of the page has attached itself: tally.js must be there to make rows
window.addEventListener("DOMContentLoaded", () => document.querySelectorAll("form[data-draft]").forEach(attend));
