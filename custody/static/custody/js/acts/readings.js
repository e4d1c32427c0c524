/**
 * Reading seals, one after another: the number is read blind, twice if it was keyed, then the seal is tugged and twisted. A number that
 * differs from the one on record is asked about once, then recorded as it was read. What was on record is shown afterwards.
 */

import { focusOn, h, redraw, replace } from "../dom.js";
import { say, word } from "../words.js";
import { itemLine, itemText, sealNumber } from "./shown.js";

const HELD = ["intact", "damaged", "not_holding"];
const NUMBERLESS = ["missing", "unreadable"];

/** The member `seals` of an entry: what was read on the things that are still meant. */
export function readingsOf(draft, items = null) {
  return (draft.readings ?? []).filter((each) => !items || items.includes(each.item));
}

/**
 * @param {object} options
 * @param {(draft, world) => {item, point}[]} options.wanted the seals to be read, in their order
 * @param {(draft, world) => string} [options.heading]
 */
export function readingsStep({ wanted, heading = () => say("acts.read-the-seals") }) {
  const unread = (draft, world) => wanted(draft, world).filter((seal) => !found(draft, seal));
  return {
    id: "readings",
    heading,
    needed: (draft, world) => wanted(draft, world).length > 0,
    lacking: () => null,
    quiet: (draft, world) => unread(draft, world).length > 0,
    onward(draft, world) {
      const count = unread(draft, world).length;
      return count ? say("acts.go-on-unread", { count }) : say("acts.go-on");
    },
    show: (host, context) => showReadings(host, context, wanted, unread),
  };
}

function showReadings(host, context, wanted, unread) {
  const title = h("h2", { tabindex: "-1" });
  const thing = h("p", { class: "which" });
  const place = h("div");
  const prompt = h("div");
  const below = h("div");
  const asking = h("section", { class: "reading" }, title, thing, prompt, place, below);
  const list = h("div", { class: "readings" });
  replace(host, asking, list);
  let hear = null;
  let panel = null;

  function keep(reading) {
    const others = (context.draft.readings ?? []).filter((each) => !isOf(each, reading));
    context.change({ readings: [...others, reading] });
    ask(unread(context.draft, context.world)[0]);
  }

  /** Ask for one seal: where its reading stands is in this function's variables, and a reload begins it anew. */
  function ask(seal) {
    if (!seal) return finished();
    panel ??= context.scans((...scan) => hear(...scan), { ask: "seal", host: place });
    const on = expected(context.world, seal);
    let keyed = null;
    let first = null;
    begin(seal);
    number();

    function number(words = null, kind = "ask-for") {
      place.hidden = false;
      hear = heard;
      replace(prompt, words && h("p", { class: kind }, words));
      replace(below, h("div", { class: "buttons" }, NUMBERLESS.map((state) =>
        h("button", { type: "button", class: "quiet", onclick: () => keep({ ...seal, state }) }, say(foundAs(state))))));
      panel.focus();
    }
    function heard(scan, how) {
      if (scan.type !== "seal") return void context.signal("ask", say("acts.that-is-no-seal"));
      // A camera still looks at the seal before, when the next one is asked for.
      if (how === "camera" && readElsewhere(context.draft, seal, scan.number)) return;
      const confirmed = first === scan.number;
      if (how === "typed" && keyed === null && !confirmed) {
        keyed = scan.number;
        return number(say("acts.type-it-again"));
      }
      if (how === "typed" && keyed !== scan.number && !confirmed) {
        keyed = null;
        context.signal("ask", say("acts.typed-differently"));
        return number(say("acts.typed-differently"), "last ask");
      }
      keyed = null;
      if (scan.number !== on && first === null) return again(scan.number);
      context.signal("good", say("acts.number-read"));
      if (scan.makers) return maker({ ...seal, number: scan.number }, scan.makers);
      return state({ ...seal, number: scan.number });
    }
    function again(read) {
      first = read;
      context.signal("ask", say("acts.read-it-again"));
      number(say("acts.read-it-again"), "last ask");
      prompt.prepend(sealRead(read));
    }
    function maker(reading, makers) {
      answerFirst();
      const buttons = makers.map((each) => h("button", { type: "button", class: "quiet", onclick: () => state({ ...reading, maker: each }) }, each));
      replace(below, sealRead(reading.number), h("p", { class: "ask-for" }, say("acts.which-maker")), h("div", { class: "buttons" }, buttons));
      buttons[0].focus();
    }
    function state(reading) {
      answerFirst();
      askState(below, reading, keep);
    }
  }

  function begin(seal) {
    replace(title, say("acts.seal-at", { point: seal.point }));
    replace(thing, itemLine(context.world, seal.item));
  }

  /** While a question is open a scanner is still heard, so that its Enter presses no button; a camera looks on in vain. */
  function answerFirst() {
    place.hidden = true;
    replace(prompt);
    hear = (_, how) => { if (how !== "camera") context.signal("ask", say("acts.answer-first")); };
  }

  function change(reading) {
    panel ??= context.scans((...scan) => hear(...scan), { ask: "seal", host: place });
    begin(reading);
    answerFirst();
    askState(below, reading, keep);
  }

  function finished() {
    panel?.close();
    panel = null;
    place.hidden = true;
    replace(title, say("acts.all-read"));
    for (const part of [thing, prompt, below]) replace(part);
    focusOn(title);
  }

  function draw() {
    const seals = wanted(context.draft, context.world);
    const done = seals.length - unread(context.draft, context.world).length;
    redraw(list, h("h2", { class: "tally" }, say("acts.read-of", { done, all: seals.length })),
      h("ul", { class: "ticks" }, seals.map((seal) => line(context, seal, ask, change))));
  }
  draw();
  ask(unread(context.draft, context.world)[0]);
  return draw;
}

