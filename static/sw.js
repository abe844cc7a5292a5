// Keeps the page whole and at hand with no server. The server puts VERSION, PACK (the pack's digest) and PATHS above.
// One cache a version, filled from one body, and only ever read as a whole: never half old and half new.

const CACHE = `overbowl ${VERSION}`;

self.addEventListener("install", (event) => event.waitUntil(fetchAll()));

async function fetchAll() {
  // A server that has another version by now refuses this digest.
  const response = await fetch(`/pack?v=${PACK}`, { cache: "no-store", credentials: "same-origin" });
  if (!response.ok) throw new Error(`The pack did not come: ${response.status}.`);
  const files = await response.json();
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(PATHS.map((path) => cache.put(path, kept(files[path]))));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

// The page's own policy travels with it: the cached copy is as strict as the server's.
function kept({ type, text }) {
  return new Response(text, { headers: { "Content-Type": `${type}; charset=utf-8`, "Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff" } });
}

self.addEventListener("activate", (event) => event.waitUntil(takeOver()));

async function takeOver() {
  const old = (await caches.keys()).filter((name) => name.startsWith("overbowl ") && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin || !PATHS.includes(url.pathname)) return;
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
  for (const path of PATHS) if (!(await cache.match(path))) missing.push(path);
  port.postMessage({ version: VERSION, missing });
}
