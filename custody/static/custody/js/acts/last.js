/** Who did the last acts at a place, so that nobody has to be named twice on one day. Codes only; kept on the phone. */

import * as settings from "../phone/settings.js";

const ENDS = ["release", "receive", "by"];

/** The people of the last acts at a place, by the role in which they acted. */
export async function lastPeople(site) {
  return await settings.get(`last:${site}`) ?? {};
}

export async function keepLastPeople(site, members) {
  const parties = ENDS.map((end) => members[end]).filter((party) => party?.site === site);
  if (!parties.length) return;
  const before = await lastPeople(site);
  await settings.put(`last:${site}`, { ...before, ...Object.fromEntries(parties.map((party) => [party.role, party.people])) });
}
