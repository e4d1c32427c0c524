/** Whether an amendment is signed by those who can put the entry right: seen where the record was asked for that entry. */

import { peopleAsked } from "./people.js";
import { ends } from "./views.js";

const BOTH_ENDS = ["items", "loose_seals", "at"];
const PAIR = ["seals", "figures"];

/** @param {{members: object, signers: string[]}} [target] the entry that is amended, and who signed it */
export function amendedByOthers({ kind, replaces, by, observers = [] }, world, target) {
  if (kind !== "amend" || !target) return [];
  const people = [...by.people, ...observers];
  const replaced = (names) => Object.keys(replaces).some((name) => names.includes(name));
  const without = ends(target.members).some(([, party]) => !party.people.some((code) => people.includes(code)));
  const asked = replaced(PAIR) ? peopleAsked(target.members, world)?.number ?? 1 : 0;
  const found = (variant) => [{ rule: "amended-by-others", severity: "warning", variant, parameters: { count: asked } }];
  if (!target.signers.some((code) => people.includes(code))) return found("others");
  if (target.members.kind === "handoff" && replaced(BOTH_ENDS) && without) return found("ends");
  return by.people.length < asked ? found("few") : [];
}
