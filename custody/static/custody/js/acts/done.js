/** What is said once an entry is saved: that it is safe, and what comes next. */

import { announce, focusOn, h, replace } from "../dom.js";
import { say } from "../words.js";

export async function showDone(act, host, members, world) {
  const title = h("h1", { tabindex: "-1" }, say("acts.saved"));
  const next = act.after?.(members, world) ?? [];
  replace(host, h("p", { class: "done-mark", "aria-hidden": "true" }, "✓"), title,
    h("p", { class: "lead" }, say("acts.saved-how")),
    h("p", { class: "done-what" }, act.sentences(members, world)[0]),
    h("nav", { class: "doors", "aria-label": say("acts.what-next") }, h("ul", {},
      [...next, { href: "/at-work/", words: say("acts.to-this-place") }].map(({ href, words }, at) => h("li", {}, h("a", { href, class: at ? null : "next" }, words))))));
  focusOn(title);
  announce(say("acts.saved"));
}
