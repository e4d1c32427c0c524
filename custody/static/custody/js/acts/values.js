/**
 * Fields for new values of an entry's members. An editor: `begin(value, world)` makes of the value on record what its fields hold, plain
 * data; `draw(host, {name, held, change, entry, world})` shows them; `read(held, {entry, world, value})` gives `{value}` or `{lacking}`, in
 * words; `show(value, world)` says a value in a sentence, or in one for each of several.
 */

import { h, replace } from "../dom.js";
import { dumpInstant, parseInstant } from "../record/instants.js";
import { readCode } from "../record/labels.js";
import { fromLocal, toLocal } from "../record/local.js";
import { heading, say, word } from "../words.js";
import { siteOf } from "./here.js";
import { readRun } from "./loose.js";
import { itemText, readingText } from "./shown.js";
import { plain } from "./text.js";

const STATES = ["intact", "damaged", "not_holding", "missing", "unreadable"];
const WITHOUT_NUMBER = ["missing", "unreadable"];
const MOST = 9_999_999;

/** One field under its label, of whichever kind. */
function field(id, label, input) {
  input.id = id;
  return h("p", { class: "field" }, h("label", { for: id }, label), input);
}

const idOf = (name) => `value-${name}`;
const labelOf = (name) => say(`amending.member-${name}`);

/** A field in which one text is typed. */
function typed({ name, held, change }, make) {
  const input = make(() => change(input.value), held);
  return [field(idOf(name), labelOf(name), input), input];
}

export const text = ({ optional = false } = {}) => ({
  begin: (value) => value ?? "",
  draw: (host, given) => replace(host, ...typed(given, (oninput, held) => h("textarea", { rows: 4, maxlength: 2000, oninput }, held)).slice(0, 1),
    h("p", { class: "soft" }, say("acts.note-stays"))),
  read: (held) => (plain(held) || optional ? { value: plain(held) } : { lacking: say("amending.write-something") }),
  show: (value) => (value ? `“${value}”` : say("amending.nothing")),
});

/** One of the words of the record. `list(world)` gives them. */
export const oneOf = (list) => ({
  list,
  begin: (value) => value,
  draw(host, { name, held, change, world }) {
    const select = h("select", { onchange: () => change(select.value) }, list(world).map((each) => h("option", { value: each, selected: each === held }, heading(each))));
    replace(host, field(idOf(name), labelOf(name), select));
  },
  read: (held) => ({ value: held }),
  show: word,
});

export const site = {
  begin: (value) => value ?? "",
  draw(host, { name, held, change, world }) {
    const known = world.sites.some((each) => each.code === held) || !held ? world.sites : [siteOf(world, held), ...world.sites];
    const select = h("select", { onchange: () => change(select.value) }, h("option", { value: "", selected: !held }, say("amending.on-the-road")),
      known.map((each) => h("option", { value: each.code, selected: each.code === held }, `${each.name} (${each.code})`)));
    replace(host, field(idOf(name), labelOf(name), select));
  },
  read: (held) => ({ value: held }),
  show: (value, world) => (value ? siteOf(world, value).name : say("amending.on-the-road")),
};

export const moment = {
  begin: (value, world) => toLocal(parseInstant(value), world.timezone),
  draw(host, given) {
    const [line] = typed(given, (oninput, held) => h("input", { type: "datetime-local", step: 1, value: held, oninput, "aria-describedby": "value-zone" }));
    replace(host, line, h("p", { class: "soft", id: "value-zone" }, say("amending.zone", { zone: zoneAt(given.entry.at, given.world) })));
  },
  read(held, { world }) {
    const seconds = fromLocal(held, world.timezone);
    return seconds === null ? { lacking: say("amending.no-time") } : { value: dumpInstant(seconds) };
  },
  show: (value, world) => clockOf(world).format(new Date(parseInstant(value) * 1000)),
};

const clockOf = (world) => new Intl.DateTimeFormat(document.documentElement.lang || "en", {
  timeZone: world.timezone, weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23", timeZoneName: "short",
});

/** What the time zone is called at an instant, as beside the time on record. */
function zoneAt(instant, world) {
  return clockOf(world).formatToParts(new Date(parseInstant(instant) * 1000)).find(({ type }) => type === "timeZoneName").value;
}

/** The code of an item as it stands on a label; or of a place, where one may be meant. */
export const code = {
  begin: (value) => value,
  draw: (host, given) => replace(host, typed(given, (oninput, held) => h("input", { autocomplete: "off", autocapitalize: "characters", spellcheck: "false", value: held, oninput }))[0]),
  read: (held, { world }) => {
    const asked = held.trim().toUpperCase();
    return world.sites.some((each) => each.code === asked) ? { value: asked } : labelled(held);
  },
  show: (value) => value,
};

