// A weighing in bowls: nets, running total, saved bowls, and a new row when the last one is used.

import { say, sayCount } from "./words.js";
import { grams, inKilograms, inPounds, inUnit } from "./mass.js";

const MOST_ROWS = 60;
const part = (row, name) => row.querySelector(`[data-tally-part="${name}"]`);
const rows = (tally) => [...tally.querySelectorAll(".tally-row")];

function net(row, unit) {
  const [gross, tare] = ["gross", "tare"].map((name) => grams(part(row, name).value, unit));
  if (gross === null || tare === null) return { words: say("cannot be read") };
  if (!part(row, "gross").value.trim()) return { words: "" };
  if (tare > gross) return { words: say("tare above gross") };
  return { words: inUnit(gross - tare, unit), mass: gross - tare };
}

function show(tally) {
  const unit = tally.dataset.unit;
  const nets = rows(tally).map((row) => {
    const one = net(row, unit);
    const place = row.querySelector("[data-tally-net]");
    place.textContent = one.words;
    place.classList.toggle("odd", one.mass === undefined && one.words !== "");
    return one.mass;
  });
  const known = nets.filter((mass) => mass !== undefined);
  const sum = known.reduce((total, mass) => total + mass, 0);
  tally.querySelector("[data-tally-total]").hidden = known.length === 0;
  tally.querySelector("[data-tally-count]").textContent = sayCount("{number} bowl", "{number} bowls", known.length);
  tally.querySelector("[data-tally-kg]").textContent = inKilograms(sum);
  tally.querySelector("[data-tally-lb]").textContent = inPounds(sum);
}

function addRow(tally) {
  const all = rows(tally);
  const row = all.at(-1).cloneNode(true);
  const number = all.length + 1;
  row.querySelector(".error")?.remove();
  row.querySelector(".tally-number").textContent = number;
  for (const box of row.querySelectorAll("input")) {
    const index = (text) => text.replace(/-(\d+)-(\w+)$/, (_, old, name) => `-${Number(old) + 1}-${name}`);
    box.name = index(box.name);
    box.id = index(box.id);
    box.setAttribute("aria-label", say("Bowl {number}, {part}", { number, part: say(box.dataset.tallyPart) }));
    box.removeAttribute("aria-invalid");
    box.removeAttribute("aria-describedby");
    box.value = "";
  }
  tally.querySelector(".tally-rows").append(row);
  return row;
}

function keepOneEmpty(tally) {
  if (part(rows(tally).at(-1), "gross").value.trim()) addRow(tally);
}

function takeBowl(tally, button) {
  const isFree = (row) => !part(row, "gross").value.trim();
  const current = rows(tally).find((row) => row === tally.currentRow && isFree(row));
  const row = current ?? rows(tally).find(isFree) ?? addRow(tally);
  part(row, "bowl").value = button.dataset.bowl;
  part(row, "tare").value = button.dataset.tare;
  part(row, "gross").focus();
  part(row, "tare").dispatchEvent(new Event("input", { bubbles: true }));
}

function attend(tally) {
  const bowls = tally.querySelector("[data-tally-bowls]");
  if (bowls) bowls.hidden = false;
  tally.addEventListener("focusin", (event) => {
    tally.currentRow = event.target.closest(".tally-row") ?? tally.currentRow;
  });
  tally.addEventListener("click", (event) => {
    const button = event.target.closest("[data-bowl]");
    if (button) takeBowl(tally, button);
    if (event.target.closest("[data-tally-add]")) {
      event.preventDefault();
      part(addRow(tally), "gross").focus();
    }
  });
  tally.addEventListener("input", () => {
    keepOneEmpty(tally);
    show(tally);
  });
  tally.closest("form")?.addEventListener("draft:rows", (event) => {
    const isMissing = (name) => name.startsWith(tally.id + "-") && !document.getElementsByName(name).length;
    while (event.detail.some(isMissing) && rows(tally).length < MOST_ROWS) addRow(tally);
    queueMicrotask(() => show(tally));
  });
  show(tally);
}

document.querySelectorAll("[data-tally]").forEach(attend);
