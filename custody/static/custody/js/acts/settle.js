/** Settling a finding: what became of it, why, and who says so. Asks the record who has a part in it, where there is a network. */

import { h, redraw, replace } from "../dom.js";
import { ask } from "../phone/record.js";
import { heading, say, word } from "../words.js";
import { choiceStep } from "./choice.js";
import { personName } from "./here.js";
import { peopleStep } from "./people.js";
import { photosStep } from "./photos.js";
import { partyText, peopleText } from "./shown.js";
import { plain, textStep } from "./text.js";

export const OUTCOMES = ["explained", "corrected", "accepted", "referred"];

export const settle = {
  name: "settle",
  isFor: (draft, asked) => !asked.get("finding") || asked.get("finding") === draft.finding,
  steps: [
    findingStep(),
    choiceStep({
      key: "outcome",
      heading: () => say("settling.what-became"),
      options: () => OUTCOMES.map((value) => ({ value, words: heading(value), more: say(`settling.outcome-${value}`) })),
    }),
    textStep({ key: "reason", heading: () => say("settling.why"), label: () => say("settling.why-label"), needed: () => say("settling.why-needed") }),
    photosStep(),
    peopleStep({ end: "by", heading: () => say("settling.who"), roles: (_, world) => world.policy.resolve.roles }),
  ],
  start: (_, asked) => ({ finding: asked.get("finding"), about: null, outcome: null, reason: "" }),
  payload: (draft, world) => ({
    kind: "resolve", election: draft.about?.election ?? world.election, finding: draft.finding, outcome: draft.outcome, reason: plain(draft.reason), by: draft.parties.by,
  }),
  sentences: (members, world) => [
    say("settling.says", { people: partyText(world, members.by), outcome: word(members.outcome), finding: members.finding }),
    say("settling.says-why", { reason: members.reason }),
  ],
  heeds,
  after: (members) => [{ href: pageOf(members.finding), words: say("settling.see-it") }],
};

/** A key in an address: its slash stays one. */
function inPath(key) {
  return key.split("/").map(encodeURIComponent).join("/");
}

const pageOf = (key) => `/findings/${inPath(key)}`;

/** What no rule finds, and yet decides whether the finding stays open. */
function heeds({ about, outcome, parties }, world) {
  const { people } = parties.by;
  const { roles } = world.policy.resolve;
  const involved = people.filter((code) => about?.involved.includes(code));
  const free = people.filter((code) => !involved.includes(code));
  const counts = free.some((code) => (world.people.get(code)?.roles ?? []).some(({ role }) => roles.includes(role)));
  return [
    about ? null : say("settling.not-looked-up"),
    about && about.status !== "open" ? say("settling.not-open", { status: word(about.status) }) : null,
    involved.length ? say("settling.has-part", { people: peopleText(world, involved), count: involved.length }) : null,
    counts ? null : say("settling.stays-open", { roles: roles.map(word).join(", ") }),
    outcome === "referred" ? say("settling.referred-stays") : null,
  ].filter(Boolean);
}

function findingStep() {
  return {
    id: "finding",
    heading: () => say("settling.which"),
    lacking: (draft) => (draft.finding ? null : say("settling.none-chosen")),
    show(host, context) {
      const { finding } = context.draft;
      if (!finding) {
        return void replace(host, h("p", {}, say("settling.none-chosen")), h("p", {}, h("a", { class: "button", href: "/findings/" }, say("settling.to-findings"))));
      }
      const body = h("div");
      replace(host, body);
      const draw = () => redraw(body, context.draft.about ? told(context.draft.about, context.world) : null, h("p", { class: "code hash soft" }, finding));
      draw();
      if (context.draft.about) return;
      const said = h("p", { role: "status" }, say("settling.looking-up"));
      host.append(said);
      lookUp(finding).then(({ about, words }) => {
        if (!host.isConnected) return;
        if (about) context.change({ about });
        draw();
        replace(said, words);
      });
    },
  };
}

function told(about, world) {
  const parts = about.involved.map((code) => personName(world, code));
  return [
    h("p", {}, h("span", { class: `tag ${about.severity}` }, say(`acts.finds-${about.severity}`)), " ", h("b", {}, about.message)),
    parts.length ? h("section", {}, h("h2", { class: "titled" }, say("settling.part")), h("p", {}, say("settling.part-how")),
      h("ul", { class: "says" }, parts.map((name) => h("li", {}, name)))) : null,
  ];
}

async function lookUp(key) {
  const { document, status } = await ask(`/findings/${inPath(key)}/`);
  if (!document) return { words: say(status === 404 ? "settling.not-there" : status === 0 ? "settling.no-network" : "settling.not-allowed") };
  const { message, severity, election, involved, status: stands } = document;
  return { about: { message, severity, election, involved, status: stands }, words: "" };
}
