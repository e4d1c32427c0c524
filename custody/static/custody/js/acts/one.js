/** One thing: a container, or what is counted. Scanned, or tapped in the list of what may be meant. */

import { h, redraw, replace } from "../dom.js";
import { say } from "../words.js";
import { itemLine, itemText } from "./shown.js";

/**
 * @param {object} options
 * @param {string} options.key the member of the draft that holds its code
 * @param {(draft, world) => string} options.heading
 * @param {(draft, world) => string[]} options.offered codes that are likely, in their order
 * @param {(world, code: string) => null | string} [options.unfit] why a scanned thing cannot be meant, in words
 * @param {(world, code: string) => object} [options.begin] what else changes in the draft with it
 * @param {{code: string, words: string} | ((draft, world) => {code: string, words: string} | null)} [options.place] a place that may be meant too
 */
export function oneThingStep({ key, heading, offered, unfit = () => null, begin = () => ({}), place = () => null }) {
  return {
    id: key,
    heading,
    lacking: (draft) => (draft[key] ? null : say("further.scan-one")),
    show(host, context) {
      const [panel, last, list] = [h("div"), h("p", { class: "last ask", hidden: true }), h("div")];
      replace(host, panel, last, list);

      function take(code, { scanned = false } = {}) {
        const fault = unfit(context.world, code);
        last.hidden = !fault;
        if (fault) {
          replace(last, fault);
          return void context.signal("ask", fault);
        }
        context.change({ [key]: code, ...begin(context.world, code) });
        if (!scanned) return;
        context.signal("good", itemText(context.world, code));
        context.next();
      }
      function heard(found) {
        const site = place(context.draft, context.world);
        if (found.type === "item") return take(found.code, { scanned: true });
        if (found.type === "site" && site?.code === found.code) return take(found.code, { scanned: true });
        last.hidden = false;
        replace(last, say("acts.not-a-label"));
        context.signal("ask", say("acts.not-a-label"));
      }
      function draw() {
        const site = place(context.draft, context.world);
        const chosen = context.draft[key];
        const codes = [...new Set([...offered(context.draft, context.world), ...(chosen && chosen !== site?.code ? [chosen] : [])])];
        const box = (code, words) => h("label", { class: "choice" },
          h("input", { type: "radio", name: key, "data-key": code, checked: chosen === code, onchange: () => take(code) }), words);
        redraw(list, codes.length || site ? h("fieldset", { class: "choices" }, h("legend", {}, say("further.or-tap")),
          codes.map((code) => box(code, itemLine(context.world, code))),
          site ? box(site.code, h("span", {}, h("b", {}, site.words))) : null) : h("p", { class: "empty" }, say("acts.nothing-listed")));
      }
      draw();
      context.scans(heard, { ask: "item", host: panel });
      return draw;
    },
  };
}
