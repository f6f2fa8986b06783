/**
 * Formulas that fit their column. One that is a little too wide is set a little smaller; one that is far too wide is folded: what
 * stands above or below a line, under a root or in brackets goes on in a further row, before a sign. What is still too wide scrolls,
 * and the keyboard reaches it.
 */
(function () {
  'use strict';

  const LEAST = 12; // px: figures smaller than this are not read at arm's length
  const LITTLE = 0.85, MOST = 0.75; // how much smaller before it is folded, and when nothing else is left
  const SLACK = 6; // px that rounding may take

  /** @type {WeakMap<HTMLElement, string>} the folded ones, as they came */
  const whole = new WeakMap();

  /** @param {Element} one */
  const wide = (one) => one.getBoundingClientRect().width;

  /** @param {HTMLElement} formula */
  const widest = (formula) => Math.max(...[...formula.children].map((child) => Math.max(child.scrollWidth, wide(child))), formula.scrollWidth);

  /** @param {HTMLElement} formula */
  const fits = (formula) => widest(formula) <= formula.clientWidth + 1;

  /** Sets a formula smaller, as far as is allowed. @param {HTMLElement} formula @param {number} least */
  function shrink(formula, least) {
    const letters = [...formula.querySelectorAll('math')].map((math) => parseFloat(getComputedStyle(math).fontSize));
    const readable = Math.min(1, LEAST / Math.min(...letters, Infinity) || least);
    const size = parseFloat(getComputedStyle(formula).fontSize);
    formula.style.fontSize = `${Math.max((formula.clientWidth / widest(formula)) * 0.98, least, readable) * size}px`;
  }

  /** @param {HTMLElement} formula */
  function fit(formula) {
    const was = whole.get(formula);
    if (was !== undefined) formula.innerHTML = was;
    whole.delete(formula);
    formula.style.fontSize = '';
    formula.removeAttribute('tabindex');
    if (fits(formula)) return;
    shrink(formula, LITTLE);
    if (fits(formula)) return;
    formula.style.fontSize = '';
    whole.set(formula, formula.innerHTML);
    for (const math of formula.querySelectorAll('math')) fold(math, formula.clientWidth - SLACK);
    if (fits(formula)) return;
    shrink(formula, MOST);
    if (!fits(formula)) formula.tabIndex = 0;
  }

  /** Folds the rows of an equation, the outermost first, until it is no wider than there is room. @param {Element} math @param {number} room */
  function fold(math, room) {
    for (const row of [...math.querySelectorAll('mrow, msqrt')]) {
      const over = wide(math) - room;
      if (over <= 0) return;
      if (math.contains(row)) split(row, wide(row) - over);
    }
  }

  /** @param {Element} one */
  const isSign = (one) => one.localName === 'mo' && one.getAttribute('form') === 'infix';
  /** @param {Element | undefined} one @param {string} text */
  const isMark = (one, text) => one?.localName === 'mo' && one.textContent === text;

  /**
   * What stands in a row in pieces that stay whole: each begins with a sign or ends with a comma. Rows in it that only group signs
   * are opened; those in brackets are not.
   * @param {Element[]} inside
   */
  function pieces(inside) {
    /** @type {Element[][]} */
    const found = [[]];
    /** @param {Element} one */
    const take = (one) => {
      if (one.localName === 'mrow' && [...one.children].some(isSign)) {
        [...one.children].forEach(take);
        return;
      }
      if (isSign(one) && found[found.length - 1]?.length) found.push([]);
      found[found.length - 1]?.push(one);
      if (isMark(one, ',')) found.push([]);
    };
    inside.forEach(take);
    return found.filter((piece) => piece.length);
  }

  /** Puts a row, or what it has in brackets, into as many rows as it needs. @param {Element} row @param {number} most how wide it may be */
  function split(row, most) {
    const all = [...row.children];
    const bracketed = isMark(all[0], '(') && isMark(all[all.length - 1], ')');
    const inside = bracketed ? all.slice(1, -1) : all;
    const room = bracketed ? most - wide(/** @type {Element} */ (all[0])) - wide(/** @type {Element} */ (all[all.length - 1])) : most;
    /** @type {Element[][]} */
    const lines = [];
    let left = 0; // of the line that is being filled
    for (const piece of pieces(inside)) {
      const first = /** @type {Element} */ (piece[0]).getBoundingClientRect().left;
      const last = /** @type {Element} */ (piece[piece.length - 1]).getBoundingClientRect().right;
      const line = lines[lines.length - 1];
      if (line && last - left <= room) line.push(...piece);
      else { lines.push(piece); left = first; }
    }
    if (lines.length < 2) return;
    /** @type {(tag: string, ...inside: Element[]) => Element} */
    const put = (tag, ...inside) => {
      const made = document.createElementNS(row.namespaceURI, tag);
      made.append(...inside);
      return made;
    };
    const table = put('mtable', ...lines.map((line) => put('mtr', put('mtd', put('mrow', ...line)))));
    table.setAttribute('class', 'formula-folded');
    row.replaceChildren(...(bracketed ? [all[0], table, all[all.length - 1]] : [table]));
  }

  /** Fits the formulas within something, or all of them. @param {ParentNode} [within] */
  function fitAll(within = document) {
    for (const formula of within.querySelectorAll('.course-formula')) if (formula instanceof HTMLElement && formula.clientWidth) fit(formula);
  }

  /** @type {any} */ (globalThis).graderFit = fitAll; // for whoever puts formulas on a page later
  document.fonts.ready.then(() => fitAll());
  let width = innerWidth;
  window.addEventListener('resize', () => {
    if (innerWidth === width) return; // a phone's address bar came or went
    width = innerWidth;
    fitAll();
  });
  // a worked answer has no width until it is opened
  document.addEventListener('toggle', ({ target }) => { if (target instanceof Element) fitAll(target); }, true);
})();
