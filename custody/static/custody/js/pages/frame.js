/** What every page of the phone does first: says where it is and what waits, and sends what can be sent. */

import { siteOf } from "../acts/here.js";
import { h, replace } from "../dom.js";
import { startStatus } from "../phone/status.js";
import { getWorld } from "../phone/world.js";
import { say } from "../words.js";

/** The world that is kept on this phone, or `null` where no place was chosen yet. */
export async function startFrame() {
  startStatus();
  const world = await getWorld().catch((fault) => {
    console.error(fault);
    return null;
  });
  if (world) document.getElementById("here").textContent = siteOf(world).name;
  return world;
}

/** Below the heading of `host`: where no place was chosen yet, to choose one, and to come back here. */
export function askForPlace(host) {
  const address = `/at-work/?then=${encodeURIComponent(location.pathname + location.search)}`;
  replace(host, host.firstElementChild, h("p", { class: "lead" }, say("acts.no-place")), h("p", { class: "act-on" }, h("a", { class: "button", href: address }, say("acts.choose-place"))));
}
