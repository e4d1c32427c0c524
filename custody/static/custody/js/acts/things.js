/** Which things: a list that is ticked by scanning. Whatever else is scanned is added; nothing is refused. */

import { h, redraw, replace } from "../dom.js";
import { say } from "../words.js";
import { inOrder, siteOf } from "./here.js";
import { looseSeals } from "./loose.js";
import { itemLine, itemText } from "./shown.js";

const NO_THING = { badge: "acts.that-is-a-badge", seal: "acts.that-is-a-seal", site: "acts.that-is-a-place", unknown: "acts.not-a-label" };

/**
 * @param {object} options
 * @param {(draft, world) => string} options.heading
 * @param {(draft, world) => string[]} options.offered what is to be ticked, in its order
 * @param {boolean} [options.kits] whether a place's code, or a thing of its kit, opens the list of that kit
 * @param {boolean} [options.loose] whether loose seals go along, `draft.loose`
 * @param {(draft, world) => null | string} [options.lacking]
 * @param {(world, codes) => string[]} [options.order] how the list is sorted
 * @param {(draft, world, code) => boolean} [options.already] whether a thing needs no tick any more
 * @param {(draft, world, code) => null | string} [options.odd] what is to be said of a thing that was scanned
 */
export function thingsStep({ heading, offered, kits = false, loose = false, lacking = anything, order = inOrder, already = () => false, odd = () => null }) {
  return {
    id: "things",
    heading,
    lacking,
    show(host, context) {
      const panel = h("div");
      const last = h("div", { class: "last", hidden: true });
      const list = h("div");
      const byHand = h("details", { class: "aside" });
      const seals = loose ? looseSeals(context) : null;
      replace(host, panel, last, list, byHand, seals?.element);

      const all = () => order(context.world, [...offered(context.draft, context.world), ...context.draft.items]);
      const isIn = (code) => already(context.draft, context.world, code);
      const open = () => all().filter((code) => !context.draft.items.includes(code) && !isIn(code));

      function tick(code) {
        context.change({ items: [...context.draft.items, code] });
        const remark = odd(context.draft, context.world, code);
        tell(remark ? "ask" : "good", [say("acts.ticked-one", { thing: itemText(context.world, code) }), remark].filter(Boolean).join(" "));
      }
      function tell(kind, text, ...more) {
        last.hidden = false;
        last.className = `last ${kind}`;
        replace(last, h("p", {}, text), ...more);
        context.signal(kind, text);
      }
      function takeOff(code) {
        context.change({ items: context.draft.items.filter((each) => each !== code) });
      }
      function scanned(found, how) {
        if (found.type === "item") return thing(found.code);
        if (found.type === "site" && kits) return openKit(found.code);
        if (found.type === "seal" && seals) return tell(...seals.add(found.number, how));
        return tell("ask", say(NO_THING[found.type]));
      }
      function thing(code) {
        const item = context.world.items.get(code);
        if (context.draft.items.includes(code)) return tell("ask", say("acts.ticked-already", { thing: itemText(context.world, code) }));
        if (isIn(code)) return tell("ask", say("desk.in-already", { thing: itemText(context.world, code) }));
        if (item?.container && !offered(context.draft, context.world).includes(code)) return inside(code, item.container);
        if (kits && !context.draft.kit) openKit(kitOf(context.world, code), { quiet: true });
        tick(code);
        if (!item?.kind) tell("ask", say("acts.added-unknown", { code }));
      }
      function inside(code, container) {
        const words = { thing: itemText(context.world, code), container: itemText(context.world, container) };
        tell("ask", say("acts.lies-inside", words), h("button", { type: "button", class: "quiet", onclick: () => { tick(code); scanner.focus(); } }, say("acts.add-all-the-same")));
      }
      function openKit(site, { quiet = false } = {}) {
        if (!site) return;
        context.change({ kit: site });
        if (!quiet) tell("good", say("acts.kit-opened", { place: siteOf(context.world, site).name }));
      }
      function draw() {
        const shown = all();
        const done = context.draft.items.length + shown.filter((code) => !context.draft.items.includes(code) && isIn(code)).length;
        redraw(list,
          shown.length ? h("h2", { class: "tally" }, say("acts.ticked-of", { done, all: shown.length })) : null,
          shown.length ? h("ul", { class: "ticks" }, shown.map((code) => (isIn(code) ? lineIn(context, code) : line(context, code, takeOff))))
            : h("p", { class: "empty" }, say(kits ? "acts.nothing-listed-kit" : "acts.nothing-listed")));
        byHand.hidden = !open().length;
        redraw(byHand, h("summary", {}, say("acts.label-will-not-scan")), h("p", {}, say("acts.look-then-tick")),
          h("ul", { class: "ticks" }, open().map((code) => h("li", {}, itemLine(context.world, code),
            h("button", { type: "button", class: "quiet", onclick: () => tick(code) },
              say("acts.tick-by-hand"), h("span", { class: "visually-hidden" }, ` ${itemText(context.world, code)}`))))));
        seals?.refresh();
      }
      draw();
      const scanner = context.scans(scanned, { ask: "item", host: panel });
      return draw;
    },
  };
}

function anything(draft) {
  return draft.items.length || draft.loose?.length ? null : say("acts.scan-something");
}

function kitOf(world, code) {
  return Object.keys(world.kits ?? {}).find((site) => world.kits[site].includes(code));
}

function lineIn(context, code) {
  return h("li", { class: "ticked" }, itemLine(context.world, code), h("span", { class: "tick-word" }, say("desk.is-in")));
}

function line(context, code, takeOff) {
  const ticked = context.draft.items.includes(code);
  return h("li", { class: ticked ? "ticked" : "open" }, itemLine(context.world, code),
    h("span", { class: "tick-word" }, say(ticked ? "acts.is-ticked" : "acts.not-yet")),
    ticked ? h("button", { type: "button", class: "quiet small", onclick: () => takeOff(code) },
      say("acts.take-off"), h("span", { class: "visually-hidden" }, ` ${itemText(context.world, code)}`)) : null);
}
