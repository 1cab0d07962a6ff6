/* The app's worker: every file in the cache by hash before it serves; takes over only when told. Filled in by the builder. */

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const VERSION = "VERSION";
/** path -> SHA-256 of its bytes @type {Record<string, string>} */
const FILES = {/* FILES */};
const BASE = new URL("./", worker.location.href);
// Other apps of this host have caches too: the folder is in the name.
const PREFIX = `driptray ${BASE.pathname} `;
const CACHE = PREFIX + VERSION;
const AT_ONCE = 8;

worker.addEventListener("install", (event) => {
  event.waitUntil(fill());
  shortcut(event);
});
worker.addEventListener("activate", (event) => event.waitUntil(settle()));
worker.addEventListener("message", (event) => {
  if (event.data?.ask === "take over") worker.skipWaiting();
  if (event.data?.ask === "files") event.ports[0]?.postMessage({ version: VERSION, cache: CACHE, files: FILES });
});
worker.addEventListener("fetch", (event) => {
  const path = pathOf(event.request);
  if (path !== null) event.respondWith(serve(path, event.request));
});

/** Which of our files a request is for; null: not ours, let it go by. @param {Request} request */
function pathOf(request) {
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== BASE.origin || !url.pathname.startsWith(BASE.pathname)) return null;
  const path = url.pathname.slice(BASE.pathname.length) || "index.html";
  return path in FILES ? path : null;
}

/** Opened once: each of a start's many files asks for it. @type {Promise<Cache> | undefined} */
let opened;

/** @param {string} path @param {Request} request */
async function serve(path, request) {
  opened ??= caches.open(CACHE);
  const kept = await (await opened).match(new URL(path, BASE).href);
  return kept ?? fetch(request);
}

/**
 * Where the browser can, it takes what a page asks for from the cache by itself, without waking the worker for each
 * file. Pages themselves, and all where the browser cannot, come through serve().
 * @param {ExtendableEvent & {addRoutes?: (rules: object[]) => Promise<void>}} event
 */
function shortcut(event) {
  if (!event.addRoutes) return;
  const rules = ["js/*", "css/*", "icons/*", "edition.json"].map((part) => ({
    condition: { urlPattern: BASE.pathname + part, requestMethod: "get" },
    source: { cacheName: CACHE },
  }));
  event.waitUntil(event.addRoutes(rules).catch(() => {}));
}

/** All files or no new version; several on their way at once, for a line where each journey takes long. */
async function fill() {
  const cache = await caches.open(CACHE);
  const olds = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  const left = Object.entries(FILES);
  const carry = async () => {
    for (let next = left.shift(); next; next = left.shift()) await keep(cache, olds, ...next);
  };
  await Promise.all(Array.from({ length: AT_ONCE }, carry));
}

/** @param {Cache} cache @param {string[]} olds @param {string} path @param {string} hash */
async function keep(cache, olds, path, hash) {
  const address = new URL(path, BASE).href;
  if (await fits(await cache.match(address), hash)) return;
  const found = (await fromOld(olds, address, hash)) ?? (await fromNetwork(address, path, hash));
  await cache.put(address, await bare(found));
}

/**
 * Without what the server said of how it sent the bytes: the browser's own way to the cache goes by `Vary`, and a file
 * that was kept for one kind of request would not be there for another.
 * @param {Response} response
 */
async function bare(response) {
  const headers = new Headers(response.headers);
  for (const name of ["vary", "content-encoding", "content-length", "transfer-encoding"]) headers.delete(name);
  return new Response(await response.arrayBuffer(), { status: response.status, headers });
}

/** A file that did not change is not fetched again. @param {string[]} olds @param {string} address @param {string} hash */
async function fromOld(olds, address, hash) {
  for (const name of olds) {
    const kept = await (await caches.open(name)).match(address);
    if (await fits(kept, hash)) return kept;
  }
  return null;
}

/** @param {string} address @param {string} path @param {string} hash */
async function fromNetwork(address, path, hash) {
  const response = await fetch(new Request(address, { cache: "no-cache" }));
  if (!response.ok) throw new Error(`${path}: answer ${response.status}`);
  if (!(await fits(response, hash))) throw new Error(`${path}: other bytes than this version was built with`);
  return response;
}

/** @param {Response | null | undefined} response @param {string} hash */
async function fits(response, hash) {
  if (!response) return false;
  const digest = await crypto.subtle.digest("SHA-256", await response.clone().arrayBuffer());
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("") === hash;
}

async function settle() {
  const olds = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(olds.map((name) => caches.delete(name)));
  await worker.clients.claim();
}
