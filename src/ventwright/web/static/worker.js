// Opens the field page while the server is away. It keeps the files of one edition and nothing of the
// record: what stands in a visit, and what waits, lies in the page's own storage. EDITION and KEPT are
// written before this by the server.
const NAME = `ventwright ${EDITION}`;
const SHELL = "/shell";
const LONGEST_WAIT_MS = 4000;

addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(NAME);
    await cache.addAll([SHELL, ...KEPT]);
    await skipWaiting();
  })());
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const names = await caches.keys();
    await Promise.all(names.filter((name) => name.startsWith("ventwright ") && name !== NAME).map((name) => caches.delete(name)));
    await clients.claim();
  })());
});

/** The server's own answer, whatever it says; only where there is none, the page that was kept. */
async function visitPage(request) {
  const stop = new AbortController();
  const limit = setTimeout(() => stop.abort(), LONGEST_WAIT_MS);
  try {
    return await fetch(request, { cache: "no-cache", signal: stop.signal });
  } catch (trouble) {
    const kept = await (await caches.open(NAME)).match(SHELL);
    if (kept) return kept;
    throw trouble;
  } finally {
    clearTimeout(limit);
  }
}

async function file(request) {
  return (await (await caches.open(NAME)).match(request)) ?? fetch(request);
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  // Entries, events, photos and reports never pass through here.
  if (request.method !== "GET" || origin !== location.origin) return;
  if (request.mode === "navigate" && /^\/visits\/[^/]+$/.test(pathname)) event.respondWith(visitPage(request));
  else if (KEPT.includes(pathname)) event.respondWith(file(request));
});
