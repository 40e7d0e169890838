// Questions that only some foods bring stand open for those foods and are out of the way for others.
// Until a food of the list is chosen they stay as the server sent them.

const food = document.getElementById("food");

function fit() {
  const code = /\((\d{5})\)\s*$/.exec(food.value)?.[1];
  if (!code) return;
  for (const part of document.querySelectorAll("[data-for-foods]")) {
    const fits = part.dataset.forFoods.split(" ").includes(code);
    part.hidden = !fits;
    if (fits && part.tagName === "DETAILS") part.open = true;
  }
}

food.addEventListener("input", fit);
fit();
