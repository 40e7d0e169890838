// An entry whose server does not answer is kept here and sent when it does: once, by the key that the
// server knows it by. Without scripts, or without a store, forms are sent as ever.

import { LEASE_MS, goTo, isThere, send, submitPlainly } from "./post.js";
import { show, tell } from "./kept.js";
import { all, alter, backToDraft, change, get } from "./store.js";
import { say } from "./words.js";

const WAITS_MS = [10_000, 15_000, 15_000, 30_000, 60_000];
const KEY = /^[\w-]{16,64}$/;
const board = document.querySelector("[data-outbox]");
const channel = new BroadcastChannel("stillroom.outbox");
let isAway = false; // something failed, and nothing has come through since
let isSending = false;
let isAskedMeanwhile = false;
let tries = 0;
let timer = 0;

// -- what is kept ------------------------------------------------------------------------------

// data-keep names what a form without a page of its own is about
const writes = (button) => !button?.name || "keep" in button.dataset; // others ask for a page
const ours = (form) => "keep" in form.dataset && KEY.test(form.elements.key?.value ?? "");
const draftOf = (form) => ("draft" in form.dataset ? get("drafts", form.dataset.draft) : null);

const nameOf = (box) => box.getAttribute("aria-label") ?? box.labels?.[0]?.textContent ?? "";

function words(form) {
  const boxes = [...form.elements].filter((box) => box.name && nameOf(box) && box.value.trim());
  const said = boxes.filter((box) => !["checkbox", "radio"].includes(box.type) || box.checked);
  return said.map((box) => {
    const name = nameOf(box);
    const value = box.tagName === "SELECT" ? box.selectedOptions[0].textContent : box.value;
    return ["checkbox", "radio"].includes(box.type) ? name.trim() : `${name.trim()}: ${value.trim()}`;
  });
}

function bodyOf(form, button) {
  const body = new URLSearchParams(new FormData(form));
  if (button?.name) body.append(button.name, button.value);
  return body.toString();
}

async function entryOf(form, button) {
  return {
    id: form.elements.key.value,
    action: form.action || window.location.href,
    body: bodyOf(form, button),
    title: form.dataset.keep || document.querySelector("h1").textContent.trim(),
    words: button?.name ? [...words(form), button.firstChild.textContent.trim()] : words(form),
    at: Date.now(),
    state: "waiting",
    lease: Date.now() + LEASE_MS,
    draft: (await draftOf(form)) ?? null,
  };
}

const isFree = (entry) => entry.state === "waiting" && entry.lease < Date.now();

// -- a form is sent ----------------------------------------------------------------------------

async function sendNow(form, button) {
  let entry;
  try {
    entry = await entryOf(form, button);
    await change(["outbox", "put", entry], ["drafts", "delete", form.dataset.draft ?? ""]);
  } catch {
    return submitPlainly(form, button); // no store: nothing can be kept
  }
  const answer = await send(entry, "now");
  if (answer === null) return keep(form, entry);
  if (answer.written) await change(["outbox", "delete", entry.id]);
  else await change(...backToDraft(entry));
  form.dataset.sent = "";
  if (answer.location) return goTo(answer.location);
  submitPlainly(form, button); // the same key gets the same page, this time to look at
}

async function keep(form, entry) {
  const kept = await alter("outbox", entry.id, (one) => (one.state === "waiting" ? { ...one, lease: 0 } : null));
  if ("draft" in form.dataset) form.dispatchEvent(new CustomEvent("draft:reset"));
  else form.reset();
  form.elements.key.value = newKey();
  delete form.dataset.sending;
  document.dispatchEvent(new CustomEvent("form:ready"));
  form.querySelector(".outbox-note")?.remove();
  if (kept) {
    note(form);
    form.dataset.kept = "";
  }
  isAway = true;
  changed();
}

// A second tap in doubt is no second entry: an empty amount would mean all that is left.
function showItIsKept(form) {
  document.dispatchEvent(new CustomEvent("form:ready"));
  form.querySelector(".outbox-note")?.focus();
}

function note(form) {
  const note = document.createElement("p");
  note.className = "outbox-note";
  note.tabIndex = -1;
  const isEmptied = "draft" in form.dataset;
  note.textContent = isEmptied ? say("Kept on this tablet. The form is empty for the next one.") : say("Kept on this tablet.");
  form.prepend(note);
  note.focus();
}

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(18));
  return btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_");
}

// -- what waits is sent ------------------------------------------------------------------------

