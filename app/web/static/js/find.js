// Finding: "/" goes to the field, and the first results stand below it while somebody types.
// A combobox with a list box after the patterns of WAI-ARIA; the page works the same without it.

import { say, sayCount } from "./words.js";

const WAIT_MS = 160;
const BETWEEN_KEYS_MS = 60; // our judgement: slower than a scanner, quicker than fingers
const CODE_LENGTH = 5;
const fields = document.querySelectorAll("form[data-find]");

// A scanner that types like a keyboard: quick characters and Enter, wherever the page stands.
let typed = "";
let lastMs = 0;

function listen(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.closest("input:not([type=checkbox], [type=radio]), textarea, select")) return;
  if (event.timeStamp - lastMs > BETWEEN_KEYS_MS) typed = "";
  if (event.key === "Enter" && typed.length >= CODE_LENGTH) {
    event.preventDefault();
    const form = document.querySelector("form[data-find]"); // which may look for an entry's lot
    const asked = new URLSearchParams(form ? new FormData(form) : {});
    asked.set("q", typed);
    window.location.assign(`/find?${asked}`);
  } else if (event.key === "/" && typed === "") toField(event);
  else if (event.key.length === 1) {
    typed += event.key;
    lastMs = event.timeStamp;
  }
}

function toField(event) {
  event.preventDefault();
  const input = document.querySelector("form[data-find] input");
  if (input) {
    input.focus();
    input.select();
  } else document.querySelector("[data-find-link]")?.click();
}

function make(tag, attributes, text = "") {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.textContent = text;
  return element;
}

function enhance(form) {
  const input = form.querySelector("input[type=search]");
  const told = form.querySelector("[data-find-told]");
  const list = make("div", { id: `${input.id}-list`, class: "find-list", role: "listbox", "aria-label": say("Found") });
  const note = make("p", {});
  const below = make("div", { class: "find-below" });
  let options = [];
  let current = -1;
  let timer = 0;
  let asking = false; // one question at a time; what was typed meanwhile is asked next
  let shownFor = "";

  const set = { role: "combobox", "aria-expanded": "false", "aria-controls": list.id, "aria-autocomplete": "list" };
  for (const [name, value] of Object.entries(set)) input.setAttribute(name, value);
  below.append(note, list);
  below.hidden = true;
  input.after(below);

  function close() {
    below.hidden = true;
    input.setAttribute("aria-expanded", "false");
    point(-1);
  }

  function point(at) {
    options[current]?.setAttribute("aria-selected", "false");
    current = at;
    if (current < 0) return input.removeAttribute("aria-activedescendant");
    const option = options[current];
    option.setAttribute("aria-selected", "true");
    option.scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", option.id);
  }

  function optionOf(link) {
    const option = make("div", { role: "option", id: `${list.id}-${options.length}`, "aria-selected": "false" });
    option.dataset.href = link.href;
    option.append(make("strong", {}, link.text), make("span", { class: "soft" }, link.words));
    options.push(option);
    return option;
  }

  function groupOf(group, number) {
    const title = make("div", { class: "of", id: `${list.id}-of-${number}`, role: "presentation" }, group.title);
    const whole = make("div", { role: "group", "aria-labelledby": title.id });
    whole.append(title, ...group.links.map(optionOf));
    return whole;
  }

  function show(answer) {
    point(-1);
    options = [];
    list.replaceChildren(...answer.groups.map(groupOf));
    const any = options.length > 0;
    below.hidden = list.hidden = !any;
    input.setAttribute("aria-expanded", String(any));
    const count = any ? sayCount("{number} found below the field.", "{number} found below the field.", options.length) : say("Nothing found yet.");
    note.textContent = answer.said;
    note.hidden = !answer.said;
    told.textContent = [answer.said, count].join(" ").trim();
  }

  async function ask() {
    const text = input.value.trim();
    if (asking || text === shownFor) return;
    if (text.length < 2) {
      shownFor = text;
      return close();
    }
    asking = true;
    try {
      const answer = await fetch(`/find.json?${new URLSearchParams(new FormData(form))}`);
      shownFor = text;
      if (answer.ok && document.activeElement === input) show(await answer.json());
    } catch {
      close(); // the button finds as well, once the server answers
      shownFor = text;
    } finally {
      asking = false;
    }
    if (input.value.trim() !== shownFor) ask();
  }

  function onKey(event) {
    const open = !below.hidden;
    if (event.key === "Escape" && open) {
      event.preventDefault(); // the first press closes the list, the second empties the field
      close();
    } else if (event.key === "ArrowDown" && open) {
      event.preventDefault();
      point((current + 1) % options.length);
    } else if (event.key === "ArrowUp" && open) {
      event.preventDefault();
      point(current <= 0 ? options.length - 1 : current - 1);
    } else if (event.key === "Enter" && open && current >= 0) {
      event.preventDefault();
      window.location.assign(options[current].dataset.href);
    } else if (event.key === "Tab") close();
  }

  input.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, WAIT_MS);
  });
  input.addEventListener("keydown", onKey);
  input.addEventListener("blur", close);
  // before the field loses the focus, which would close the list under the finger
  below.addEventListener("pointerdown", (event) => event.preventDefault());
  list.addEventListener("click", (event) => {
    const option = event.target.closest("[role=option]");
    if (option) window.location.assign(option.dataset.href);
  });
  form.addEventListener("submit", () => clearTimeout(timer));
}

document.addEventListener("keydown", listen);
for (const form of fields) enhance(form);
