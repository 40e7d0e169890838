// The number pad: types into the field that has the focus, docked in the same spot.
// While it is open the tablet's own keyboard stays away (inputmode none); a real keyboard works as ever.

const board = document.querySelector("[data-pad-board]");
const showButton = document.querySelector("[data-pad-show]");
const boxes = () => [...document.querySelectorAll("input[data-pad]")];
const UNIT_AT_END = /\s*(kg|g|lb|oz|°C|°F)\s*$/;
const MEMORY = "stillroom.pad";
let current = null;

function remembered() {
  try {
    return window.localStorage.getItem(MEMORY);
  } catch {
    return null;
  }
}

function remember(choice) {
  try {
    window.localStorage.setItem(MEMORY, choice);
  } catch {
    // the choice holds for this page only
  }
}

let wanted = (remembered() ?? (window.matchMedia("(any-pointer: coarse)").matches ? "open" : "hidden")) === "open";

function echo() {
  if (!current) return;
  const name = current.getAttribute("aria-label") ?? current.labels?.[0]?.textContent ?? "";
  board.querySelector("[data-pad-name]").textContent = name.trim();
  const unit = current.dataset.unit ?? current.closest("[data-unit]")?.dataset.unit ?? "";
  const bare = current.value && !UNIT_AT_END.test(current.value) && current.dataset.pad === "mass";
  board.querySelector("[data-pad-value]").textContent = current.value + (bare ? ` ${unit}` : "");
}

function arrange() {
  for (const box of boxes()) box.inputMode = wanted ? "none" : "decimal";
  board.hidden = !(wanted && current);
  showButton.hidden = wanted || boxes().length === 0;
  if (!current) return;
  for (const key of board.querySelectorAll("[data-for]")) key.hidden = key.dataset.for !== current.dataset.pad;
  board.dataset.kind = current.dataset.pad;
  echo();
}

function type(text) {
  const [from, to] = [current.selectionStart, current.selectionEnd];
  const space = /^[\d.]/.test(text) && UNIT_AT_END.test(current.value.slice(0, from)) ? " " : "";
  current.setRangeText(space + text, from, to, "end");
}

function takeBack() {
  const [from, to] = [current.selectionStart, current.selectionEnd];
  current.setRangeText("", from === to ? Math.max(0, from - 1) : from, to, "end");
}

function setUnit(unit) {
  const number = current.value.replace(UNIT_AT_END, "");
  current.value = number ? `${number} ${unit}` : "";
}

function next() {
  const all = boxes();
  const after = all.slice(all.indexOf(current) + 1);
  const aim = after.find((box) => !box.value && box.form === current.form);
  const button = current.form && document.querySelector(`button.main[form="${current.form.id}"]`);
  (aim ?? button ?? after[0])?.focus();
}

function press(key) {
  if (key.dataset.key === "next") return next();
  if (key.dataset.key === "back") takeBack();
  else if (key.dataset.unitKey) setUnit(key.dataset.unitKey);
  else if (key.dataset.fraction) type((current.value ? " " : "") + key.dataset.fraction);
  else type(key.dataset.key);
  current.dispatchEvent(new Event("input", { bubbles: true }));
}

function enter(event) {
  if (event.key !== "Enter" || !event.target.matches("input[data-pad]")) return;
  event.preventDefault(); // Enter goes on to the next number, it never sends half an entry
  current = event.target;
  next();
}

function follow(event) {
  const box = event.target;
  if (box.matches("input[data-pad]")) current = box;
  else if (box.matches("[type=checkbox], [type=radio]")) return; // as below: else the tap would miss it
  else if (box.matches("input, select, textarea")) current = null;
  else return; // a button in between leaves the pad where it is, so that nothing moves under the finger
  arrange();
  if (current) current.scrollIntoView({ block: "nearest" });
}

function choose(open) {
  wanted = open;
  remember(open ? "open" : "hidden");
  if (open && !current) current = boxes()[0] ?? null;
  arrange();
  current?.focus();
}

if (board && boxes().length) {
  board.addEventListener("pointerdown", (event) => event.preventDefault());
  board.addEventListener("click", (event) => {
    const key = event.target.closest(".key");
    if (key && current) press(key);
  });
  board.querySelector("[data-pad-hide]").addEventListener("click", () => choose(false));
  showButton.addEventListener("click", () => choose(true));
  document.addEventListener("focusin", follow);
  document.addEventListener("keydown", enter);
  document.addEventListener("input", echo);
  // somebody was quicker than this script
  if (document.activeElement?.matches("input[data-pad]")) current = document.activeElement;
  arrange();
}
