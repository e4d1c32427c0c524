/**
 * The service worker, which lets the pages start without a network. A newer one waits until the outbox is empty: while entries
 * are on their way, the program that made them stays.
 */

import * as outbox from "./outbox.js";

const WORKER = "/work/worker.js";

/** Register it; `onNewer` hears that a newer version is there. */
export async function startShell(onNewer) {
  if (!navigator.serviceWorker) return;
  const before = navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener("controllerchange", () => { if (before) location.reload(); });
  const registration = await navigator.serviceWorker.register(WORKER, { scope: "/work/" }).catch(() => null);
  if (!registration) return;
  const look = () => { if (registration.waiting && before) offer(registration, onNewer); };
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
  outbox.onChange(look);
  look();
}

async function offer(registration, onNewer) {
  const { waiting } = await outbox.count();
  onNewer(waiting > 0);
  // At the beginning of a page nothing is in hand; in the middle of an act it would be.
  if (waiting === 0 && !document.querySelector("[data-in-hand]")) registration.waiting?.postMessage("take over");
}
