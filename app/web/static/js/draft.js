// Keeps what was typed in a form until the ledger has it: a tablet that goes to sleep loses nothing.
// A page that carries data-saved="id" says that the ledger has the draft of that form. That page may be
// left before this runs, or may never come. outbox.js takes a draft out before its form is sent; for
// forms that go without it a draft keeps the key of its form, and the ledger is asked by that key.

import { when } from "./moment.js";
import { all, change, get } from "./store.js";
import { say } from "./words.js";

// Without a store (it is full or switched off) the form works all the same.
const quietly = (work) => work.catch(() => {});

const KEPT_MS = 7 * 24 * 3600 * 1000; // our judgement: after a week nobody knows any more what it was

const isChoice = (box) => box.type === "checkbox" || box.type === "radio";

function typed(form) {
  return [...form.elements].filter((box) => box.name && !["hidden", "submit", "button"].includes(box.type));
}

// [name, value] of a box, [name, value, is it ticked] of a choice
function read(form) {
  return typed(form).map((box) => (isChoice(box) ? [box.name, box.value, box.checked] : [box.name, box.value]));
}

// a row that was added and is empty says nothing
const filled = (values) => values.filter(([, value, isTicked]) => isTicked ?? value);

const fits = (box, value) => box.tagName !== "SELECT" || [...box.options].some((option) => option.value === value);

// What the values do not name stays as the server wrote it, or is emptied.
function write(form, values, isAllOfIt) {
  const names = filled(values).map(([name]) => name);
  form.dispatchEvent(new CustomEvent("draft:rows", { detail: names }));
  const ticked = new Map(values.filter((one) => one.length === 3).map(([name, value, is]) => [`${name}=${value}`, is]));
  const texts = grouped(values);
  for (const box of typed(form)) {
    if (isChoice(box)) box.checked = ticked.get(`${box.name}=${box.value}`) ?? (isAllOfIt ? false : box.checked);
    else put(box, texts.get(box.name)?.shift()?.[1] ?? (isAllOfIt ? "" : box.value));
  }
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

function grouped(values) {
  const found = new Map();
  for (const one of values) found.set(one[0], [...(found.get(one[0]) ?? []), one]);
  return found;
}

function put(box, value) {
  if (!fits(box, value)) return;
  box.value = value;
  const fold = box.closest("details"); // what is back must not lie hidden
  if (fold && "defaultValue" in box && box.value !== box.defaultValue) fold.open = true;
}

const keyOf = (form) => form.elements.key?.value ?? "";

async function isWritten(key) {
  try {
    const answer = await fetch(`/written/${encodeURIComponent(key)}`, { cache: "no-store" });
    return (await answer.json()).written === true;
  } catch {
    return false; // nobody knows: what was typed is not thrown away
  }
}

// A page that is left within the few milliseconds in which the store writes takes its draft along in
// the tab's own memory, which is written at once.
const LEFT = "stillroom.left.";
const leave = (draft) => window.sessionStorage.setItem(LEFT + draft.id, JSON.stringify(draft));

function left(id) {
  const draft = window.sessionStorage.getItem(LEFT + id);
  window.sessionStorage.removeItem(LEFT + id);
  return JSON.parse(draft);
}

async function attend(form) {
  const id = form.dataset.draft;
  const fresh = read(form);
  const isFresh = (values) => JSON.stringify(filled(values)) === JSON.stringify(filled(fresh));
  const note = form.querySelector(".draft-note");
  let isTouched = false;
  let onItsWay = null; // what the store has not confirmed yet
  const forget = () => {
    onItsWay = null;
    return change(["drafts", "delete", id]);
  };
  const put = async (draft) => {
    onItsWay = draft;
    await change(["drafts", "put", draft]);
    if (onItsWay === draft) onItsWay = null;
  };
  const keep = () => {
    isTouched = true;
    if ("sending" in form.dataset) return; // it is in the outbox
    const values = read(form);
    quietly(isFresh(values) ? forget() : put({ id, key: keyOf(form), at: Date.now(), values }));
  };
  const empty = () => {
    write(form, fresh, true);
    note.hidden = true;
  };
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  form.addEventListener("draft:reset", empty);
  window.addEventListener("pagehide", () => onItsWay && leave(onItsWay));
  form.querySelector("[data-draft-clear]")?.addEventListener("click", empty);
  await tidied;
  const kept = left(id) ?? (await get("drafts", id));
  // a refused form already shows the newest text
  if (!kept || isTouched || isFresh(kept.values) || "refused" in form.dataset) return;
  if (kept.key && kept.key !== keyOf(form) && (await isWritten(kept.key))) return isTouched || forget();
  if (isTouched) return;
  write(form, kept.values, false);
  note.querySelector("span").textContent = say("What you typed on {when} is back.", { when: when(kept.at) });
  note.hidden = false;
}

async function tidy() {
  const marks = [...document.querySelectorAll("[data-saved]")];
  const old = (await all("drafts")).filter((draft) => draft.at < Date.now() - KEPT_MS);
  const gone = [...marks.map((mark) => mark.dataset.saved), ...old.map((draft) => draft.id)];
  for (const mark of marks) window.sessionStorage.removeItem(LEFT + mark.dataset.saved);
  if (gone.length) await change(...gone.map((id) => ["drafts", "delete", id]));
  for (const mark of marks) mark.removeAttribute("data-saved");
}

const tidied = quietly(tidy());
// after every module of the page has attached itself: tally.js must be there to make rows
window.addEventListener("DOMContentLoaded", () => {
  for (const form of document.querySelectorAll("form[data-draft]")) quietly(attend(form));
});