function labelled(typedText) {
  try {
    return { value: readCode(typedText) };
  } catch {
    return { lacking: say("amending.no-code", { text: typedText.trim() }) };
  }
}

/** Several, one a line. `readLine` gives {value} or {lacking}, `showLine(value, world)` a text; a line that is on record already stays as it is. */
const lines = (readLine, showLine, how, isEnough) => ({
  begin: (value) => (value ?? []).join("\n"),
  draw: (host, given) => replace(host, h("p", { class: "soft" }, say(how)),
    typed(given, (oninput, held) => h("textarea", { class: "code", rows: Math.min(12, held.split("\n").length + 2), autocapitalize: "characters", spellcheck: "false", oninput }, held))[0]),
  read(held, { entry, value = [] }) {
    const found = held.split("\n").map((line) => line.trim()).filter(Boolean).map((line) => (value.includes(line) ? { value: line } : readLine(line)));
    const bad = found.find((each) => each.lacking);
    if (bad) return bad;
    const values = [...new Set(found.map((each) => each.value))];
    return values.length || isEnough(entry) ? { value: values } : { lacking: say("amending.at-least-one") };
  },
  show: (value, world) => (value?.length ? value.map((each) => showLine(each, world)) : say("amending.nothing")),
});

export const items = lines(labelled, (each, world) => itemText(world, each), "amending.items-how", ({ kind, loose_seals: loose }) => ["incident", "step"].includes(kind) || (kind === "handoff" && Boolean(loose?.length)));

export const runs = lines((line) => {
  const [first, last] = line.toUpperCase().split("..");
  const run = readRun(first, last);
  return run ? { value: run } : { lacking: say("acts.no-run") };
}, String, "amending.runs-how", ({ kind, items: named }) => kind === "incident" || Boolean(named?.length));

export const readings = {
  begin: (value) => value.map(({ number = "", ...reading }) => ({ ...reading, number })),
  draw(host, { held, change, entry, world }) {
    let now = held;
    const put = (at, patch) => {
      now = now.map((each, place) => (place === at ? { ...each, ...patch } : each));
      change(now);
    };
    replace(host, held.map((reading, at) => {
      const number = h("input", { autocomplete: "off", autocapitalize: "characters", spellcheck: "false", class: "code", value: reading.number, oninput: () => put(at, { number: number.value }) });
      const state = h("select", { onchange: () => put(at, { state: state.value }) }, STATES.map((each) => h("option", { value: each, selected: each === reading.state }, heading(each))));
      return h("fieldset", { class: "choices values" }, h("legend", {}, say("acts.seal-of", { thing: itemText(world, reading.item), point: reading.point })),
        field(`value-number-${at}`, say("amending.number"), number),
        entry.kind === "seal" ? null : field(`value-state-${at}`, say("amending.state"), state));
    }));
  },
  read(held) {
    const empty = held.find((each) => !WITHOUT_NUMBER.includes(each.state) && !each.number.trim());
    if (empty) return { lacking: say("amending.no-number", { point: empty.point }) };
    return { value: held.map(({ number, maker, ...reading }) => (WITHOUT_NUMBER.includes(reading.state) ? reading
      : { ...reading, number: number.trim().toUpperCase(), ...(maker ? { maker } : {}) })) };
  },
  show: (value, world) => value.map((reading) => readingText(world, reading)),
};

/** Those that were counted, and any other of the same kind; one that is emptied is not recorded any more. */
export const figures = (list) => ({
  begin: (value) => Object.fromEntries(Object.entries(value).map(([name, figure]) => [name, String(figure)])),
  draw(host, { held, change }) {
    const now = { ...held };
    const names = [...Object.keys(held), ...list.filter((name) => !(name in held))];
    replace(host, names.map((name) => {
      const input = h("input", { inputmode: "numeric", autocomplete: "off", value: held[name] ?? "", oninput() {
        now[name] = input.value.trim();
        change({ ...now });
      } });
      return field(`value-${name}`, heading(name), input);
    }));
  },
  read(held) {
    const given = Object.entries(held).filter(([, figure]) => figure);
    if (given.some(([, figure]) => !/^\d+$/.test(figure) || Number(figure) > MOST)) return { lacking: say("further.whole-numbers") };
    return given.length ? { value: Object.fromEntries(given.map(([name, figure]) => [name, Number(figure)])) } : { lacking: say("further.one-figure") };
  },
  show: (value) => Object.entries(value).map(([name, figure]) => say("further.says-figure", { figure: heading(name), value: figure })).join(" "),
});
