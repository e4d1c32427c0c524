/** Every act, by the name in its address. */

import { handOver, receive } from "./handoff.js";

export const ACTS = Object.fromEntries([handOver, receive].map((act) => [act.name, act]));
