/**
 * What the record will find in an entry, as far as this phone can see it coming: said before anybody signs, while it can still be put right.
 * The codes are those of the log's rules; the log looks at more than a phone can, and has the last word.
 */

import { say, word } from "../words.js";
import { contentsDiffer, memoryLeftIn, openedWhileSealed, secondDevice, stepOutOfOrder } from "./contents.js";
import { custodyGap, loneCustodian, notAssigned, notOnRegister, sameAffiliation, samePersonBothEnds } from "./people.js";
import { sealMismatch, sealNotIntact, sealOverSeal, sealReused, sealUnknown, sealUnread, unsealedTransit } from "./seals.js";

const RULES = [
  loneCustodian, samePersonBothEnds, sameAffiliation, custodyGap, notAssigned, notOnRegister,
  sealMismatch, sealNotIntact, sealUnread, unsealedTransit, sealOverSeal, sealReused, sealUnknown,
  contentsDiffer, openedWhileSealed, secondDevice, memoryLeftIn, stepOutOfOrder,
];

const SEVERITIES = ["critical", "warning", "notice"];

/**
 * @param {object} members of the entry, as they will be signed
 * @param {object} world before it
 * @returns {{rule: string, severity: string, words: string}[]} the gravest first
 */
export function foresee(members, world) {
  const found = RULES.flatMap((rule) => rule(members, world));
  return found.map((each) => ({ ...each, words: wordsOf(each) }))
    .sort((one, other) => SEVERITIES.indexOf(one.severity) - SEVERITIES.indexOf(other.severity));
}

function wordsOf({ rule, end, state, role, items, parameters }) {
  const at = end ? { end: say(`foresight.end-${end}`) } : {};
  const more = { ...at, ...(state ? { state: word(state) } : {}), ...(role ? { role: word(role) } : {}), ...(items ? { items: items.join(", ") } : {}) };
  return say(`foresight.${rule}`, { ...more, ...parameters });
}
