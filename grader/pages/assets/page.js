/** What the theme leaves out of every page: names for the search dialog and for what scrolls sideways. */
(function () {
  'use strict';
  const search = document.querySelector('.md-search');
  if (search) search.setAttribute('aria-label', 'Search');

  // The symbols to open the contents and the search are labels of hidden boxes: let the keyboard reach them too.
  for (const label of document.querySelectorAll('label.md-header__button')) {
    const box = document.getElementById(label.getAttribute('for') || '');
    if (!(label instanceof HTMLElement) || !box || box.classList.contains('md-option')) continue;
    label.tabIndex = 0;
    label.setAttribute('role', 'button');
    label.setAttribute('aria-label', box.id === '__drawer' ? 'Contents' : 'Search');
    label.addEventListener('keydown', (event) => {
      if (event.key !== 'Enter' && event.key !== ' ') return;
      event.preventDefault();
      label.click();
    });
  }
})();
