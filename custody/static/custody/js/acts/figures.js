/** Figures, one field each, as they are read off. What is left empty is not recorded. */

import { h, redraw } from "../dom.js";
import { heading, say } from "../words.js";

const MOST = 9_999_999;

/** @param {{figures: (draft, world) => string[], sums: (figures: Record<string, number>) => string[]}} options */
export function figuresStep({ figures, sums }) {
  return {
    id: "figures",
    heading: () => say("further.which-figures"),
    lacking(draft) {
      if (Object.values(draft.figures).some((value) => !Number.isSafeInteger(value) || value < 0 || value > MOST)) return say("further.whole-numbers");
      return Object.keys(draft.figures).length ? null : say("further.one-figure");
    },
    show(host, context) {
      const said = h("ul", { class: "says" });
      const fields = figures(context.draft, context.world).map((figure) => field(context, figure));
      redraw(host, h("p", {}, say("further.figures-how")), fields, said);
      const draw = () => redraw(said, sums(context.draft.figures).map((words) => h("li", {}, words)));
      draw();
      return draw;
    },
  };
}

function field(context, figure) {
  const id = `figure-${figure}`;
  const input = h("input", { id, inputmode: "numeric", autocomplete: "off", value: context.draft.figures[figure] ?? "", oninput() {
    const { [figure]: _, ...others } = context.draft.figures;
    const text = input.value.trim();
    context.change({ figures: text ? { ...others, [figure]: /^\d+$/.test(text) ? Number(text) : NaN } : others });
  } });
  return h("p", { class: "field" }, h("label", { for: id }, heading(figure)), input);
}
