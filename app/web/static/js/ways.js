// What can be done about a line is worked out when its fold is opened, and shown in the fold. Without
// this script, or without the server, the link in the fold leads to the page that says the same.

const shown = new WeakSet();

async function show(fold) {
  const link = fold.querySelector(".ways-link a");
  if (!link || shown.has(fold)) return;
  shown.add(fold);
  fold.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(link.href);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const ways = page.getElementById("ways");
    if (answer.ok && ways) {
      ways.removeAttribute("id"); // there may be several on this page
      link.closest(".ways-link").replaceWith(document.adoptNode(ways));
    }
  } catch {
    shown.delete(fold); // the link stays, and the next opening asks again
  } finally {
    fold.removeAttribute("aria-busy");
  }
}

for (const fold of document.querySelectorAll("details.why")) {
  fold.addEventListener("toggle", () => fold.open && show(fold));
}