async function round(isAsked = false) {
  if (isSending) {
    isAskedMeanwhile ||= isAsked;
    return;
  }
  isSending = true;
  try {
    const entries = (await all("outbox")).filter((entry) => entry.state === "waiting");
    for (const entry of entries.sort((one, other) => one.at - other.at)) {
      if (!(await sendLater(entry, isAsked))) break;
    }
    if (!entries.length && isAway) isAway = !(await isThere(board.dataset.probe));
  } finally {
    isSending = false;
  }
  changed();
  if (!isAskedMeanwhile) return;
  isAskedMeanwhile = false;
  round(true);
}

// Another page may be sending it; it has the lease. Returns whether the next one is worth a try.
async function sendLater(entry, isAsked) {
  const mine = await alter("outbox", entry.id, (kept) =>
    isFree(kept) || (isAsked && kept.state === "waiting") ? { ...kept, lease: Date.now() + LEASE_MS } : null,
  );
  if (!mine) return true;
  const answer = await send(mine, "later");
  isAway = answer === null;
  if (!isAway) channel.postMessage("there");
  const next = after(answer);
  await alter("outbox", entry.id, (kept) => ({ ...kept, ...next }));
  if (next.state === "sent") tell(next.answer);
  return next.state !== "waiting";
}

function after(answer) {
  if (answer === null || answer.status === 503) return { state: "waiting", lease: 0 };
  if (answer.written) return { state: "sent", answer: answer.answer, location: answer.location };
  return { state: "refused" };
}

function changed() {
  channel.postMessage("changed");
  return look();
}

function heard({ data }) {
  if (data === "there") isAway = false;
  look();
}

async function look() {
  const entries = await all("outbox").catch(() => []);
  show(entries, isAway);
  clearTimeout(timer);
  const isNeeded = isAway || entries.some((entry) => entry.state === "waiting");
  if (!isNeeded) tries = 0;
  else timer = setTimeout(again, WAITS_MS[Math.min(tries, WAITS_MS.length - 1)]);
}

function again() {
  tries += 1;
  round();
}

async function wakeUp() {
  if (document.visibilityState === "hidden") return;
  tries = 0;
  const entries = await all("outbox").catch(() => []);
  if (isAway || entries.some(isFree)) round();
}

// -- the page is not lost while the server is away ---------------------------------------------

async function goIfThere(go) {
  isAway = !(await isThere(board.dataset.probe));
  if (!isAway) return go();
  document.dispatchEvent(new CustomEvent("form:ready"));
  tell(board.querySelector("[data-outbox-away]").textContent);
  changed();
}

const isDoubtful = () => isAway || !navigator.onLine;

function submitted(event) {
  const [form, button] = [event.target, event.submitter];
  if (event.defaultPrevented) return;
  if (ours(form) && writes(button)) {
    event.preventDefault();
    if ("sending" in form.dataset) return;
    if ("kept" in form.dataset) return showItIsKept(form);
    form.dataset.sending = "";
    sendNow(form, button);
  } else if (isDoubtful()) {
    event.preventDefault();
    goIfThere(() => {
      document.dispatchEvent(new CustomEvent("form:ready"));
      submitPlainly(form, button);
    });
  }
}

const begun = (event) => delete event.target.closest("form")?.dataset.kept; // the next entry

function clicked(event) {
  const link = event.target.closest("a[href]");
  const isPlain = !event.defaultPrevented && event.button === 0 && !(event.ctrlKey || event.metaKey || event.shiftKey);
  if (!link || !isPlain || !isDoubtful() || link.target || link.hasAttribute("download")) return;
  if (link.origin !== window.location.origin || link.getAttribute("href").startsWith("#")) return;
  event.preventDefault();
  goIfThere(() => window.location.assign(link.href));
}

function shown(event) {
  if (event.persisted && document.querySelector("form[data-sent]")) window.location.reload(); // its key is used
  else wakeUp();
}

async function offline() {
  isAway = !(await isThere(board.dataset.probe)); // the house may be cut off while our server is there
  changed();
}

if (board) {
  // at the window, after every other part of the page has had its say
  window.addEventListener("submit", submitted);
  window.addEventListener("click", clicked);
  window.addEventListener("input", begun);
  window.addEventListener("pageshow", shown);
  window.addEventListener("online", wakeUp);
  window.addEventListener("offline", offline);
  window.addEventListener("focus", wakeUp);
  document.addEventListener("visibilitychange", wakeUp);
  document.addEventListener("outbox:send", () => round(true));
  document.addEventListener("outbox:changed", changed);
  channel.addEventListener("message", heard);
  look();
}
