// Keeps the pages of "If it goes wrong" for when there is no network. It reaches the addresses below its own, and no
// others. The network comes first, always; a copy is shown only where that fails, and says of when it is.
"use strict";

const KEPT = "kept-hazard-sheets";
// What the server says of a page of which all that it tells is in force, and nothing about whoever looks at it.
const MAY_BE_KEPT = "Latheside-Keep";
const PATIENCE_MS = 8000;

const bare = (address) => address.split(/[?#]/)[0];

// Puts an answer of the server in the place of the copy there was, or lets that go where it may not be kept any more.
const settle = async (address, answer) => {
  if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) {
    await caches.delete(KEPT); // nobody is signed in on this device any more
    return false;
  }
  if (answer.status >= 500) return false;
  const kept = await caches.open(KEPT);
  if (answer.ok && answer.headers.has(MAY_BE_KEPT)) {
    await kept.put(address, answer);
    return true;
  }
  await kept.delete(address);
  return false;
};

const ask = (request) => fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });

const copyOf = async (address) => {
  const found = await caches.match(address, { cacheName: KEPT });
  if (!found) return null;
  const text = (await found.text()).replace('id="kept-copy" hidden', 'id="kept-copy"');
  return new Response(text, { status: 200, headers: found.headers });
};

const page = async (event) => {
  const address = bare(event.request.url);
  try {
    const answer = await ask(event.request);
    if (answer.status >= 500) return (await copyOf(address)) || answer;
    event.waitUntil(settle(address, answer.clone()));
    return answer;
  } catch (lost) {
    const copy = await copyOf(address);
    if (copy) return copy;
    throw lost;
  }
};

// Style sheets and scripts of a kept page: they have their date in their name.
const part = async (request) => {
  try {
    return await fetch(request);
  } catch (lost) {
    const found = await caches.match(bare(request.url), { cacheName: KEPT });
    if (found) return found;
    throw lost;
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || !request.url.startsWith(self.location.origin)) return;
  if (request.mode === "navigate") event.respondWith(page(event));
  else if (["style", "script", "image"].includes(request.destination)) event.respondWith(part(request));
});

// What a page asks to have kept: itself, what it links to, what it is made of.
const keep = async ({ pages, parts, isList }) => {
  let all = true;
  for (const address of pages.map(bare)) {
    const answer = await fetch(address, { redirect: "manual", credentials: "same-origin" });
    all = (await settle(address, answer)) && all;
    if (answer.type === "opaqueredirect") return false;
  }
  const kept = await caches.open(KEPT);
  const wanted = new Set([...pages, ...parts].map(bare));
  for (const address of parts) if (!(await kept.match(bare(address)))) await kept.add(address);
  if (isList) {
    for (const { url } of await kept.keys()) if (!wanted.has(url)) await kept.delete(url);
  }
  return all;
};

self.addEventListener("message", (event) => {
  event.waitUntil(
    keep(event.data).then(
      (kept) => event.ports[0].postMessage({ kept }),
      () => event.ports[0].postMessage({ kept: false }),
    ),
  );
});

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
