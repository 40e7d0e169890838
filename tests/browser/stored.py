"""What a browser keeps of ours: asked of its own database, as the pages write it."""

from playwright.sync_api import Page

_COUNT = """([shelf, number]) => new Promise((done, fail) => {
  const asked = indexedDB.open("stillroom", 1);
  asked.onerror = () => fail(asked.error);
  asked.onupgradeneeded = () => {
    for (const name of ["drafts", "outbox"]) {
      asked.result.createObjectStore(name, { keyPath: "id" });
    }
  };
  asked.onsuccess = () => {
    const base = asked.result;
    const count = base.transaction([shelf]).objectStore(shelf).count();
    count.onsuccess = () => { base.close(); done(count.result === number); };
  };
})"""


def keeps(page: Page, shelf: str, number: int) -> None:
    """Wait until there are so many of "drafts" or "outbox"."""
    page.wait_for_function(_COUNT, arg=[shelf, number])
