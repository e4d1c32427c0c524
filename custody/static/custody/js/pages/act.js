/** The page of one act. */

import { ACTS } from "../acts/all.js";
import { run } from "../acts/engine.js";
import { startFrame } from "./frame.js";
import { h, replace } from "../dom.js";
import { say } from "../words.js";

const host = document.getElementById("act");
const world = await startFrame();
if (world) {
  await run(ACTS[document.getElementById("main").dataset.act], host, world, new URLSearchParams(location.search));
} else {
  replace(host, host.firstElementChild, h("p", { class: "lead" }, say("acts.no-place")),
    h("p", {}, h("a", { class: "button", href: `/work/?then=${encodeURIComponent(location.pathname + location.search)}` }, say("acts.choose-place"))));
}
