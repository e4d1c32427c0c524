/** Before a place is left: what it owes and nobody has taken over, with where to look. */

import { siteOf, stillOwed } from "../acts/here.js";
import { itemLine, itemText } from "../acts/shown.js";
import { h, replace } from "../dom.js";
import { say } from "../words.js";
import { askForPlace, startFrame } from "./frame.js";

const host = document.getElementById("missing");
const world = await startFrame();
const title = host.firstElementChild;

if (world) show();
else askForPlace(host);

function show() {
  const owed = stillOwed(world).filter((code, _, all) => !all.includes(world.items.get(code).container));
  const ours = owed.filter((code) => world.items.get(code).holder);
  const nobodys = owed.filter((code) => !world.items.get(code).holder);
  replace(host, title, h("p", { class: "lead" }, siteOf(world).name),
    owed.length ? h("p", { class: "lead" }, say("missing.how")) : h("p", { class: "last good" }, say("missing.nothing")),
    group(say("missing.with-us"), ours), group(say("missing.with-nobody"), nobodys),
    h("nav", { class: "doors", "aria-label": say("acts.what-next") }, h("ul", {},
      owed.length ? door("/at-work/hand-over/", say("missing.hand-over"), "next") : null,
      owed.length ? door("/at-work/incident/", say("missing.report")) : null,
      door("/at-work/", say("missing.back")))));
}

function group(words, codes) {
  if (!codes.length) return null;
  return h("section", {}, h("h2", { class: "titled" }, words), h("ul", { class: "ticks" }, codes.map((code) => {
    const { kind, container } = world.items.get(code);
    return h("li", { class: "open" }, itemLine(world, code), h("span", { class: "tick-word" },
      container ? `${say("missing.lies-in", { container: itemText(world, container) })} ` : null, say(`missing.look-${kind.replaceAll("_", "-")}`)));
  })));
}

function door(href, words, kind = null) {
  return h("li", {}, h("a", { href, class: kind }, words));
}
