/**
 * Whose label it is. Codes are given anew in every installation, so that another office's label may carry the code of one of our own
 * things; the address on it tells the two apart. Ours is the one that the page comes from, those that the server names, and whatever
 * somebody said on this phone is ours too.
 */

import * as settings from "../phone/settings.js";

const NAME = "hosts";
const ADDRESS = /^https?:\/\/[^/\s]+\/q\/[^/?#\s]+\/?$/i;

const served = [location.hostname, ...JSON.parse(document.getElementById("hosts").textContent)];
const told = new Set((await settings.get(NAME).catch(() => null)) ?? []);

/** The host that a label names, where it is not known to be ours; else `null`. */
export function strangeHost(text) {
  if (!ADDRESS.test(text.trim()) || !URL.canParse(text)) return null;
  const { hostname } = new URL(text);
  return told.has(hostname) || served.some((ours) => ours === hostname || (ours.startsWith(".") && hostname.endsWith(ours))) ? null : hostname;
}

/** Somebody says that labels with this host are ours: not asked again on this phone. */
export function trust(host) {
  told.add(host);
  settings.put(NAME, [...told]).catch(() => null);  // then it is asked again on the next page
}
