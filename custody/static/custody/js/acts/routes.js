/** What a handoff is: its purpose and the role of the other end go together, and are chosen in one. */

import { h, redraw } from "../dom.js";
import { heading, say, word } from "../words.js";
import { routes } from "./here.js";
import { setParty } from "./people.js";

/** Draws the choice for the end that does not stand at this place. */
export function routeChoice(near) {
  const far = near === "release" ? "receive" : "release";
  return (host, context) => {
    const offered = routes(context.world, near);
    const { purpose } = context.draft;
    const { role } = context.draft.parties[far];
    const select = h("select", {
      id: "route",
      "data-key": "route",
      onchange: () => {
        const chosen = offered[Number(select.value)];
        context.change({ purpose: chosen.purpose });
        setParty(context, far, chosen.role, []);
      },
    }, offered.map((each, at) => h("option", { value: at, selected: each.purpose === purpose && each.role === role },
      say(near === "release" ? "acts.route-to" : "acts.route-from", { purpose: heading(each.purpose), role: word(each.role) }))));
    redraw(host, h("p", { class: "field" }, h("label", { for: select.id }, say("acts.what-this-is")), select));
  };
}
