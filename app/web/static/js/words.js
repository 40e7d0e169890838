// The words of scripts in the reader's language: the page carries them where it is not English.

const kept = document.getElementById("script-words");
const words = kept ? JSON.parse(kept.textContent) : {};

const filled = (text, values) => text.replace(/\{(\w+)\}/g, (hole, name) => values[name] ?? hole);

export function say(text, values = {}) {
  return filled(words[text] ?? text, values);
}

export function sayCount(one, many, number, values = {}) {
  const text = number === 1 ? (words[one] ?? one) : (words[many] ?? many);
  return filled(text, { number, ...values });
}
