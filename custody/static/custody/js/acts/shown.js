/** How things, people, seals and places are written on the phone. */

import { h } from "../dom.js";
import { heading, say, word } from "../words.js";
import { contentsOf, inOrder, personName } from "./here.js";

/** A seal number with its digits in groups of four from the right, to be read and compared; copied, it has no gaps. */
export function sealNumber(number) {
  const head = number.length % 4;
  const parts = [number.slice(0, head), ...(number.slice(head).match(/.{4}/g) ?? [])].filter(Boolean);
  return h("span", { class: "code seal-number" }, parts.map((part) => h("span", { class: "group" }, part)));
}

/** What a thing is called in a sentence: its description, or its kind, and its code. */
export function itemText(world, code) {
  const item = world.items.get(code);
  return item?.kind ? `${item.description || heading(item.kind)} ${code}` : code;
}

/** A thing as a line of a list: what it is, its code and tag, and what lies in it. */
export function itemLine(world, code) {
  const item = world.items.get(code);
  const inside = contentsOf(world, code);
  return h("span", { class: "thing" },
    h("b", {}, item?.kind ? item.description || heading(item.kind) : say("acts.not-on-list")),
    h("span", { class: "code" }, item?.tag ? `${code} · ${item.tag}` : code),
    inside.length ? h("span", { class: "soft small" }, say("acts.in-it", { things: inside.map((each) => nested(world, each)).join(", ") })) : null);
}

function nested(world, code) {
  const item = world.items.get(code);
  const inside = contentsOf(world, code).map((each) => nested(world, each));
  const name = item?.description || word(item?.kind ?? code);
  return inside.length ? `${name} (${inside.join(", ")})` : name;
}

/** A reading of a seal, as a sentence: `{item, point, number?, state}`. */
export function readingText(world, { item, point, number, state }) {
  return say("further.says-reading", { point, thing: itemText(world, item), number: number ?? say("further.no-number"), state: word(state) });
}

/** People by name, joined as a sentence joins them. */
export function peopleText(world, codes) {
  return new Intl.ListFormat(document.documentElement.lang || "en").format(codes.map((code) => personName(world, code)));
}

/** A party in a sentence: its role and its people. */
export function partyText(world, party) {
  return party.people.length ? say("acts.party", { people: peopleText(world, party.people), role: word(party.role) }) : word(party.role);
}

/** Things by their kind, for sentences: `{kind, codes}` in words. */
export function byKind(world, codes) {
  const groups = new Map();
  for (const code of inOrder(world, codes)) {
    const kind = world.items.get(code)?.kind;
    groups.set(kind, [...(groups.get(kind) ?? []), code]);
  }
  return [...groups].map(([kind, group]) => ({ kind: kind ? heading(kind) : say("acts.not-on-list"), codes: group.join(", ") }));
}
