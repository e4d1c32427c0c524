/** The words of the scripts, in the language that the page was asked for. */

import words from "/at-work/words.js";

const plurals = new Intl.PluralRules(document.documentElement.lang || "en");

/**
 * What stands under an id, with `{name}` filled in. Where the id has a form for one and for many (`x.one`, `x.other`), `count` chooses.
 * @param {string} id
 * @param {Record<string, string | number>} [parameters]
 */
export function say(id, parameters = {}) {
  const text = words[id] ?? words[`${id}.${plurals.select(Number(parameters.count))}`] ?? words[`${id}.other`];
  if (text === undefined) throw new Error(`no words under ${id}`);
  return text.replace(/\{(\w+)\}/g, (_, name) => String(parameters[name]));
}

/** A word of the record (a role, a kind, a purpose, a step) in words for people; what is no such word, as it is. */
export function word(value) {
  return words[`word.${value}`] ?? String(value);
}

/** The same at the beginning of a line. */
export function heading(value) {
  const text = word(value);
  return text.charAt(0).toLocaleUpperCase() + text.slice(1);
}
