// The browser's own database: drafts of forms, and entries that wait for the server.
// It writes at once. What localStorage holds a browser may write many seconds later, and a browser
// that is killed in between loses it.

const NAME = "stillroom";
const PATIENCE_MS = 3_000; // a store that does not open by then is taken for none
const SHELVES = ["drafts", "outbox"];
let opening = null;

function open() {
  opening ??= new Promise((done, fail) => {
    const asked = window.indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      for (const shelf of SHELVES) asked.result.createObjectStore(shelf, { keyPath: "id" });
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
    setTimeout(fail, PATIENCE_MS, new Error("the store does not open"));
  });
  return opening;
}

// All of the work or nothing of it; what the work returns is asked for its result at the end.
async function transact(mode, work) {
  const base = await open();
  return new Promise((done, fail) => {
    const transaction = base.transaction(SHELVES, mode, { durability: mode === "readwrite" ? "strict" : "default" });
    const answer = work((shelf) => transaction.objectStore(shelf));
    transaction.oncomplete = () => done(answer?.result);
    transaction.onabort = () => fail(transaction.error);
  });
}

export const get = (shelf, id) => transact("readonly", (at) => at(shelf).get(id));
export const all = (shelf) => transact("readonly", (at) => at(shelf).getAll());

// change(["outbox", "put", entry], ["drafts", "delete", id]): together or not at all
export const change = (...steps) =>
  transact("readwrite", (at) => {
    for (const [shelf, what, value] of steps) at(shelf)[what](value);
  });

// Write a record anew from what it is now; "how" returns null to leave it. Other pages wait meanwhile.
export const alter = (shelf, id, how) =>
  transact("readwrite", (at) => {
    const answer = { result: null };
    const asked = at(shelf).get(id);
    asked.onsuccess = () => {
      answer.result = asked.result ? how(asked.result) : null;
      if (answer.result) at(shelf).put(answer.result);
    };
    return answer;
  });

// What is to be done for an entry that the ledger did not take: its text is a draft again.
export const backToDraft = (entry) => [
  ["outbox", "delete", entry.id],
  ...(entry.draft ? [["drafts", "put", entry.draft]] : []),
];
