// How a page says its words: in its language, with its decimal sign and its clock.

// How the page's language writes a number; any other text stays as it is.
const ENGLISH = "en-GB"; // times by the 24-hour clock, as the page around a control writes them
// Every control of a page speaks one language.
export const speech = { locale: ENGLISH, decimal: "." };

/** @param {import("./types.js").Words} words */
export function speak({ lang, decimal = "." }) {
  Object.assign(speech, { locale: lang && lang !== "en" ? lang : ENGLISH, decimal });
}

/** @param {unknown} value */
export function numeral(value) {
  const text = String(value);
  return /^[-+\u2212]?\d+\.\d+$/.test(text) ? text.replace(".", speech.decimal) : text;
}

/**
 * A text with its gaps, as {count}, filled in.
 *
 * @param {string} text
 * @param {Record<string, unknown>} values
 */
export function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (_, name) => numeral(values[name] ?? ""));
}

/** @param {string} at a moment as the kernel writes it */
export function clock(at) {
  const time = new Date(at);
  if (Number.isNaN(time.valueOf())) return at;
  return time.toLocaleTimeString(speech.locale, { timeStyle: "short" });
}
