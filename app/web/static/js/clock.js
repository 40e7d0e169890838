// The clocks of a page go on by the server's time, whatever the tablet's own clock says: the page
// tells the instant it was made, and from there only the time that passed is counted.
// Figures change in their place; nothing moves, nothing is announced.

const board = document.querySelector("[data-now]");
const made = board ? Date.parse(board.dataset.now) : 0;
const opened = Date.now();
const MINUTE = 60_000;
const DAYS_FROM_HOURS = 48;

export function spanWords(ms) {
  const minutes = Math.max(0, Math.floor(ms / MINUTE));
  const [hours, rest] = [Math.floor(minutes / 60), minutes % 60];
  if (hours >= DAYS_FROM_HOURS) return `${Math.floor(hours / 24)} d ${hours % 24} h`;
  return hours ? `${hours} h ${String(rest).padStart(2, "0")} min` : `${rest} min`;
}

function show(clock, now) {
  const figure = clock.querySelector("[data-span]");
  const { since, until } = clock.dataset;
  const left = until ? Date.parse(until) - now : Date.parse(since) - now;
  const isOver = Boolean(until) && left <= 0;
  clock.classList.toggle("over", isOver);
  const pattern = isOver ? figure.dataset.over : figure.dataset.span;
  const words = pattern.replace("{span}", spanWords(Math.abs(left)));
  if (figure.textContent !== words) figure.textContent = words;
}

function tick() {
  const now = made + (Date.now() - opened);
  for (const clock of board.querySelectorAll("[data-since], [data-until]")) show(clock, now);
}

if (board) {
  setInterval(tick, MINUTE / 4);
  document.addEventListener("visibilitychange", tick);
  window.addEventListener("pageshow", tick);
}
