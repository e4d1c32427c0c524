/** Putting seals on, one point after another: the number is scanned, or keyed twice, when the seal is closed and holds. */

import { focusOn, h, redraw, replace } from "../dom.js";
import { say } from "../words.js";
import { itemLine, itemText, sealNumber } from "./shown.js";

/** @param {{wanted: (draft, world) => {item, point}[]}} options every point that takes a seal, in its order */
export function numbersStep({ wanted }) {
  const open = (draft, world) => wanted(draft, world).filter((seal) => !found(draft, seal));
  return {
    id: "numbers",
    heading: () => say("further.put-seals-on"),
    lacking: (draft) => (draft.seals.length ? null : say("further.one-seal")),
    quiet: (draft, world) => open(draft, world).length > 0,
    onward(draft, world) {
      const count = open(draft, world).length;
      return count ? say("further.go-on-open", { count }) : say("acts.go-on");
    },
    show(host, context) {
      const [asking, list] = [h("section", { class: "reading" }), h("div", { class: "readings" })];
      replace(host, asking, list);
      let panel = null;

      function ask(seal) {
        panel?.close();
        panel = null;
        let keyed = null;
        const title = h("h2", { tabindex: "-1" }, seal ? say("acts.seal-at", { point: seal.point }) : say("further.all-on"));
        if (!seal) {
          replace(asking, title);
          return focusOn(title);
        }
        const [place, below] = [h("div"), h("p", { class: "ask-for" }, say("further.close-then-read"))];
        replace(asking, title, h("p", { class: "which" }, itemLine(context.world, seal.item)), place, below);
        let hear = heard;
        panel = context.scans((...scan) => hear(...scan), { ask: "seal", host: place });
        panel.focus();

        function heard(scan, how) {
          if (scan.type !== "seal") return tell("acts.that-is-no-seal");
          if (how === "typed" && keyed === null) {
            keyed = scan.number;
            return tell("acts.type-it-again");
          }
          if (how === "typed" && keyed !== scan.number) {
            keyed = null;
            return tell("acts.typed-differently");
          }
          if (context.draft.seals.some((each) => each.number === scan.number)) return tell("further.used-just-now");
          const put = { ...seal, number: scan.number, state: "intact" };
          return scan.makers ? askMaker(put, scan.makers) : keep(put);
        }
        /** While it is asked, a scanner is still heard, so that its Enter presses no button. */
        function askMaker(put, makers) {
          hear = (_, how) => { if (how !== "camera") context.signal("ask", say("acts.answer-first")); };
          place.hidden = true;
          const buttons = makers.map((maker) => h("button", { type: "button", class: "quiet", onclick: () => keep({ ...put, maker }) }, maker));
          below.className = "ask-for";
          replace(below, sealNumber(put.number), " ", say("acts.which-maker"));
          below.after(h("div", { class: "buttons" }, buttons));
          context.signal("ask", say("acts.which-maker"));
          buttons[0].focus();
        }
        function keep(put) {
          context.change({ seals: [...context.draft.seals.filter((each) => !isOf(each, seal)), put] });
          context.signal("good", say("further.put-on", { point: seal.point }));
          ask(open(context.draft, context.world)[0]);
        }
        function tell(id) {
          replace(below, say(id));
          below.className = "last ask";
          context.signal("ask", say(id));
          panel.focus();
        }
      }

      function draw() {
        const seals = wanted(context.draft, context.world);
        redraw(list, h("h2", { class: "tally" }, say("further.on-of", { done: seals.length - open(context.draft, context.world).length, all: seals.length })),
          h("ul", { class: "ticks" }, seals.map((seal) => line(context, seal, ask))));
      }
      draw();
      ask(open(context.draft, context.world)[0]);
      return draw;
    },
  };
}

function line(context, seal, ask) {
  const put = found(context.draft, seal);
  const name = say("acts.seal-of", { point: seal.point, thing: itemText(context.world, seal.item) });
  const before = context.world.items.get(seal.item)?.seals[seal.point];
  return h("li", { class: put ? "ticked" : "open" },
    h("span", { class: "thing" }, h("b", {}, name), put ? sealNumber(put.number) : null, !put && before ? h("span", { class: "soft small" }, say("further.has-one")) : null),
    h("span", { class: "tick-word" }, say(put ? "further.is-on" : "further.not-on")),
    h("button", { type: "button", class: "quiet small", "data-key": `${seal.item}:${seal.point}`, onclick: () => ask(seal) },
      say(put ? "further.another-number" : "further.this-one"), h("span", { class: "visually-hidden" }, ` ${name}`)));
}

function isOf(one, other) {
  return one.item === other.item && one.point === other.point;
}

function found(draft, seal) {
  return draft.seals.find((each) => isOf(each, seal));
}
