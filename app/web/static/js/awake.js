// Keeps the screen on while a run is watched or food is weighed, for those who want it.
// The browser lets go of the screen when the page is hidden; it is asked again when the page is seen.

import { say } from "./words.js";

const MEMORY = "stillroom.awake";
const board = document.querySelector("[data-awake]");
const box = board.querySelector("input");
let lock = null;
let isAsking = false;

function remembered() {
  try {
    return window.localStorage.getItem(MEMORY) === "on";
  } catch {
    return false;
  }
}

function remember() {
  try {
    window.localStorage.setItem(MEMORY, box.checked ? "on" : "off");
  } catch {
    // the choice holds for this page only
  }
}

async function ask() {
  if (!box.checked || lock || isAsking || document.visibilityState === "hidden") return;
  isAsking = true;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => {
      lock = null;
    });
    tell("");
  } catch {
    tell(say("The browser does not allow it now, perhaps to save the battery."));
  } finally {
    isAsking = false;
  }
  if (!box.checked) lock?.release(); // somebody was quicker
}

function tell(words) {
  board.querySelector("[aria-live]").textContent = words;
}

if ("wakeLock" in navigator) {
  box.checked = remembered();
  board.hidden = false;
  box.addEventListener("change", () => {
    remember();
    tell("");
    if (box.checked) ask();
    else lock?.release();
  });
  document.addEventListener("visibilitychange", ask);
  ask();
} else if (!window.isSecureContext) {
  document.querySelector("[data-may-sleep]").hidden = false;
}
