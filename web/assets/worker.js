// Keeps pages for a phone without signal: the network first, what was kept before as a fallback.
// Entries are not this worker's business: the page's outbox sends them (app.js).
const CACHE = "dustwright-" + VERSION;
const PATIENCE = 4000; // ms until a slow network counts as none, where a page is kept

self.addEventListener("install", (e) => {
  e.waitUntil(caches.open(CACHE).then((c) => c.addAll(KEEP.concat(["/", "/round"]))).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (e) => {
  e.waitUntil(caches.keys().then((all) => Promise.all(all.filter((n) => n.startsWith("dustwright-") && n !== CACHE).map((n) => caches.delete(n)))).then(() => self.clients.claim()));
});

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin || url.pathname.startsWith("/api/") || url.pathname.startsWith("/phones/")) return;
  if (url.pathname.startsWith("/assets/")) e.respondWith(kept(e.request).then((hit) => hit || fetchAndKeep(e.request)));
  else e.respondWith(networkFirst(e.request));
});

const kept = (request) => caches.open(CACHE).then((c) => c.match(request, { ignoreVary: true }));

async function fetchAndKeep(request) {
  const answer = await fetch(request);
  if (answer.ok && !answer.redirected) (await caches.open(CACHE)).put(request, answer.clone());
  return answer;
}

async function networkFirst(request) {
  const before = await kept(request);
  const late = new Promise((give) => { if (before) setTimeout(() => give(before), PATIENCE); });
  try {
    return await Promise.race([fetchAndKeep(request), late]);
  } catch (err) {
    if (before) return before;
    if (request.mode === "navigate") {
      const round = await kept(new Request(new URL("/round", location.origin)));
      if (round) return round;
    }
    throw err;
  }
}

// A page asks for others to be kept: the stops of the round that it starts.
self.addEventListener("message", (e) => {
  if (!e.data || !Array.isArray(e.data.keep)) return;
  e.waitUntil(caches.open(CACHE).then((c) => Promise.all(e.data.keep.map((u) => c.add(u).catch(() => {})))).then(() => e.source && e.source.postMessage({ kept: e.data.keep.length })));
});
