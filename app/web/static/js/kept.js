// Shows what is kept on this tablet: what waits, what was not taken, and what the ledger said.

import { when } from "./moment.js";
import { formOf, goTo, isThere, send, submitPlainly } from "./post.js";
import { backToDraft, change } from "./store.js";
import { say, sayCount } from "./words.js";

const board = document.querySelector("[data-outbox]");
const part = (name) => board.querySelector(`[data-outbox-${name}]`);
const copy = (name) => part(name).content.firstElementChild.cloneNode(true);

const changed = () => document.dispatchEvent(new CustomEvent("outbox:changed"));
const drop = (entry) => change(["outbox", "delete", entry.id]).then(changed);

// For a screen reader; the text of markup, since the board shows the rest.
export function tell(markup) {
  const reader = new DOMParser().parseFromString(markup, "text/html");
  document.querySelector("[data-outbox-told]").textContent = reader.querySelector("p")?.textContent ?? markup.trim();
}

function line(waiting, refused) {
  if (refused) return sayCount("An entry was not taken: open it to see why.", "{number} entries were not taken: open them to see why.", refused);
  return sayCount(
    "Not saved yet: kept on this tablet, sent when the kitchen's server answers.",
    "{number} entries not saved yet: kept on this tablet, sent when the kitchen's server answers.",
    waiting,
  );
}

// The server's own page shows what was typed and its messages beside it; by now it may take the entry.
async function open(entry) {
  const answer = await send(entry, "now");
  if (answer === null) return tell(part("away").textContent);
  if (answer.location && !answer.written && !entry.draft) return goTo(answer.location); // to pair first, say
  await change(...(answer.written ? [["outbox", "delete", entry.id]] : backToDraft(entry)));
  if (answer.location) goTo(answer.location);
  else submitPlainly(formOf(entry));
}

async function takeBack(entry, form) {
  if (!(await isThere(board.dataset.probe))) return tell(part("away").textContent);
  await change(["outbox", "delete", entry.id]);
  submitPlainly(form);
}

function row(entry) {
  const one = copy("row");
  const find = (name) => one.querySelector(`[data-${name}]`);
  one.dataset.id = entry.id;
  find("title").textContent = entry.title;
  find("at").textContent = when(entry.at);
  find("words").textContent = entry.words.join("; ");
  find("open").hidden = entry.state !== "refused";
  find("refused").hidden = entry.state !== "refused";
  find("open").addEventListener("click", () => open(entry));
  const ask = (isAsked) => {
    find("question").hidden = !isAsked;
    find("buttons").hidden = isAsked;
    find(isAsked ? "no" : "throw").focus();
  };
  find("throw").addEventListener("click", () => ask(true));
  find("no").addEventListener("click", () => ask(false));
  find("yes").addEventListener("click", () => drop(entry));
  return one;
}

function answer(entry) {
  const one = copy("sent");
  one.dataset.id = entry.id;
  const said = one.querySelector("[data-said]");
  said.innerHTML = entry.answer; // the server's own markup, made by macros/flash.html
  for (const flash of said.querySelectorAll(".flash")) flash.removeAttribute("role"); // told once, not on every page
  one.querySelector("[data-of]").textContent = `${entry.title} · ${when(entry.at)}`;
  one.querySelector("[data-see]").href = entry.location;
  one.querySelector("[data-close]").addEventListener("click", () => drop(entry));
  one.addEventListener("submit", (event) => {
    event.preventDefault();
    takeBack(entry, event.target);
  });
  return one;
}

// Rows that are there stay, so that a question that is open is not taken away.
function fill(list, entries, make) {
  const kept = new Map([...list.children].map((one) => [`${one.dataset.id} ${one.dataset.state}`, one]));
  const rows = entries.map((entry) => {
    const found = kept.get(`${entry.id} ${entry.state}`) ?? make(entry);
    found.dataset.state = entry.state;
    return found;
  });
  if (rows.length !== list.children.length || rows.some((one, n) => one !== list.children[n])) list.replaceChildren(...rows);
}

export function show(entries, isAway) {
  const inOrder = entries.toSorted?.((one, other) => one.at - other.at) ?? entries;
  const sent = inOrder.filter((entry) => entry.state === "sent");
  const open = inOrder.filter((entry) => entry.state !== "sent");
  const refused = open.filter((entry) => entry.state === "refused").length;
  fill(part("answers"), sent, answer);
  fill(part("list"), open, row);
  const said = open.length ? line(open.length - refused, refused) : "";
  if (part("line").textContent !== said) {
    part("line").textContent = said;
    if (said) tell(said);
  }
  part("fold").hidden = !open.length;
  part("send").hidden = open.length === refused;
  part("away").hidden = !isAway || open.length > 0;
  board.hidden = !entries.length && !isAway;
}

if (board) part("send").addEventListener("click", () => document.dispatchEvent(new CustomEvent("outbox:send")));
