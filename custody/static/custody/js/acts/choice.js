/** One of a few words of the record, chosen in a list. */

import { h, redraw, replace } from "../dom.js";
import { say } from "../words.js";

/**
 * @param {object} options
 * @param {string} options.key the member of the draft that holds what was chosen
 * @param {(draft, world) => string} options.heading
 * @param {(draft, world) => {value: string, words: string, more?: string, done?: boolean}[]} options.options
 */
export function choiceStep({ key, heading, options }) {
  return {
    id: key,
    heading,
    lacking: (draft) => (draft[key] ? null : say("further.choose-one")),
    show(host, context) {
      const list = h("div");
      replace(host, list);
      const draw = () => redraw(list, h("fieldset", { class: "choices" }, h("legend", { class: "visually-hidden" }, heading(context.draft, context.world)),
        options(context.draft, context.world).map(({ value, words, more, done }) => {
          const box = h("input", { type: "radio", name: key, "data-key": value, checked: context.draft[key] === value, onchange: () => context.change({ [key]: value }) });
          return h("label", { class: "choice" }, box, h("span", {}, h("b", {}, words), more ? h("span", { class: `small ${done ? "good-word" : "soft"}` }, more) : null));
        })));
      draw();
      return draw;
    },
  };
}