function askState(host, reading, keep) {
  const buttons = HELD.map((state) => h("button", { type: "button", class: state === "intact" ? "" : "quiet", onclick: () => keep({ ...reading, state }) },
    say(foundAs(state))));
  replace(host, reading.number ? sealRead(reading.number) : null, h("p", { class: "ask-for" }, say("acts.tug-and-twist")), h("div", { class: "buttons" }, buttons,
    reading.number ? null : NUMBERLESS.map((state) => h("button", { type: "button", class: "quiet", onclick: () => keep({ ...reading, state }) }, say(foundAs(state))))));
  buttons[0].focus();
}

function sealRead(number) {
  return h("p", { class: "read" }, say("acts.you-read"), " ", sealNumber(number));
}

function foundAs(state) {
  return `acts.found-${state.replace("_", "-")}`;
}

function isOf(reading, seal) {
  return reading.item === seal.item && reading.point === seal.point;
}

function readElsewhere(draft, seal, number) {
  return (draft.readings ?? []).some((each) => each.number === number && !isOf(each, seal));
}

function found(draft, seal) {
  return (draft.readings ?? []).find((each) => isOf(each, seal));
}

function expected(world, seal) {
  return world.items.get(seal.item)?.seals[seal.point];
}

/** One seal in the list: still to be read, and choosable; or as it was read, with what is on record. */
function line(context, seal, ask, change) {
  const reading = found(context.draft, seal);
  const name = say("acts.seal-of", { point: seal.point, thing: itemText(context.world, seal.item) });
  if (!reading) {
    return h("li", { class: "open" }, h("span", { class: "thing" }, name), h("span", { class: "tick-word" }, say("acts.not-read")),
      h("button", { type: "button", class: "quiet small", "data-key": `${seal.item}:${seal.point}`, onclick: () => ask(seal) },
        say("acts.read-this"), h("span", { class: "visually-hidden" }, ` ${name}`)));
  }
  const on = expected(context.world, seal);
  const same = reading.number === on;
  return h("li", { class: same && reading.state === "intact" ? "ticked" : "differs" },
    h("span", { class: "thing" }, h("b", {}, name), reading.number ? sealNumber(reading.number) : null,
      !same && on && reading.state !== "unreadable" ? h("span", {}, say("acts.on-record"), " ", sealNumber(on)) : null),
    h("span", { class: "tick-word" }, [word(reading.state), reading.number ? say(same ? "acts.as-on-record" : "acts.differs-from-record") : null].filter(Boolean).join(", ")),
    h("button", { type: "button", class: "quiet small", "data-key": `${seal.item}:${seal.point}`, onclick: () => change(reading) },
      say("acts.change-state"), h("span", { class: "visually-hidden" }, ` ${name}`)));
}
