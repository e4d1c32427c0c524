/** What this browser lacks for the work at a place, as ids of words: `outbox.lacks-…`. */

/** What nothing can be signed or kept without. Without encryption on the way there is none of it, whatever the browser is. */
export async function lacking() {
  if (!globalThis.isSecureContext) return ["secure"];
  return [(await signs()) ? null : "ed25519", (await keeps()) ? null : "storage"].filter(Boolean);
}

/** What can be done without, at a price. */
export function without() {
  return navigator.serviceWorker || !globalThis.isSecureContext ? [] : ["worker"];
}

async function signs() {
  try {
    await crypto.subtle.generateKey({ name: "Ed25519" }, false, ["sign", "verify"]);
    return true;
  } catch {
    return false;
  }
}

async function keeps() {
  try {
    const { read } = await import("./database.js");
    await read("settings", (store) => store.get("able"));
    return Boolean(navigator.locks);
  } catch {
    return false;
  }
}
