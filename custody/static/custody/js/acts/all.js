/** Every act, by the name in its address. */

import { amend } from "./amend.js";
import { count } from "./count.js";
import { handOver, receive } from "./handoff.js";
import { incident } from "./incident.js";
import { pack, unpack } from "./packing.js";
import { returnDesk } from "./return-desk.js";
import { applySeals, readSeals, removeSeals } from "./sealing.js";
import { settle } from "./settle.js";
import { steps } from "./steps.js";

const EVERY = [handOver, receive, returnDesk, applySeals, readSeals, removeSeals, pack, unpack, count, steps, incident, settle, amend];

export const ACTS = Object.fromEntries(EVERY.map((act) => [act.name, act]));
