// Sentences that Python says too: templates of data/sentences.json by their keys, filled as sentences.py does.

const NAME = /\{([a-z_]+)\}/g;

/** A sentence: the template of a key, with each of its names, and no other, filled by a value. */
export function sayOf(templates, key, values = {}) {
  if (!Object.hasOwn(templates, key)) throw new Error(`there is no sentence ${key}`);
  const wanted = new Set([...templates[key].matchAll(NAME)].map((found) => found[1]));
  const given = Object.keys(values);
  if (given.length !== wanted.size || !given.every((name) => wanted.has(name))) {
    throw new Error(`the sentence ${key} needs ${[...wanted]}, not ${given}`);
  }
  return templates[key].replace(NAME, (_, name) => String(values[name]));
}

/** Which form of a counted word is meant. */
export const formOf = (count) => (count === 1 ? "one" : "other");
