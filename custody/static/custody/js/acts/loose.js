/** Loose seals that go along, as numbers or runs of numbers. */

import { h, redraw, replace } from "../dom.js";
import { say } from "../words.js";

const NUMBER = /^(.*?)([0-9]{1,15})$/;
const MOST = 10_000;

/** A run as the entry has it, or `null` where first and last are no run: one prefix, one width, first ≤ last, at most 10,000. */
export function readRun(first, last) {
  const [one, other] = [first, last || first].map((text) => NUMBER.exec(text.trim().toUpperCase()));
  if (!one || !other || one[1] !== other[1] || one[2].length !== other[2].length) return null;
  const size = Number(other[2]) - Number(one[2]) + 1;
  if (size < 1 || size > MOST) return null;
  return size === 1 ? one[0] : `${one[0]}..${other[0]}`;
}

/**
 * The part of a page where loose seals are named: `{element, add(number, how) -> [kind, words], refresh()}`. Kept in `draft.loose`. One
 * number that was typed is asked for twice, as everywhere; a run has two numbers, which have to fit each other.
 */
export function looseSeals(context) {
  const list = h("ul", { class: "ticks" });
  const [first, last] = ["first", "last"].map((name) => h("input", { id: `loose-${name}`, autocomplete: "off", autocapitalize: "characters", spellcheck: "false" }));
  const fault = h("p", { class: "lacking", role: "alert" });
  const element = h("details", { class: "aside", open: Boolean(context.draft.loose?.length) }, h("summary", {}, say("acts.loose-seals")),
    h("p", {}, say("acts.loose-how")),
    h("form", { class: "run", onsubmit: submit },
      h("p", { class: "field" }, h("label", { for: first.id }, say("acts.loose-first")), first),
      h("p", { class: "field" }, h("label", { for: last.id }, say("acts.loose-last")), last),
      h("button", { class: "quiet" }, say("acts.loose-add"))), fault, list);

  let typed = null;

  function submit(event) {
    event.preventDefault();
    const run = readRun(first.value, last.value);
    const lacking = !run ? say("acts.no-run") : run.includes("..") ? null : lackingFor(run);
    replace(fault, lacking);
    if (run) first.value = last.value = "";
    if (run && !lacking) keep(run);
    first.focus();
  }
  /** What a number that is typed still lacks, in words: the first time, to be typed again; then, that both are the same. */
  function lackingFor(number) {
    const [before, words] = [typed, typed === null ? "acts.type-it-again" : "acts.typed-differently"];
    typed = before === null ? number : null;
    return before === number ? null : say(words);
  }
  function keep(run) {
    context.change({ loose: [...new Set([...(context.draft.loose ?? []), run])] });
  }
  function refresh() {
    redraw(list, (context.draft.loose ?? []).map((run) => h("li", { class: "ticked" }, h("span", { class: "code" }, run.replace("..", " – ")),
      h("button", { type: "button", class: "quiet small", onclick: () => context.change({ loose: context.draft.loose.filter((each) => each !== run) }) },
        say("acts.take-off"), h("span", { class: "visually-hidden" }, ` ${run}`)))));
  }
  return {
    element,
    refresh,
    add(number, how) {
      const lacking = how === "typed" ? lackingFor(number) : null;
      if (lacking) return ["ask", lacking];
      keep(number);
      element.open = true;
      return ["good", say("acts.loose-added", { number })];
    },
  };
}
