/**
 * The service worker of the pages under /work/: keeps the program, never data. One version is one list of files, taken whole or not at
 * all. A newer version waits until a page tells it to take over, which none does while its outbox holds something.
 *
 * `VERSION` and `FILES` stand before this text when the server sends it.
 */

const NAME = `custody-work-${VERSION}`;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: "no-cache", credentials: "omit" })))));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("custody-work-") && name !== NAME);
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== self.location.origin || !FILES.includes(pathname)) return;
  event.respondWith(caches.open(NAME).then(async (cache) => (await cache.match(pathname)) ?? fetch(event.request)));
});
