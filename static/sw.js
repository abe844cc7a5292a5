// Keeps the page whole and at hand with no server. The server puts VERSION and FILES (address: content digest) above.
// One cache a version, filled completely or not at all, and only ever read as a whole: never half old and half new.

const CACHE = `overbowl ${VERSION}`;

self.addEventListener("install", (event) => event.waitUntil(fetchAll()));

async function fetchAll() {
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(Object.entries(FILES).map(async ([path, digest]) => {
      // The server refuses another version's digest, so a server that changes meanwhile cannot mix versions.
      const response = await fetch(`${path}?v=${digest}`, { cache: "no-store", credentials: "same-origin" });
      if (!response.ok) throw new Error(`${path}: ${response.status}`);
      await cache.put(path, response);
    }));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

self.addEventListener("activate", (event) => event.waitUntil(takeOver()));

async function takeOver() {
  const old = (await caches.keys()).filter((name) => name.startsWith("overbowl ") && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin || !(url.pathname in FILES)) return;
  event.respondWith(fromCache(url.pathname, event.request));
});

async function fromCache(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? fetch(request);
}

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
  if (event.data === "whole?") event.waitUntil(sayWhole(event.ports[0]));
});

// "Works offline" is only true once every file is there.
async function sayWhole(port) {
  const cache = await caches.open(CACHE);
  const missing = [];
  for (const path of Object.keys(FILES)) if (!(await cache.match(path))) missing.push(path);
  port.postMessage({ version: VERSION, missing });
}
