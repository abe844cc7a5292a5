// Keeps the page whole and at hand with no server. The server puts VERSION, DIGESTS ({path: SHA-256 of its body}) and POLICY
// above. One cache a version, filled as a whole and only ever read as a whole: never half old and half new.

const CACHE = `overbowl ${VERSION}`;
const PATHS = Object.keys(DIGESTS);
const OLDER = "/older-caches"; // an entry of the cache: which others there were when it was begun

self.addEventListener("install", (event) => {
  event.waitUntil(fetchAll());
  // Where the browser can, it takes the files from this version's cache by itself, sooner than this worker could.
  event.addRoutes?.(PATHS.map((pathname) => ({ condition: { urlPattern: { pathname }, requestMethod: "GET" }, source: { cacheName: CACHE } })))?.catch(() => {});
});

async function fetchAll() {
  const there = await caches.keys();
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(PATHS.map(async (path) => cache.put(path, await fetchOne(path))));
    await cache.put(OLDER, new Response(JSON.stringify(there.filter((name) => name !== CACHE))));
  } catch (error) {
    // A cache that was there before this install may be the one in use: an older version put back at the machine has its name.
    if (!there.includes(CACHE)) await caches.delete(CACHE);
    throw error;
  }
}

// What the page has just fetched comes from the browser's own cache, once the server said that it is still the same.
async function fetchOne(path) {
  const response = await fetch(path, { cache: "no-cache", credentials: "same-origin" });
  if (!response.ok) throw new Error(`${path} did not come: ${response.status}.`);
  const body = await response.arrayBuffer();
  // The server may have another version by now.
  if (await digestOf(body) !== DIGESTS[path]) throw new Error(`${path} is of another version.`);
  return kept(body, response.headers.get("Content-Type"));
}

async function digestOf(body) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

// The page's own policy travels with it: the cached copy is as strict as the server's.
function kept(body, type) {
  return new Response(body, { headers: { "Content-Type": type, "Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff" } });
}

self.addEventListener("activate", (event) => event.waitUntil(takeOver()));

// Only what was there when this version began: a still newer one may be filling its own.
async function takeOver() {
  const older = await (await caches.open(CACHE)).match(OLDER);
  const names = older ? await older.json() : [];
  await Promise.all(names.filter((name) => name.startsWith("overbowl ")).map((name) => caches.delete(name)));
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
