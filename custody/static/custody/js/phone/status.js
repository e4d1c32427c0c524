/** The line in every page's head that says what is saved on this phone and not yet on record; and what its owner must know. */

import { h, replace } from "../dom.js";
import { say } from "../words.js";
import * as able from "./able.js";
import * as clock from "./clock.js";
import * as outbox from "./outbox.js";
import * as photos from "./photos.js";
import { startShell } from "./shell.js";

const [HOUR, DAY] = [3_600, 86_400];
const line = document.getElementById("outbox-status");

/** Show it and keep it true; begin to send; make the page able to start without a network. */
export async function startStatus() {
  const lacks = await able.lacking();
  for (const what of [...lacks, ...able.without()]) notice(what, say(`outbox.lacks-${what}`));
  if (lacks.includes("secure") || lacks.includes("storage")) return replace(line, say("outbox.nothing-kept"));
  await draw();
  outbox.onChange(draw);
  startShell((isHeld) => notice("newer", say(isHeld ? "outbox.newer-waits" : "outbox.newer")));
  await outbox.keepSending();
  tellClock();
}

async function draw() {
  const [{ waiting, parked: entries }, pictures] = [await outbox.count(), await photos.list()];
  const parked = entries + pictures.parked.length;
  const last = pictures.waiting.length ? say("outbox.photos-to-send", { count: pictures.waiting.length }) : say("outbox.all-sent");
  const words = waiting ? say("outbox.to-send", { count: waiting }) : last;
  replace(line, words, parked ? ` · ${say("outbox.not-taken", { count: parked })}` : "");
  line.parentElement.classList.toggle("held", waiting + parked + pictures.waiting.length > 0);
  if (!waiting) tellClock();
}

function tellClock() {
  if (!clock.isFarOff()) return;
  const span = spanIn(Math.abs(clock.offset()));
  notice("clock", say(clock.offset() > 0 ? "outbox.clock-fast" : "outbox.clock-slow", { span }));
}

/** A length of time as people say it, in the language of the page: 12 minutes, 5 hours, 23 days. */
function spanIn(seconds) {
  const [unit, length] = seconds < 2 * HOUR ? ["minute", 60] : seconds < 2 * DAY ? ["hour", HOUR] : ["day", DAY];
  const format = { style: "unit", unit, unitDisplay: "long" };
  return new Intl.NumberFormat(document.documentElement.lang || "en", format).format(Math.round(seconds / length));
}

/** A sentence above the content, one about each thing. */
function notice(about, words) {
  const id = `notice-${about}`;
  const there = document.getElementById(id);
  if (there) replace(there, words);
  else document.getElementById("main").before(h("p", { id, class: "notice wrap", role: "status" }, words));
}
