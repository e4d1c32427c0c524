/**
 * What a scanned or typed text is: a label's address or its code, an asset tag, a badge, a place, the number of a seal. Read
 * forgivingly, never corrected: a slip is told, and asked about.
 */

import { parseBadge } from "../record/badge.js";
import { readCode } from "../record/labels.js";

const ADDRESS = /^https?:\/\/[^/\s]+\/q\/([^/?#\s]+)\/?$/i;
const SEAL_LOOK = /^[A-Z]{0,6}[- ]?\d{4,12}$/;

/**
 * @param {string} text
 * @param {object} world the world of the phone, or as much of it as there is: items, sites, lots
 * @returns {{type: "item", code: string} | {type: "badge", badge: object} | {type: "seal", number: string, makers?: string[]}
 *   | {type: "site", code: string} | {type: "unknown", text: string, slip?: "label" | "badge"}}
 */
export function readScan(text, world) {
  const plain = text.trim();
  const [, coded] = ADDRESS.exec(plain) ?? [];
  const meant = coded ? decode(coded) : plain;
  if (/^CB1:/i.test(meant)) return badgeIn(meant);
  const item = itemIn(meant, world);
  if (item.code) return { type: "item", code: item.code };
  const upper = meant.toUpperCase();
  if (world.sites.some((site) => site.code === upper)) return { type: "site", code: upper };
  const makers = [...new Set(world.lots.filter((lot) => isOf(lot, upper)).map((lot) => lot.maker))];
  if (makers.length) return { type: "seal", number: upper, ...(makers.length > 1 ? { makers } : {}) };
  if (item.slip) return { type: "unknown", text: meant, slip: "label" };
  return SEAL_LOOK.test(upper) ? { type: "seal", number: upper.replaceAll(" ", "") } : { type: "unknown", text: meant };
}

function decode(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

function badgeIn(text) {
  try {
    return { type: "badge", badge: parseBadge(text) };
  } catch {
    return { type: "unknown", text: "", slip: "badge" };
  }
}

/** The code of an item, by its label or its asset tag; or that it looks like one with a slip in it. */
function itemIn(text, world) {
  const tagged = [...world.items.values()].filter((item) => item.tag && item.tag.toUpperCase() === text.toUpperCase());
  if (tagged.length === 1) return { code: tagged[0].code };
  try {
    return { code: readCode(text) };
  } catch (fault) {
    return { slip: fault.code === "bad-check" };
  }
}

function isOf({ prefix, first, last, width }, number) {
  if (!number.startsWith(prefix)) return false;
  const digits = number.slice(prefix.length);
  return /^\d+$/.test(digits) && digits.length === width && Number(digits) >= first && Number(digits) <= last;
}
