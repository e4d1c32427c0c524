/** Item codes as they stand on labels: two letters for the kind, five characters, a check character. Read forgivingly, then checked. */

/** Crockford's base 32, in the order of their values. */
export const SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

const CHECK_SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";
const KINDS = new Set(["BC", "TC", "MD", "RT", "BS", "SC", "PB", "KS", "EN", "SK"]);
const LENGTH = 8;

/** What was typed is no item code. `code`: `not-code` (not the form of one) or `bad-check` (a slip of the hand). */
export class LabelError extends Error {
  constructor(code, text) {
    super(`${text}: ${code}`);
    this.code = code;
  }
}

/**
 * The ISO 7064 MOD 37-2 check character of digits and capital letters; may be `*`. With it appended, the sum of each
 * character's value times 2 to the power of its place from the right leaves 1 when divided by 37.
 */
export function checkCharacter(text) {
  let total = 0;
  for (const symbol of text) {
    const value = CHECK_SYMBOLS.indexOf(symbol);
    if (value < 0 || value === 36) throw new RangeError(`no check character for ${text}`);
    total = ((total + value) * 2) % 37;
  }
  return CHECK_SYMBOLS[(38 - total) % 37];
}

/** Case, spaces and hyphens do not count; I and L are 1, O is 0. */
export function forgive(text) {
  return text.toUpperCase().replace(/[\s-]/g, "").replace(/[IL]/g, "1").replace(/O/g, "0");
}

/** The code that somebody meant. Throws `LabelError`; nothing is put right beyond `forgive`: a near miss is asked about. */
export function readCode(text) {
  const code = forgive(text);
  const formed = code.length === LENGTH && KINDS.has(code.slice(0, 2)) && Array.from(code).every((symbol) => SYMBOLS.includes(symbol));
  if (!formed) throw new LabelError("not-code", text);
  if (checkCharacter(code.slice(0, -1)) !== code.at(-1)) throw new LabelError("bad-check", text);
  return code;
}
