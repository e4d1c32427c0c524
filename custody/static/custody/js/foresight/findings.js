/**
 * What the record will find in an entry, as far as this phone can see it coming: said before anybody signs, while it can still be put right.
 * The codes are those of the log's rules; the log looks at more than a phone can, and has the last word.
 */

import { say, word } from "../words.js";
import { amendedByOthers } from "./amending.js";
import { contentsDiffer, memoryLeftIn, openedWhileSealed, secondDevice, stepOutOfOrder } from "./contents.js";
import { custodyGap, loneCustodian, notAssigned, notOnRegister, sameAffiliation, samePersonBothEnds } from "./people.js";
import { sealMismatch, sealNotIntact, sealOverSeal, sealReused, sealUnknown, sealUnread, unsealedTransit } from "./seals.js";

const RULES = [
  loneCustodian, samePersonBothEnds, sameAffiliation, custodyGap, notAssigned, notOnRegister,
  sealMismatch, sealNotIntact, sealUnread, unsealedTransit, sealOverSeal, sealReused, sealUnknown,
  contentsDiffer, openedWhileSealed, secondDevice, memoryLeftIn, stepOutOfOrder, amendedByOthers,
];

const SEVERITIES = ["critical", "warning", "notice"];

/**
 * @param {object} members of the entry, as they will be signed
 * @param {object} world before it
 * @param {{members: object, signers: string[]} | null} [target] of an amendment: the entry that it is about, where the record was asked
 * @returns {{rule: string, severity: string, words: string}[]} the gravest first
 */
export function foresee(members, world, target = null) {
  const found = RULES.flatMap((rule) => rule(members, world, target));
  return found.map((each) => ({ ...each, words: wordsOf(each) }))
    .sort((one, other) => SEVERITIES.indexOf(one.severity) - SEVERITIES.indexOf(other.severity));
}

function wordsOf({ rule, variant, end, state, role, items, parameters }) {
  const at = end ? { end: say(`foresight.end-${end}`) } : {};
  const more = { ...at, ...(state ? { state: word(state) } : {}), ...(role ? { role: word(role) } : {}), ...(items ? { items: items.join(", ") } : {}) };
  return say(variant ? `foresight.${rule}-${variant}` : `foresight.${rule}`, { ...more, ...parameters });
}
