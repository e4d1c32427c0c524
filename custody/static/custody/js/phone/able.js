/** What this browser lacks for the work at a place, as ids of words: `outbox.lacks-…`. */

/** What nothing can be signed or kept without. */
export async function lacking() {
  const lacks = [];
  if (!globalThis.isSecureContext) lacks.push("secure");
  else if (!(await signs())) lacks.push("ed25519");
  if (!(await keeps())) lacks.push("storage");
  return lacks;
}

/** What can be done without, at a price. */
export function without() {
  return navigator.serviceWorker ? [] : ["worker"];
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
