/** This place: which one it is, what can be done here, what is still to do. */

import { heldHere, pollsClosed, siteOf, stillOwed } from "../acts/here.js";
import { h, replace } from "../dom.js";
import * as clock from "../phone/clock.js";
import * as pocket from "../phone/pocket.js";
import { getWorld } from "../phone/world.js";
import { heading, say, word } from "../words.js";
import { choosePlace, fetchPocket } from "./choose.js";
import { startFrame } from "./frame.js";
import { offerLanguages } from "./language.js";

/** What can be done at each kind of place, in the order of its day. */
const ACTS = {
  warehouse: ["pack", "apply-seals", "hand-over", "receive", "read-seals", "remove-seals", "unpack", "count", "incident"],
  polling_place: ["receive", "read-seals", "steps", "remove-seals", "count", "unpack", "pack", "apply-seals", "hand-over", "missing", "incident"],
  receiving_station: ["return-desk", "receive", "read-seals", "hand-over", "incident"],
  vault: ["receive", "read-seals", "hand-over", "incident"],
  count_center: ["receive", "read-seals", "remove-seals", "unpack", "steps", "count", "pack", "apply-seals", "hand-over", "incident"],
  drop_box: ["read-seals", "remove-seals", "steps", "count", "pack", "apply-seals", "hand-over", "incident"],
};

const SECONDS_FRESH = 300;

const host = document.getElementById("place");
/** The act that asked for the place. An address of ours, whatever else was put there. */
const then = new URLSearchParams(location.search).get("then");

offerLanguages();
let world = await startFrame();
if (world && then?.startsWith("/work/")) {
  location.replace(then);
} else if (world) {
  await show();
  await refresh();
} else {
  choosePlace(host);
}

/** Bring up to date by itself what is a while old, where there is a network; else all stays as it is. */
async function refresh() {
  const { site, now } = await pocket.current();
  if (clock.now() - Date.parse(now) / 1000 < SECONDS_FRESH) return;
  if (!(await pocket.load(site).catch(() => null))) return;
  world = await getWorld();
  await show();
}

async function show() {
  const { now, election_name: election } = await pocket.current();
  const site = siteOf(world);
  const next = nextAct(site.kind);
  const acts = [next, ...ACTS[site.kind].filter((act) => act !== next)].filter(Boolean);
  const said = h("p", { role: "status" });
  replace(host, h("h1", {}, site.name), h("p", { class: "lead" }, say("place.as-of", { election, time: clockTime(now) })),
    toDo(site.kind),
    h("section", {}, h("h2", { class: "titled" }, say("place.here")), h("nav", { class: "doors many", "aria-label": say("place.here") },
      h("ul", {}, acts.map((act) => door(act, act === next))))),
    h("section", { class: "buttons" },
      h("button", { type: "button", class: "quiet", onclick: async (event) => {
        event.currentTarget.disabled = true;
        const lacking = await fetchPocket(site, said);
        if (!lacking) location.reload();
        else replace(said, lacking);
        event.target.disabled = false;
      } }, say("place.refresh")),
      h("button", { type: "button", class: "quiet", onclick: () => choosePlace(host, world.sites) }, say("place.choose-another"))),
    said);
}

function door(act, isNext) {
  const words = say(`place.act-${act}`);
  return h("li", {}, h("a", { href: `/work/${act}/`, class: isNext ? "next" : null },
    h("b", {}, isNext ? say("place.next", { act: words }) : words), h("span", { class: "soft" }, say(`place.act-${act}-how`))));
}

function undone(steps) {
  return steps.filter((step) => !world.steps.some((done) => done.step === step));
}

/** What the day asks for next, where that can be told. */
function nextAct(kind) {
  if (kind === "receiving_station") return "return-desk";
  if (kind === "vault") return "receive";
  if (kind !== "polling_place") return null;
  if (!heldHere(world).length) return stillOwed(world).length || pollsClosed(world) ? "missing" : "receive";
  if (!pollsClosed(world)) return "steps";
  return undone(world.policy.steps.after_close).length ? "steps" : "hand-over";
}

function toDo(kind) {
  if (kind !== "polling_place") return null;
  const opened = world.steps.some((done) => done.step === "polls_opened");
  const { before_open: before, after_close: after } = world.policy.steps;
  const steps = pollsClosed(world) ? undone(after) : opened ? [] : undone(before);
  const owed = pollsClosed(world) ? stillOwed(world).length : 0;
  const lines = [
    ...(opened && !pollsClosed(world) ? [[say("place.polls-are-open"), "/work/steps/", say("place.to-steps")]] : []),
    ...(steps.length ? [[say("place.steps-open", { steps: heading(steps.map(word).join(", ")) }), "/work/steps/", say("place.to-steps")]] : []),
    ...(owed ? [[say("place.owed", { count: owed }), "/work/missing/", say("place.see-what")]] : []),
  ];
  return h("section", {}, h("h2", { class: "titled" }, say("place.to-do")), lines.length
    ? h("ul", { class: "to-do" }, lines.map(([words, href, link]) => h("li", {}, words, h("a", { class: "tap", href }, link, h("span", { class: "visually-hidden" }, `: ${words}`)))))
    : h("p", { class: "good-word" }, say("place.nothing-to-do")));
}

function clockTime(now) {
  const format = { timeZone: world.timezone, weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZoneName: "short" };
  return new Intl.DateTimeFormat(document.documentElement.lang || "en", format).format(new Date(now));
}
