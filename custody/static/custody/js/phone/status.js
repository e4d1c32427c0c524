/** The line in every page's head that says what is saved on this phone and not yet on record; and what its owner must know. */

import { h, replace } from "../dom.js";
import { say } from "../words.js";
import * as able from "./able.js";
import * as clock from "./clock.js";
import * as outbox from "./outbox.js";
import { startShell } from "./shell.js";

/** Show it and keep it true; begin to send; make the page able to start without a network. */
export async function startStatus() {
  const lacks = await able.lacking();
  for (const what of [...lacks, ...able.without()]) notice(`outbox.lacks-${what}`);
  if (lacks.includes("storage")) return;
  await draw();
  outbox.onChange(draw);
  startShell((held) => notice(held ? "outbox.newer-waits" : "outbox.newer"));
  await outbox.keepSending();
  tellClock();
}

async function draw() {
  const { waiting, parked } = await outbox.count();
  const line = document.getElementById("outbox-status");
  const words = waiting ? say("outbox.to-send", { count: waiting }) : say("outbox.all-sent");
  replace(line, words, parked ? ` · ${say("outbox.not-taken", { count: parked })}` : "");
  line.parentElement.classList.toggle("held", waiting + parked > 0);
  if (!waiting) tellClock();
}

function tellClock() {
  if (!clock.isFarOff()) return;
  const minutes = Math.max(1, Math.round(Math.abs(clock.offset()) / 60));
  notice(clock.offset() > 0 ? "outbox.clock-fast" : "outbox.clock-slow", { count: minutes });
}

/** A sentence above the content, once. */
function notice(id, parameters = {}) {
  const key = `notice-${id.replace(".", "-")}`;
  if (document.getElementById(key)) return;
  document.getElementById("main").before(h("p", { id: key, class: "notice wrap", role: "status" }, say(id, parameters)));
}
