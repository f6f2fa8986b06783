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

const LIST = '__files__';
const scope = /** @type {any} */ (self);
/** Caches belong to a whole address: where several courses stand below one, each knows its own by the folder. */
const COURSE = `course-${scope.registration.scope} `;
const CACHE = COURSE + VERSION;

/** @param {string} name */
const address = (name) => new URL(name.replace(/[%?#\\]/g, encodeURIComponent), scope.registration.scope).href;

/** The caches of other builds of this course, with the digests they hold. */
async function others() {
  const found = [];
  for (const name of await caches.keys()) {
    if (!name.startsWith(COURSE) || name === CACHE) continue;
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
    // A host that leads `page.html` on to `page` gives an answer that a browser takes for no page when it comes from here.
    await cache.put(address(name), answer.redirected ? new Response(answer.body, { headers: answer.headers }) : answer);
  }
  await cache.put(address(LIST), new Response(JSON.stringify(FILES), { headers: { 'Content-Type': 'application/json' } }));
}

async function clean() {
  for (const name of await caches.keys()) if (name.startsWith(COURSE) && name !== CACHE) await caches.delete(name);
  await scope.clients.claim();
}

/** @param {string} url @returns {string} the file's name, however the address writes its signs: `it%27s.html` is `it's.html` */
function named(url) {
  const rest = url.slice(scope.registration.scope.length).replace(/[?#].*$/, '');
  let name = rest;
  try { name = decodeURIComponent(rest); } catch { /* no name of ours: looked for as it stands */ }
  return name === '' || name.endsWith('/') ? `${name}index.html` : name;
}

/** @param {Request} request */
async function answer(request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(address(named(request.url)))) || fetch(request);
}

scope.addEventListener('install', (/** @type {any} */ event) => event.waitUntil(install()));
scope.addEventListener('activate', (/** @type {any} */ event) => event.waitUntil(clean()));
scope.addEventListener('message', (/** @type {any} */ event) => { if (event.data === 'use') scope.skipWaiting(); });
scope.addEventListener('fetch', (/** @type {any} */ event) => {
  const own = event.request.method === 'GET' && event.request.url.startsWith(scope.registration.scope);
  if (own) event.respondWith(answer(event.request));
});
