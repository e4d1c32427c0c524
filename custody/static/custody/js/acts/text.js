/** Something said in one's own words. */

import { h, replace } from "../dom.js";
import { say } from "../words.js";

/** What was typed, as a record has it. */
export const plain = (text) => (text ?? "").normalize("NFC").trim();

/**
 * @param {object} options
 * @param {string} options.key the member of the draft that holds the text
 * @param {(draft, world) => string} options.heading
 * @param {() => string} options.label
 * @param {() => string} [options.needed] what is said where nothing was written; without it, nothing need be
 */
export function textStep({ key, heading, label, needed }) {
  const id = `text-${key}`;
  return {
    id,
    heading,
    lacking: (draft) => (needed && !plain(draft[key]) ? needed() : null),
    show(host, context) {
      const text = h("textarea", { id, rows: 5, maxlength: 2000, "aria-describedby": `${id}-caution`, oninput: () => context.change({ [key]: text.value }) }, context.draft[key] ?? "");
      replace(host, h("p", { class: "field" }, h("label", { for: id }, label()), text),
        h("p", { class: "soft", id: `${id}-caution` }, say("acts.note-stays")));
    },
  };
}
