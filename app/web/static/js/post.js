// Sends an entry, and asks whether the server is there.
// An answer without our header comes from something in between, so it is none.

const PATIENCE_MS = 20_000; // a writer waits 5 s for another, then thousands of windows are worked out
const QUICK_MS = 4_000;

export const LEASE_MS = PATIENCE_MS + 5_000;

async function within(span, ask) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), span);
  try {
    return await ask(stop.signal);
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}

// How: "now" or "later", as app/web/outbox.py takes it.
// Returns where the server leads and whether it is written, the status of a page, or null: no answer.
export const send = (entry, how) =>
  within(PATIENCE_MS, async (signal) => {
    const answer = await fetch(entry.action, {
      method: "POST",
      body: new URLSearchParams(entry.body),
      headers: { "X-Stillroom-Sent": how },
      signal,
    });
    const kind = answer.headers.get("X-Stillroom-Answer");
    if (kind === "told") return await answer.json();
    return kind === "page" ? { status: answer.status } : null;
  });

export const isThere = (address) =>
  within(QUICK_MS, async (signal) => (await fetch(address, { method: "HEAD", cache: "no-store", signal })).ok);

// As the browser sends a form, without asking the scripts of the page. The button counts at this time only.
export function submitPlainly(form, button) {
  const box = Object.assign(document.createElement("input"), { type: "hidden", name: button?.name ?? "", value: button?.value ?? "" });
  form.append(box);
  HTMLFormElement.prototype.submit.call(form); // a box without a name is not sent
  box.remove();
}

export function formOf(entry) {
  const form = document.createElement("form");
  form.method = "post";
  form.action = entry.action;
  for (const [name, value] of new URLSearchParams(entry.body)) {
    const box = document.createElement("input");
    Object.assign(box, { type: "hidden", name, value });
    form.append(box);
  }
  form.hidden = true;
  document.body.append(form);
  return form;
}

export function goTo(location) {
  const to = new URL(location, document.baseURI);
  const here = window.location;
  if (to.hash && to.pathname + to.search === here.pathname + here.search) {
    window.history.replaceState(null, "", to); // a hash alone would only scroll
    here.reload();
  } else here.assign(to);
}
