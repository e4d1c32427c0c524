/**
 * One act at a time: shows an act's steps one after another, keeps the draft on the phone at every change, and ends in the
 * two steps that all acts share, the review and the signing.
 *
 * AN ACT, one module in `acts/`, entered in `acts/all.js`:
 *
 *     pack = {
 *       name: "pack",                                    // as in the address /at-work/pack/
 *       steps: [step, …],                                // its own; review, signing and done are added here
 *       start(world, asked) -> draft members,            // what is filled in at the beginning; `asked` is the address's URLSearchParams
 *       payload(draft, world) -> members,                // the entry's own: {kind, site, …parties, …}. Never id, v, log, election,
 *                                                        // at, offset, note, observers, photos: they are added here
 *       sentences(members, world) -> [text],             // what the record will say, for the review
 *       left(draft, world) -> {words, codes},            // optional: what was offered and not taken, for the review
 *       heeds(draft, world) -> [text],                   // optional: what else to know before signing, which no rule finds
 *       target(draft) -> {members, signers} | null,      // optional, of an act about an entry on record: that entry, for what is foreseen
 *       isFor(draft, asked) -> boolean,                  // optional: whether the act in hand is the one that the address asks for
 *       after(members, world) -> [{href, words}],        // optional: what comes next, best first, for the page "Saved on this phone"
 *     }
 *
 * A DRAFT is plain data (IndexedDB keeps it): {step, note, observers: [code], photos: [sha256], parties: {by | release | receive: {role, people: [code],
 * site?}}, …the act's own}. Nothing secret is ever in it.
 *
 * A STEP = {
 *   id,                                                  // unique in the act; where a reload goes on
 *   heading(draft, world) -> text,                       // takes the focus when the step is shown
 *   needed(draft, world) -> boolean,                     // optional; a step that is not needed is passed over, both ways
 *   lacking(draft, world) -> null | text,                // why one cannot go on yet, in words. Only what no entry can do without:
 *                                                        // what would be a finding is shown at the review, never forbidden
 *   onward(draft, world) -> text,                        // optional: the words on the button that goes on
 *   quiet(draft, world) -> boolean,                      // optional; whether that button steps back behind what the step asks for
 *   show(host, context) -> refresh | undefined,          // builds its content in `host` once; `refresh()` runs after every change
 *   bare: true,                                          // optional; draws its own way on, so that there is no button below
 * }
 *
 * THE CONTEXT = {
 *   draft, world,                                        // getters: always the present ones
 *   change(patch) -> promise,                            // merges into the draft, then refreshes: at once. Fulfilled when the phone has kept it
 *   next(), back(),                                      // as the buttons; next() says what is lacking, if anything
 *   scans(fn, {ask, host}) -> panel,                     // opens the scanning panel (ask: "item" | "seal" | "badge") in `host`; each
 *                                                        // scan, already read, goes to fn(found, how), `found` as from scan/reading.js.
 *                                                        // The engine closes it when the step is left; the panel is scan/scanner.js's
 *   say, word, heading, announce,                        // from words.js and dom.js
 *   signal(kind, text),                                  // sound, vibration and words: "good" | "ask" | "bad"
 *   renew(),                                             // asks the log for what is new, and shows it; without a network, nothing
 *   last,                                                // the people of the last acts at this place: {role: [code]}
 * }
 *
 * STEPS READY MADE, for acts to put into their list:
 *   photos.js    photosStep()   -> draft.photos
 *   people.js    peopleStep({end, roles(draft, world) -> [role]})   -> draft.parties[end]
 *   things.js    thingsStep({heading, offered(draft, world) -> [code], lacking?})   -> draft.items
 *   readings.js  readingsStep({wanted(draft, world) -> [{item, point}]})   -> draft.readings: [{item, point, number?, maker?, state}],
 *                each read blind, twice if keyed, asked once again where it differs; `readingsOf(draft)` is the member `seals`
 */

import { announce, focusOn, h, replace } from "../dom.js";
import * as drafts from "../phone/drafts.js";
import * as photos from "../phone/photos.js";
import * as pocket from "../phone/pocket.js";
import { getWorld } from "../phone/world.js";
import { readScan } from "../scan/reading.js";
import { openScanner } from "../scan/scanner.js";
import { signal } from "../scan/signals.js";
import { heading, say, word } from "../words.js";
import { showDone } from "./done.js";
import { keepLastPeople, lastPeople } from "./last.js";
import { reviewStep } from "./review.js";
import { signingStep } from "./signing.js";

const SECOND_ENTER = 1000;
/** Milliseconds: keys that end in an Enter this soon are a scanner's, which nobody asked to scan here. */
const SCANNED = 250;
const TAKES_ENTER = "a, button, input, select, summary, textarea";

