/**
 * The field that takes what is typed, and what a scanner with a plug or by radio types: quickly, with Enter or Tab at its end. Such a
 * scanner is heard wherever the focus is, unless somebody writes into another field.
 */

import { h } from "../dom.js";
import { say } from "../words.js";

/** Slower than this between two keys on average, in milliseconds, is a person; and no scanner stops for longer than the other. */
const QUICK = 50;
const PAUSE = 250;
const LEAST = 4;
/** Outside a field nobody types on purpose; the codes of places are short. */
const LEAST_ELSEWHERE = 2;
const WRITES = "input, textarea, select, [contenteditable]";

let counter = 0;

/** The form of the field. `onText(text, how)`: how is "wedge" or "typed". */
export function makeField(label, onText) {
  counter += 1;
  const input = h("input", { id: `scan-${counter}`, autocomplete: "off", autocapitalize: "characters", spellcheck: "false", enterkeyhint: "done" });
  const rhythm = listenTo(input);
  const form = h("form", { class: "scan-field", onsubmit: (event) => {
    event.preventDefault();
    const text = input.value.trim();
    const how = rhythm.isQuick(text) ? "wedge" : "typed";
    input.value = "";
    rhythm.forget();
    if (text) onText(text, how);
  } }, h("label", { for: input.id }, label), h("span", { class: "scan-line" }, input, h("button", { class: "quiet" }, say("scanning.enter"))));
  input.addEventListener("keydown", (event) => {
    if (event.key === "Tab" && rhythm.isQuick(input.value.trim())) {
      event.preventDefault();
      form.requestSubmit();
    }
  });
  const deaf = hearElsewhere((text) => onText(text, "wedge"));
  return { form, input, close: deaf };
}

/** Whether what stands in the field came key by key, quickly, from its first to its last. */
function listenTo(input) {
  let times = [];
  input.addEventListener("keydown", (event) => { if (event.key.length === 1) times.push(event.timeStamp); });
  return {
    isQuick: (text) => text.length >= LEAST && times.length >= text.length && (times.at(-1) - times[0]) / (times.length - 1) < QUICK
      && times.every((time, place) => place === 0 || time - times[place - 1] < PAUSE),
    forget() { times = []; },
  };
}

/** Keys that arrive quickly while the focus is in no field: a scanner's. Returns what ends it. */
function hearElsewhere(onText) {
  let [text, last] = ["", 0];
  const hear = (event) => {
    if (event.target.closest?.(WRITES) || event.ctrlKey || event.metaKey || event.altKey) return;
    // Nobody writes where there is no field: whatever comes without a stop is a scanner's, however busy the phone is.
    if (event.timeStamp - last > PAUSE) text = "";
    last = event.timeStamp;
    if (event.key.length === 1) {
      text += event.key;
      // A space would press the button that has the focus.
      if (text.length > 1 && event.key === " ") event.preventDefault();
    } else if ((event.key === "Enter" || event.key === "Tab") && text.length >= LEAST_ELSEWHERE) {
      event.preventDefault();
      event.stopPropagation();
      const heard = text;
      text = "";
      onText(heard);
    }
  };
  document.addEventListener("keydown", hear, true);
  return () => document.removeEventListener("keydown", hear, true);
}
