/**
 * PINs: at least 6 digits, and none that many people would choose. NIST SP 800-63B asks for at least six and for a list of
 * common ones to be refused; which patterns count as common is our choice, from memory.
 */

const LEAST = 6;
const MOST = 64;
// Ways over a telephone's keys: columns and rows, up, down, to and fro.
const KEYPAD = ["147258369", "369258147", "963852741", "741852963", "123654789", "789456123", "987456321", "321456987", "159357", "357159", "147896", "258046", "145236", "102030", "112233", "123321", "131313", "520131", "696969", "007007"];

/** What is wrong with a PIN, or `null`: `not-digits`, `short`, `long` or `common`. */
export function pinFault(pin) {
  if (!/^\d*$/.test(pin)) return "not-digits";
  if (pin.length < LEAST) return "short";
  if (pin.length > MOST) return "long";
  return isCommon(pin) ? "common" : null;
}

function isCommon(pin) {
  const few = new Set(pin).size <= 2;
  const repeated = /^(\d{1,3})\1+$/.test(pin);
  const pairs = /^(?:(\d)\1)+$/.test(pin);
  const mirrored = pin.length === LEAST && pin === Array.from(pin).reverse().join("");
  const keypad = KEYPAD.some((way) => way.includes(pin) || pin.includes(way));
  return few || repeated || pairs || mirrored || keypad || runs(pin) || isDate(pin);
}

/** Steps of one size all the way, up or down, 9 going on with 0. */
function runs(pin) {
  const steps = Array.from(pin.slice(1), (digit, place) => (Number(digit) - Number(pin[place]) + 10) % 10);
  return new Set(steps).size === 1;
}

/** A day as people write it, in six digits or eight, in any order of day, month and year. */
function isDate(pin) {
  const [two, four] = [/^\d\d$/, /^(19|20)\d\d$/];
  const orders = pin.length === 6 ? [[0, 2, 4]] : pin.length === 8 ? [[0, 2, 4], [4, 6, 0]] : [];
  return orders.some(([one, other, year]) => {
    const parts = [pin.slice(one, one + 2), pin.slice(other, other + 2)];
    const rest = pin.length === 6 ? pin.slice(year) : pin.slice(year, year + 4);
    const dated = [parts, parts.toReversed()].some(([day, month]) => isBetween(day, 31) && isBetween(month, 12));
    const leading = pin.length === 6 && isBetween(pin.slice(2, 4), 12) && isBetween(pin.slice(4), 31);
    return leading || (dated && (pin.length === 6 ? two : four).test(rest));
  });
}

function isBetween(text, most) {
  return Number(text) >= 1 && Number(text) <= most;
}
