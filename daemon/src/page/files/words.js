// The page's words, as the daemon puts them in here: in the language and with the decimal sign of its configuration.

const WORDS = {{words}};
const POINT = {{point}};

// What the language says for a key, with the values that it has places for.
export function word(key, values = {}) {
  return (WORDS[key] ?? key).replace(/\{([a-z_]+)\}/g, (_, name) => values[name] ?? "");
}

// A number that was written with a point.
export const decimal = (text) => String(text).replace(".", POINT);
