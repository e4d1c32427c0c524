/** Who stands at one end: tapped in a list, or named by scanning a badge, which here only says who somebody is. */

import { h, redraw, replace } from "../dom.js";
import { heading, say, word } from "../words.js";
import { holders, peopleFor, personName, standsAtSite } from "./here.js";

const MANY = 8;

/**
 * @param {object} options
 * @param {"by" | "release" | "receive"} options.end
 * @param {(draft, world) => string} options.heading
 * @param {(draft, world) => string[]} options.roles the roles that may stand at this end; the first is taken to begin with
 * @param {boolean} [options.near] whether these people stand at this place: those of the last act here are named to begin with
 * @param {object} [options.choice] a choice above the people, as `routes.js` has it: `show(host, context)`
 */
export function peopleStep({ end, heading: title, roles, near = true, choice = null }) {
  return {
    id: `people-${end}`,
    heading: title,
    lacking: (draft) => (draft.parties[end]?.people.length ? null : say("acts.name-somebody")),
    show(host, context) {
      if (!draftParty(context, end)) begin(context, end, roles(context.draft, context.world)[0], near);
      const top = h("div");
      const panel = h("div");
      const list = h("div");
      const note = h("p", { class: "note", hidden: true });
      const find = h("input", { type: "search", id: `find-${end}`, autocomplete: "off", oninput: () => drawList() });
      const finder = h("p", { class: "field", hidden: true }, h("label", { for: find.id }, say("acts.find-name")), find);
      replace(host, top, panel, note, finder, list);

      const offered = () => [draftParty(context, end).role, ...roles(context.draft, context.world)];
      const takes = (code, named) => name(context, end, code, named);

      const holding = holders(context.world);
      const place = (code) => (draftParty(context, end).people.includes(code) ? 0 : holding.has(code) ? 1 : 2);

      function drawTop() {
        if (choice) choice(top, context);
        else redraw(top, roleChoice(context, end, roles(context.draft, context.world)));
      }
      function drawList() {
        const { people, role } = draftParty(context, end);
        const known = peopleFor(context.world, choice ? [role] : offered());
        const others = people.filter((code) => !known.some((person) => person.code === code));
        finder.hidden = known.length <= MANY;
        const asked = find.value.trim().toLocaleLowerCase();
        const shown = known.filter((person) => people.includes(person.code) || !asked || person.name.toLocaleLowerCase().includes(asked));
        const boxes = [...others.map((code) => context.world.people.get(code) ?? { code, name: code, roles: [] }), ...shown];
        // In a long list those who are named stand first, where they are seen; then those who have something with them.
        if (known.length > MANY) boxes.sort((one, other) => place(one.code) - place(other.code));
        redraw(list, h("fieldset", { class: "choices" }, h("legend", {}, say("acts.who-is-here")),
          boxes.map((person) => personBox(person, people, takes))));
      }
      drawTop();
      drawList();
      context.scans((found) => {
        if (found.type !== "badge") return void context.signal("ask", say("acts.that-is-no-badge"));
        const code = found.badge.person;  // who it is; the secret is let go of here
        note.hidden = context.world.people.has(code);
        replace(note, say("acts.person-not-on-list", { code }));
        takes(code, true);
        context.signal(note.hidden ? "good" : "ask", say("acts.named", { name: personName(context.world, code) }));
      }, { ask: "badge", host: panel });
      return () => { drawTop(); drawList(); };
    },
  };
}

function draftParty(context, end) {
  return context.draft.parties[end];
}

function begin(context, end, role, near) {
  const people = near ? context.last[role] ?? [] : [];
  setParty(context, end, role, people.filter((code) => context.world.people.has(code)));
}

/** A party as the entry has it: with the site, where its role stands at one. */
export function setParty(context, end, role, people) {
  const site = standsAtSite(role) ? siteFor(context.world, role, people) : null;
  context.change({ parties: { ...context.draft.parties, [end]: { role, people, ...(site ? { site } : {}) } } });
}

/** Where a role's people stand: where they are assigned, and this place where nothing else is known. */
function siteFor(world, role, people) {
  const assigned = people.flatMap((code) => world.people.get(code)?.roles ?? []).filter((each) => each.role === role && each.site);
  return assigned.some((each) => each.site === world.site) ? world.site : assigned[0]?.site ?? world.site;
}

function name(context, end, code, named) {
  const { role, people } = draftParty(context, end);
  const others = people.filter((each) => each !== code);
  setParty(context, end, role, named ? [...others, code] : others);
}

function personBox(person, people, takes) {
  const box = h("input", { type: "checkbox", "data-key": person.code, checked: people.includes(person.code), onchange: () => takes(person.code, box.checked) });
  const roles = [...new Set(person.roles.map((each) => word(each.role)))];
  return h("label", { class: "choice" }, box, h("span", {}, h("b", {}, person.name || person.code),
    h("span", { class: "soft small" }, [...roles, person.affiliation].filter(Boolean).join(" · "))));
}

function roleChoice(context, end, roles) {
  if (roles.length < 2) return null;
  const select = h("select", { id: `role-${end}`, "data-key": "role", onchange: () => setParty(context, end, select.value, draftParty(context, end).people) },
    roles.map((role) => h("option", { value: role, selected: role === draftParty(context, end).role }, heading(role))));
  return h("p", { class: "field" }, h("label", { for: select.id }, say("acts.they-answer-as")), select);
}
