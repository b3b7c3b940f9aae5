"use strict";
/* Where a browser allows it (https, or this machine): the last list that was seen stays readable without the bench.
   What was tapped meanwhile is kept by the page itself. A phone that is no longer paired keeps nothing. */
const STORE = "curetrack-pages", PATIENCE_MS = 4000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

const kept = async (request) => (await caches.open(STORE)).match(request, { ignoreVary: true });

const keep = async (request, answer) => {
  const store = await caches.open(STORE);
  if (new URL(request.url).search) { /* an earlier look of the same file is of no use */
    for (const old of await store.keys()) {
      if (new URL(old.url).pathname === new URL(request.url).pathname) await store.delete(old);
    }
  }
  await store.put(request, answer);
};

const fetched = async (request) => {
  const stop = new AbortController(), timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  try { return await fetch(request, { signal: stop.signal }); } finally { clearTimeout(timer); }
};

const page = async (request) => {
  try {
    const answer = await fetched(request);
    if (answer.status === 401) await caches.delete(STORE);
    if (answer.status === 200) await keep(request, answer.clone()).catch(() => {}); /* a full store is no reason */
    return answer;
  } catch (error) {
    const old = await kept(request);
    if (old) return old;
    throw error;
  }
};

const file = async (request) => {
  const old = await kept(request);
  if (old) return old;
  const answer = await fetch(request);
  if (answer.status === 200) await keep(request, answer.clone()).catch(() => {});
  return answer;
};

self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin || request.headers.has("x-part")) return;
  if (request.mode === "navigate" && (pathname === "/" || pathname.startsWith("/piece/") || pathname === "/silent")) {
    event.respondWith(page(request));
  } else if (pathname === "/app.css" || pathname === "/app.js") {
    event.respondWith(file(request));
  }
});
