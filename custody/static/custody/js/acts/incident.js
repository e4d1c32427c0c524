/** Something out of the ordinary: what it was, what it is about, in whose words. */

import { heading, say, word } from "../words.js";
import { choiceStep } from "./choice.js";
import { heldHere, rolesHere, siteOf, stillOwed } from "./here.js";
import { peopleStep } from "./people.js";
import { photosStep } from "./photos.js";
import { itemText, partyText } from "./shown.js";
import { textStep } from "./text.js";
import { thingsStep } from "./things.js";

export const CATEGORIES = ["unit_failure", "power_loss", "damaged", "lost", "found", "seal_void", "other"];

export const incident = {
  name: "incident",
  steps: [
    choiceStep({ key: "category", heading: () => say("further.what-happened"), options: () => CATEGORIES.map((value) => ({ value, words: heading(value), more: say(`further.category-${value.replace("_", "-")}`) })) }),
    thingsStep({
      heading: () => say("further.about-what"),
      offered: (draft, world) => (draft.category === "lost" ? stillOwed(world) : heldHere(world)),
      loose: true,
      lacking: (draft) => (draft.category === "seal_void" && !draft.loose.length ? say("further.which-seal-void") : null),
    }),
    textStep({ key: "note", heading: () => say("further.in-words"), label: () => say("further.in-words-label") }),
    photosStep(),
    peopleStep({ end: "by", heading: () => say("further.who-reports"), roles: (_, world) => [...rolesHere(world), "courier", "technician", "official"] }),
  ],
  start: () => ({ items: [], loose: [], category: null }),
  payload: (draft, world) => ({
    kind: "incident", site: world.site, items: draft.items, category: draft.category, by: draft.parties.by,
    ...(draft.loose.length ? { loose_seals: draft.loose } : {}),
  }),
  sentences: (members, world) => [
    say("further.says-incident", { people: partyText(world, members.by), place: siteOf(world).name, category: word(members.category) }),
    members.items.length ? say("further.says-about", { things: members.items.map((code) => itemText(world, code)).join("; ") }) : null,
    members.loose_seals ? say("acts.says-loose", { runs: members.loose_seals.join(", ") }) : null,
    members.note ? say("further.says-note", { note: members.note }) : null,
  ].filter(Boolean),
};
