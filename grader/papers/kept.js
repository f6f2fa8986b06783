/* Keeps what is typed where a killed browser cannot lose it. The plain store answers at once, and reaches the disk only seconds
   later; the database writes each change through. On the next visit whichever is newer counts. */
const graderKept = (function () {
  'use strict';

  /** @typedef {{place: string, text: string, at: number}} Kept */
  const STORE = 'kept';
  /** @type {Map<string, Kept>} what the database has not been given yet */
  const waiting = new Map();
  let writing = false;
  let last = 0;

  /** @type {Promise<IDBDatabase>} */
  const database = new Promise(function (resolve, reject) {
    const request = indexedDB.open('grader-sheets', 1);
    request.onupgradeneeded = function () { request.result.createObjectStore(STORE, { keyPath: 'place' }); };
    request.onsuccess = function () { resolve(request.result); };
    request.onerror = function () { reject(request.error); };
  });
  /** The database once what it held has been looked at; nothing is written to it before. @type {Promise<IDBDatabase>} */
  let ready = database;
  database.catch(function () { /* a browser without one: the plain store alone */ });

  /** @param {string} place when it was last written, by the plain store */
  function written(place) {
    return Number(localStorage.getItem(place + '@')) || 0;
  }

  /** @param {Kept} kept */
  function putPlain(kept) {
    localStorage.setItem(kept.place, kept.text);
    localStorage.setItem(kept.place + '@', String(kept.at));
  }

  function flush() {
    if (writing || !waiting.size) return;
    writing = true;
    ready.then(function (open) {
      const act = open.transaction(STORE, 'readwrite', { durability: 'strict' });
      for (const kept of waiting.values()) act.objectStore(STORE).put(kept);
      waiting.clear();
      return new Promise(function (resolve) { act.oncomplete = act.onabort = resolve; });
    }).then(function () {
      writing = false;
      flush();
    }, function () { /* no database: nothing can be written to it */ });
  }

  /** @param {string} place @param {string} text @throws where the plain store refuses */
  function put(place, text) {
    last = Math.max(Date.now(), last + 1);
    const kept = { place, text, at: last };
    waiting.set(place, kept);
    flush();
    putPlain(kept);
  }

  /** @param {string} place @returns {string | null} @throws where the plain store refuses */
  function take(place) {
    return localStorage.getItem(place);
  }

  /**
   * Look for what a killed browser had in the database alone; put it back and tell of each.
   * @param {string} prefix of the places that are looked at
   * @param {(place: string, text: string) => void} told
   */
  function recover(prefix, told) {
    ready = database.then(function (open) {
      const request = open.transaction(STORE).objectStore(STORE).getAll(IDBKeyRange.bound(prefix, prefix + '\uffff'));
      return new Promise(function (resolve, reject) {
        request.onerror = function () { reject(request.error); };
        request.onsuccess = function () {
          for (const kept of /** @type {Kept[]} */ (request.result)) newer(kept, told);
          resolve(open);
        };
      });
    });
    ready.catch(function () { /* as above */ });
  }

  /** @param {Kept} kept @param {(place: string, text: string) => void} told */
  function newer(kept, told) {
    last = Math.max(last, kept.at);
    try {
      if (kept.at <= written(kept.place)) return;
      if (!waiting.has(kept.place)) putPlain(kept);
    } catch (error) { /* the plain store refuses: the page is told all the same */ }
    try {
      told(kept.place, kept.text);
    } catch (error) { /* what was kept is no text of ours: as if there were none */ }
  }

  return { put, take, recover };
})();
