/** Findings about what lies in what that can be seen coming: left in a machine, not in there, opened while sealed, two at once. */

import { around, contents } from "../phone/world.js";
import { hasOwnSeals, inside, kindOf, movedItems } from "./views.js";

/** After the polls closed a scanner is handed over, or sealed, with a memory device in it. */
export function memoryLeftIn(members, world) {
  const closed = world.steps.some((done) => done.step === "polls_closed");
  if (!closed || world.policy.memory.stays_in) return [];
  const codes = members.kind === "handoff" ? members.items : members.kind === "seal" ? members.seals.map((seal) => seal.item) : [];
  const open = [...new Set(codes)].filter((code) => kindOf(world, code) === "scanner" && inside(world, code).some((each) => kindOf(world, each) === "memory_device"));
  return open.map((code) => ({ rule: "memory-left-in", severity: "critical", items: [code], parameters: {} }));
}

/** The record has a thing in another container than this entry shows. */
export function contentsDiffer(members, world) {
  const { kind, items = [], container, step } = members;
  let apart = [];
  if (kind === "handoff" || kind === "dispose" || kind === "pack") {
    apart = items.filter((code) => {
      const inIt = world.items.get(code)?.container;
      return inIt && inIt !== container && !around(world, code).some((each) => items.includes(each));
    });
  } else if (kind === "unpack") {
    apart = items.filter((code) => world.items.get(code)?.container !== container);
  }
  if (kind === "dispose" || (kind === "step" && step === "shown_empty")) {
    apart = [...apart, ...items.flatMap((code) => contents(world, code)).filter((code) => !items.includes(code))];
  }
  return apart.length ? [{ rule: "contents-differ", severity: "critical", items: apart, parameters: { count: apart.length } }] : [];
}

export function openedWhileSealed(members, world) {
  if (members.kind !== "pack" && members.kind !== "unpack") return [];
  const closed = [members.container, ...around(world, members.container)].filter((code) => hasOwnSeals(world, code));
  return closed.length ? [{ rule: "opened-while-sealed", severity: "critical", items: closed, parameters: {} }] : [];
}

export function secondDevice(members, world) {
  if (members.kind !== "pack" || kindOf(world, members.container) !== "scanner") return [];
  const isDevice = (code) => kindOf(world, code) === "memory_device";
  const held = inside(world, members.container).filter(isDevice);
  const added = members.items.filter((code) => isDevice(code) && !held.includes(code));
  return added.length && held.length + added.length > 1
    ? [{ rule: "second-device", severity: "warning", items: [members.container, ...held, ...added], parameters: {} }] : [];
}

/** A device came out, or a results tape was signed, before the polls closed. */
export function stepOutOfOrder(members, world) {
  const closed = world.steps.some((done) => done.step === "polls_closed");
  const late = ["memory_removed", "results_tape_signed"].includes(members.step) && members.kind === "step";
  return late && !closed ? [{ rule: "step-out-of-order", severity: "warning", items: movedItems(members), parameters: {} }] : [];
}
