/** The page of one act. */

import { ACTS } from "../acts/all.js";
import { run } from "../acts/engine.js";
import { askForPlace, startFrame } from "./frame.js";

const host = document.getElementById("act");
const world = await startFrame();
if (world) {
  await run(ACTS[document.getElementById("main").dataset.act], host, world, new URLSearchParams(location.search));
} else {
  askForPlace(host);
}
