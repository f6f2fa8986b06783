/**
 * A browser that refuses its store (all cookies off) refuses by an error, which would stop the theme's search and its look.
 * Then a store that holds nothing stands in: it is empty to whoever looks, and says so to whoever writes.
 */
(function () {
  'use strict';
  for (const name of /** @type {const} */ (['localStorage', 'sessionStorage'])) {
    try {
      void window[name].length;
    } catch {
      const refuses = () => { throw new Error('this browser keeps nothing'); };
      const empty = { length: 0, getItem: () => null, key: () => null, setItem: refuses, removeItem: () => {}, clear: () => {} };
      try { Object.defineProperty(window, name, { configurable: true, value: empty }); } catch { /* then it stays as it is */ }
    }
  }
})();
