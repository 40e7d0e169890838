// What gets the focus is brought clear of the dock. A browser by itself only looks at the window's
// edge when it puts the caret into a box, and would leave the box behind the dock.

document.addEventListener("focusin", (event) => {
  const target = event.target;
  if (target.closest("main") && target.id !== "content" && target.matches(":focus-visible")) {
    target.scrollIntoView({ block: "nearest" });
  }
});
