// Typed masses, as far as a page needs them to show a running total. The ledger reads them for itself.

const GRAMS = { g: 1, kg: 1000, oz: 28.349523125, lb: 453.59237 };
const PART = /^(\d+(?:[.,]\d+)?)?\s*(?:(\d+)\s*\/\s*(\d+))?\s*(kg|g|lb|oz)?\s*/i;
const SIGNS = { "¼": " 1/4", "½": " 1/2", "¾": " 3/4" };

function part(text, unit) {
  const found = PART.exec(text);
  const [whole, above, below] = [found[1], found[2], found[3]];
  if (whole === undefined && above === undefined) return null;
  if (below !== undefined && Number(below) === 0) return null;
  const number = Number((whole ?? "0").replace(",", ".")) + (above ? above / below : 0);
  return { grams: number * GRAMS[(found[4] ?? unit).toLowerCase()], length: found[0].length };
}

// "4 lb 6 1/2 oz" to grams; null when it cannot be read, 0 when nothing is typed
export function grams(text, unit) {
  let rest = text.trim().replace(/[¼½¾]/g, (sign) => SIGNS[sign]);
  let sum = 0;
  while (rest) {
    const next = part(rest, unit);
    if (next === null || next.length === 0) return null;
    sum += next.grams;
    rest = rest.slice(next.length);
  }
  return sum;
}

export function inGrams(mass) {
  return mass.toFixed(Number.isInteger(mass) ? 0 : 1).replace(/\B(?=(\d{3})+(?!\d)(?=\.|$))/g, "\u202f");
}

export function inUnit(mass, unit) {
  if (unit === "g") return inGrams(mass);
  return (mass / GRAMS[unit]).toFixed({ kg: 3, oz: 1, lb: 2 }[unit]);
}

export function inKilograms(mass) {
  return (mass / 1000).toFixed(3) + " kg";
}

export function inPounds(mass) {
  const tenths = Math.round((mass / GRAMS.oz) * 10);
  const pounds = Math.floor(tenths / 160);
  return `${pounds} lb ${((tenths - pounds * 160) / 10).toFixed(1)} oz`;
}