/** Go through an act in `host`, from where it was left on this phone, or from its beginning. */
export async function run(act, host, world, asked) {
  const [kept, last] = [await drafts.get(act.name), await lastPeople(world.site)];
  const steps = [...act.steps, reviewStep(act), signingStep(act)];
  const isSame = kept?.site === world.site && (act.isFor?.(kept, asked) ?? true);
  const begun = isSame ? kept : fresh(act, world, asked);
  await photos.tidy();
  host.dataset.inHand = "";  // a newer program must not take over now
  const desk = openDesk({ act, steps, host, world, last }, begun);
  desk.show(steps.find((step) => step.id === begun.step && isNeeded(step, begun, world)) ?? desk.visible()[0]);
}

function fresh(act, world, asked) {
  return { site: world.site, note: "", observers: [], photos: [], parties: {}, ...act.start(world, asked) };
}

function isNeeded(step, draft, world) {
  return !step.needed || step.needed(draft, world);
}

/** What is on the desk while an act goes on: the draft, the step that is shown, its scanning panel. */
function openDesk({ act, steps, host, world: known, last }, begun) {
  let draft = begun;
  let world = known;
  let current = null;
  let refresh = null;
  let panels = [];
  let button = null;
  let scanned = -Infinity;
  let keyed = -Infinity;
  const lack = h("p", { class: "lacking", role: "alert" });

  const visible = () => steps.filter((step) => isNeeded(step, draft, world));

  const context = {
    get draft() { return draft; },
    get world() { return world; },
    change(patch) {
      draft = { ...draft, ...patch };
      const kept = drafts.put(act.name, draft);
      replace(lack);
      drawOnward();
      refresh?.();
      return kept;
    },
    next() {
      const lacking = current.lacking?.(draft, world);
      if (lacking) return void replace(lack, lacking);
      const shown = visible();
      show(shown[shown.indexOf(current) + 1]);
    },
    back() {
      const shown = visible();
      show(shown[shown.indexOf(current) - 1]);
    },
    async renew() {
      if (!(await pocket.load(world.site).catch(() => null))) return;
      world = await getWorld();
      refresh?.();
    },
    goTo: (id) => show(steps.find((step) => step.id === id)),
    scans(fn, { ask, host: place }) {
      const panel = openScanner(place, { ask, onScan(text, how) {
        [scanned, keyed] = [performance.now(), -Infinity];
        const found = readScan(text, world);
        if (!found.slip) return fn(found, how);
        panel.say(say(`scanning.slip-${found.slip}`));
        signal("ask", say(`scanning.slip-${found.slip}`));
      } });
      panels.push(panel);
      return panel;
    },
    async done(members) {
      leave();
      delete host.dataset.inHand;
      await drafts.clear(act.name);
      await keepLastPeople(world.site, members);
      await showDone(act, host, members, await getWorld());
    },
    last, say, word, heading, announce, signal,
  };

  function drawOnward() {
    if (!button) return;
    button.textContent = current.onward?.(draft, world) ?? say("acts.go-on");
    button.classList.toggle("quiet", current.quiet?.(draft, world) ?? false);
  }

  function leave() {
    for (const panel of panels) panel.close();
    panels = [];
    refresh = null;
  }

  function show(step) {
    leave();
    current = step;
    draft = { ...draft, step: step.id };
    drafts.put(act.name, draft);
    replace(lack);
    const title = h("h1", { tabindex: "-1" }, step.heading(draft, world));
    const body = h("div", { class: "step-body" });
    button = step.bare ? null : h("button", { type: "button", onclick: context.next });
    drawOnward();
    replace(host, progress(visible(), step, context), title, body, lack, button && h("div", { class: "onward" }, button));
    refresh = step.show(body, context) ?? null;
    focusOn(title);
    scrollTo(0, 0);
    if (panels.length && matchMedia("(pointer: fine)").matches) panels[0].focus();
  }

  /** Enter goes on, also from the empty field of the scanning panel; but not the second Enter that some scanners send, nor a stray scan. */
  host.addEventListener("keydown", (event) => {
    if (event.key.length === 1) keyed = event.timeStamp;
    if (event.key !== "Enter" || event.defaultPrevented || current.bare || current.quiet?.(draft, world)) return;
    const isStray = event.timeStamp - keyed < SCANNED;
    keyed = -Infinity;
    if (isStray) return;
    const isEmptyField = event.target.matches(".scan-field input") && !event.target.value && performance.now() - scanned > SECOND_ENTER;
    if (!isEmptyField && event.target.closest(TAKES_ENTER)) return;
    event.preventDefault();
    context.next();
  });
  return { show, visible };
}

function progress(shown, step, context) {
  const number = shown.indexOf(step) + 1;
  return h("div", { class: "progress" },
    number > 1 ? h("button", { type: "button", class: "quiet back", onclick: context.back }, say("acts.back")) : null,
    h("p", {}, say("acts.step-of", { number, all: shown.length })));
}
