/**
 * The service worker of the pages under /work/: keeps the program, never data. One version is one list of files, taken whole or not at
 * all. The program that made what is in the outbox stays until that has been sent: a newer version waits until a page tells it to take
 * over; and where a browser lets it in by itself, once all pages are closed, it goes on serving the older files until it may change.
 *
 * `VERSION`, `LANGUAGE` and `FILES` stand before this text when the server sends it.
 */

const OURS = "custody-work-";
const NAME = `${OURS}${VERSION}`;
/** Where the files of any version stand: `/work/`, `/static/`. */
const ROOTS = Array.from(new Set(FILES.map((file) => `/${file.split("/")[1]}/`)));

self.addEventListener("install", (event) => event.waitUntil(takeIn()));

self.addEventListener("activate", (event) => event.waitUntil(changeIfAllowed().then(() => self.clients.claim())));

self.addEventListener("message", (event) => {
  if (event.data === "take over") event.waitUntil(mayChange().then((may) => may && self.skipWaiting()));
});

self.addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== self.location.origin || !ROOTS.some((root) => pathname.startsWith(root))) return;
  event.respondWith(answer(event.request, pathname));
});

/** All files of this version, or none; and none if the server went on to another version meanwhile. */
async function takeIn() {
  try {
    const cache = await caches.open(NAME);
    const headers = { "Accept-Language": LANGUAGE };
    await cache.addAll(FILES.map((file) => new Request(file, { cache: "no-cache", credentials: "omit", headers })));
    const script = await fetch(self.location.href, { cache: "no-store", headers });
    if (!(await script.text()).includes(VERSION)) throw new Error("another version by now");
  } catch (error) {
    await caches.delete(NAME);
    throw error;
  }
}

/** A kept file, of the oldest version that is kept: `caches` looks in the order in which they were made. */
async function answer(request, pathname) {
  if (request.mode === "navigate") await changeIfAllowed();
  return (await caches.match(pathname, { ignoreVary: true })) ?? fetch(request);
}

/** From now on the files of this version, unless the older ones are still needed. A newer one's are not ours to touch: it waits. */
async function changeIfAllowed() {
  const names = (await caches.keys()).filter((name) => name.startsWith(OURS));
  const older = names.slice(0, Math.max(names.indexOf(NAME), 0));
  if (older.length && await mayChange()) await Promise.all(older.map((name) => caches.delete(name)));
}

/** Whether nothing is on its way, and no page is open beside the one that asks. */
async function mayChange() {
  const pages = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  const ours = pages.filter((page) => page.url.startsWith(self.registration.scope));
  return ours.length <= 1 && !(await holdsSomething());
}

/** Whether the outbox holds what is not on record. Where that cannot be told, it does. */
function holdsSomething() {
  return new Promise((resolve) => {
    const opening = indexedDB.open("custody");
    opening.onupgradeneeded = () => opening.transaction.abort();  // there is none yet, and a page shall make it
    opening.onerror = () => resolve(opening.error.name !== "AbortError");
    opening.onsuccess = () => {
      opening.result.onversionchange = () => opening.result.close();
      const asked = opening.result.transaction("outbox").objectStore("outbox").getAll();
      asked.onsuccess = () => resolve(asked.result.some((item) => item.state !== "sent"));
      asked.onerror = () => resolve(true);
      opening.result.close();
    };
  });
}
