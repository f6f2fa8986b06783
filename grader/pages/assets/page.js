/** What the theme leaves out of every page: a name for the search dialog, keys for its buttons, formulas that fit the width. */
(function () {
  'use strict';
  const search = document.querySelector('.md-search');
  if (search) search.setAttribute('aria-label', 'Search');

  // The symbols that open the contents and the search are labels of hidden boxes: give the keyboard buttons in their place.
  for (const label of document.querySelectorAll('label.md-header__button')) {
    const box = document.getElementById(label.getAttribute('for') || '');
    if (!(label instanceof HTMLElement) || !(box instanceof HTMLInputElement) || box.type !== 'checkbox') continue;
    const button = document.createElement('button');
    button.type = 'button';
    button.className = `${label.className} course-toggle`;
    button.dataset.opens = box.id;
    button.setAttribute('aria-label', box.id === '__drawer' ? 'Contents' : 'Search');
    button.append(...label.childNodes);
    button.addEventListener('click', () => box.click());
    label.hidden = true;
    label.after(button);
  }

  const LEAST = 12; // px: figures smaller than this are not read at arm's length

  /** How much smaller a formula may be set: to three quarters, and nowhere below the least size that can be read. */
  function smallest(/** @type {HTMLElement} */ formula) {
    const letters = [...formula.querySelectorAll('math')].map((math) => parseFloat(getComputedStyle(math).fontSize));
    return Math.min(1, Math.max(0.75, LEAST / Math.min(...letters, Infinity) || 0.75));
  }

  /** A formula wider than its column is set smaller; past the smallest it scrolls, and the keyboard reaches it. */
  function fit() {
    for (const formula of document.querySelectorAll('.course-formula')) {
      if (!(formula instanceof HTMLElement) || !formula.clientWidth) continue;
      formula.style.fontSize = '';
      formula.removeAttribute('tabindex');
      const widest = Math.max(...[...formula.children].map((child) => child.scrollWidth), formula.scrollWidth);
      if (widest <= formula.clientWidth + 1) continue;
      const size = parseFloat(getComputedStyle(formula).fontSize);
      formula.style.fontSize = `${Math.max((formula.clientWidth / widest) * 0.98, smallest(formula)) * size}px`;
      if (formula.scrollWidth > formula.clientWidth + 1) formula.tabIndex = 0;
    }
  }

  /** A long row of question numbers, drawn anew with each question, slides by itself to the one that stands below it. */
  function follow() {
    for (const list of document.querySelectorAll('.practice-list')) {
      const row = list.querySelector('[aria-current]')?.parentElement;
      if (!row || list.scrollHeight <= list.clientHeight + 1) continue;
      const off = row.getBoundingClientRect().top - list.getBoundingClientRect().top;
      if (off < 0 || off > list.clientHeight - row.clientHeight) list.scrollTop += off - list.clientHeight / 3;
    }
  }
  const drawn = new MutationObserver(follow);
  for (const practice of document.querySelectorAll('course-practice')) drawn.observe(practice, { childList: true, subtree: true });

  document.fonts.ready.then(fit);
  window.addEventListener('resize', fit);
  document.addEventListener('toggle', fit, true); // a worked answer has no width until it is opened

  // Over a network the course can be installed and kept; from a folder it needs neither.
  const script = document.currentScript;
  const site = script instanceof HTMLScriptElement ? new URL('../../', script.src) : null;
  if (site && site.protocol.startsWith('http')) {
    document.head.append(Object.assign(document.createElement('link'), { rel: 'manifest', href: new URL('manifest.webmanifest', site).href }));
    if ('serviceWorker' in navigator) {
      navigator.serviceWorker.register(new URL('worker.js', site)).then(watch, () => { /* not kept: the pages work all the same */ });
    }
  }

  /** Offers a newer build once it is whole on the device; the reader says when. @param {ServiceWorkerRegistration} registration */
  function watch(registration) {
    const ready = () => { if (registration.waiting && navigator.serviceWorker.controller) offer(registration.waiting); };
    ready();
    registration.addEventListener('updatefound', () => {
      const coming = registration.installing;
      coming?.addEventListener('statechange', () => { if (coming.state === 'installed') ready(); });
    });
  }

  /** @param {ServiceWorker} waiting */
  function offer(waiting) {
    if (document.querySelector('.course-newer')) return;
    const bar = document.createElement('div'), button = document.createElement('button');
    bar.className = 'course-newer';
    bar.setAttribute('role', 'status');
    button.type = 'button';
    button.className = 'practice-button practice-button--main';
    button.textContent = 'Use it now';
    button.addEventListener('click', () => {
      navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
      waiting.postMessage('use');
    });
    bar.append('A newer version of this course is on your device. ', button);
    document.body.append(bar);
  }
})();
