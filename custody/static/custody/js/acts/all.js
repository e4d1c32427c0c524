/** Every act, by the name in its address. */

export const ACTS = {};
