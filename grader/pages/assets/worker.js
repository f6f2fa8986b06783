/**
 * Keeps the whole course on the device after one visit, so that it opens without a network. Served beside the pages; not from a folder.
 *
 * FILES maps every file of this build to its digest. A new build is fetched beside the old one, what has not changed is taken over, and
 * nothing of the old one goes before the new one is whole and its reader asks for it.
 */
'use strict';

/** @type {string} */
const VERSION = '__VERSION__';
/** @type {Object<string, string>} */
const FILES = JSON.parse('__FILES__');

const CACHE = `course-${VERSION}`;
const LIST = '__files__';
const scope = /** @type {any} */ (self);

/** @param {string} name */
const address = (name) => new URL(name, scope.registration.scope).href;

/** The caches of other builds of this course, with the digests they hold. */
async function others() {
  const found = [];
  for (const name of await caches.keys()) {
    if (!name.startsWith('course-') || name === CACHE) continue;
    const cache = await caches.open(name);
    const list = await cache.match(address(LIST));
    found.push({ cache, files: list ? await list.json() : {} });
  }
  return found;
}

async function install() {
  const cache = await caches.open(CACHE), before = await others();
  for (const [name, digest] of Object.entries(FILES)) {
    const old = before.find((one) => one.files[name] === digest);
    const kept = old && await old.cache.match(address(name));
    const answer = kept || await fetch(address(name), { cache: 'reload' });
    if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
    await cache.put(address(name), answer);
  }
  await cache.put(address(LIST), new Response(JSON.stringify(FILES), { headers: { 'Content-Type': 'application/json' } }));
}

async function clean() {
  for (const name of await caches.keys()) if (name.startsWith('course-') && name !== CACHE) await caches.delete(name);
  await scope.clients.claim();
}

/** @param {Request} request */
async function answer(request) {
  const cache = await caches.open(CACHE);
  const plain = request.url.replace(/[?#].*$/, '');
  return (await cache.match(plain.endsWith('/') ? `${plain}index.html` : plain)) || fetch(request);
}

scope.addEventListener('install', (/** @type {any} */ event) => event.waitUntil(install()));
scope.addEventListener('activate', (/** @type {any} */ event) => event.waitUntil(clean()));
scope.addEventListener('message', (/** @type {any} */ event) => { if (event.data === 'use') scope.skipWaiting(); });
scope.addEventListener('fetch', (/** @type {any} */ event) => {
  const own = event.request.method === 'GET' && event.request.url.startsWith(scope.registration.scope);
  if (own) event.respondWith(answer(event.request));
});
