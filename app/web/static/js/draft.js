// Keeps what was typed in a form until the ledger has it: a tablet that goes to sleep loses nothing.
// A page that carries data-saved="id" says that the ledger has the draft of that form. That page may be
// left before this runs, or may never come; so a draft keeps the key of its form, and before it is
// brought back the ledger is asked whether it was written by that key.

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

const keyOf = (form) => form.elements.key?.value ?? "";

function draftAt(at) {
  const kept = JSON.parse(store((s) => s.getItem(at)) ?? "null");
  return Array.isArray(kept) ? { key: "", values: kept } : kept;
}

async function isWritten(key) {
  try {
    const answer = await fetch(`/written/${encodeURIComponent(key)}`, { cache: "no-store" });
    return (await answer.json()).written === true;
  } catch {
    return false; // nobody knows: what was typed is not thrown away
  }
}

async function attend(form) {
  const at = KEY + form.dataset.draft;
  const fresh = read(form);
  const note = form.querySelector(".draft-note");
  const isFresh = (values) => JSON.stringify(values) === fresh;
  const forget = () => store((s) => s.removeItem(at));
  let isTouched = false;
  const keep = () => {
    isTouched = true;
    if (read(form) === fresh) return forget();
    store((s) => s.setItem(at, JSON.stringify({ key: keyOf(form), values: JSON.parse(read(form)) })));
  };
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  form.querySelector("[data-draft-clear]")?.addEventListener("click", () => {
    write(form, JSON.parse(fresh));
    forget();
    note.hidden = true;
  });
  const kept = draftAt(at);
  // a refused form already shows the newest text
  if (!kept || isFresh(kept.values) || "refused" in form.dataset) return;
  if (kept.key && kept.key !== keyOf(form) && (await isWritten(kept.key))) return isTouched || forget();
  if (isTouched) return;
  write(form, kept.values);
  if (note) note.hidden = false;
}

for (const mark of document.querySelectorAll("[data-saved]")) {
  store((s) => s.removeItem(KEY + mark.dataset.saved));
}
// after every module of the page has attached itself: tally.js must be there to make rows
window.addEventListener("DOMContentLoaded", () => document.querySelectorAll("form[data-draft]").forEach(attend));
