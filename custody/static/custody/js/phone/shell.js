/**
 * The service worker, which lets the pages start without a network. A newer one waits until the outbox is empty: while entries
 * are on their way, the program that made them stays.
 */

import * as outbox from "./outbox.js";

const WORKER = "/at-work/worker.js";

/** Register it; `onNewer` hears that a newer version is there, and whether the outbox holds it back. */
export async function startShell(onNewer) {
  const { serviceWorker } = navigator;
  if (!serviceWorker) return;
  const before = serviceWorker.controller;
  serviceWorker.addEventListener("controllerchange", () => { if (before && !isInHand()) location.reload(); });
  const registration = await serviceWorker.register(WORKER, { scope: "/at-work/" }).catch(() => null);
  if (!registration || !before) return;
  const look = () => { if (registration.waiting) offer(registration.waiting, onNewer); };
  const follow = () => registration.installing?.addEventListener("statechange", look);
  registration.addEventListener("updatefound", follow);
  outbox.onChange(look);
  follow();
  look();
}

async function offer(newer, onNewer) {
  const { waiting, parked } = await outbox.count();
  const isHeld = waiting + parked > 0;
  onNewer(isHeld);
  if (!isHeld && !isInHand()) newer.postMessage("take over");
}

/** At the beginning of a page nothing is in hand; in the middle of an act it would be. */
function isInHand() {
  return Boolean(document.querySelector("[data-in-hand]"));
}
