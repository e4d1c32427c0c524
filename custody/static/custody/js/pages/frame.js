/** What every page of the phone does first: says where it is and what waits, and sends what can be sent. */

import { siteOf } from "../acts/here.js";
import { startStatus } from "../phone/status.js";
import { getWorld } from "../phone/world.js";

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
