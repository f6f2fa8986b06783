/** What the theme leaves out of every page: a name for the search dialog, keys for its buttons, Escape for a term's meaning. */
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

  // On a small screen the search has its button; its field, out of sight till then, would open over the page of whoever tabs through it.
  const field = document.querySelector('.md-search__input');
  const small = matchMedia('(max-width: 59.9844em)');
  const reach = () => { if (field instanceof HTMLInputElement) field.tabIndex = small.matches ? -1 : 0; };
  small.addEventListener('change', reach);
  reach();

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

  // A term's meaning that shows is put away by Escape, until pointer or focus comes to the word anew.
  document.addEventListener('keydown', (event) => {
    if (event.key !== 'Escape') return;
    for (const term of document.querySelectorAll('.course-term:is(:hover, :focus, :focus-within)')) {
      const back = () => { term.classList.remove('course-shut'); };
      term.classList.add('course-shut');
      for (const name of ['pointerleave', 'focusout']) term.addEventListener(name, back, { once: true });
    }
  });

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
