/** The worked answer to a question, typeset so that a phone can break its lines; the pages that practise and make a quiz both show it. */
(function () {
  'use strict';

  /** @typedef {{text: string, says?: string, mathml?: string}} Step */
  /** @typedef {{letter: string, text: string}} Option */

  const { make } = /** @type {any} */ (globalThis).graderParts;

  /** @param {any} asked a question or a part */
  function workedAnswer(asked) {
    const body = make('div', {});
    const steps = (asked.working || []).filter((/** @type {Step} */ step) => step.says || step.mathml || step.text);
    if (steps.length) {
      const list = make('ol', { class: 'course-steps' });
      for (const step of steps) {
        const row = make('li', {});
        if (step.says) row.append(make('span', { class: 'course-says', text: step.says }));
        if (step.mathml || step.text) {
          const formula = make('span', { class: 'course-formula' });
          if (step.mathml) formula.innerHTML = step.mathml;
          else formula.textContent = step.text;
          for (const equation of formula.querySelectorAll('math')) breakable(equation);
          row.append(formula);
        }
        list.append(row);
      }
      body.append(list);
    }
    /** @type {(letter: string, of: Option[]) => string} */
    const named = (letter, of) => (of.find((option) => option.letter === letter) || { text: letter }).text;
    if (asked.answer) body.append(make('p', { class: 'course-result', text: `Answer: ${asked.answer.shown}${tolerance(asked.answer)}` }));
    if (asked.kind === 'choice') body.append(make('p', { class: 'course-result', text: `Right: ${named(asked.right, asked.options)}` }));
    if (asked.kind === 'choices') body.append(...listed('Right', asked.right.map((/** @type {string} */ one) => named(one, asked.options)), 'ul'));
    if (asked.kind === 'order') body.append(...listed('In order', asked.right.map((/** @type {string} */ one) => named(one, asked.entries)), 'ol'));
    if (asked.kind === 'match') {
      body.append(...listed('Pairs', asked.rows.map((/** @type {any} */ row) => `${row.text} – ${named(asked.right[row.number], asked.options)}`), 'ul'));
    }
    return body;
  }

  /** @param {Element} element */
  const isSign = (element) => element.localName === 'mo' && element.getAttribute('form') === 'infix';

  /**
   * The elements of a row, rows in it opened where a sign stands right in them: a bracket's row is never opened.
   * @param {Element} row
   * @returns {Element[]}
   */
  const flat = (row) => [...row.children].flatMap((one) => (one.localName === 'mrow' && [...one.children].some(isSign) ? flat(one) : [one]));

  /**
   * Parts an equation so that a phone can break the line: before each equals sign, and within a side that is still too wide
   * before any other sign that stands outside brackets, fractions and roots. `pages/sample.py` does the same.
   * @param {Element} equation a <math> element
   */
  function breakable(equation) {
    const row = equation.firstElementChild;
    if (!row || row.localName !== 'mrow') return;
    /** @type {Element[][][]} */
    const sides = [[[]]];
    for (const child of flat(row)) {
      const side = /** @type {Element[][]} */ (sides[sides.length - 1]);
      if (isSign(child) && side[side.length - 1]?.length) {
        if ('=≠≤≥<>'.includes(child.textContent || '?')) sides.push([[]]);
        else side.push([]);
      }
      sides[sides.length - 1]?.slice(-1)[0]?.push(child);
    }
    sides.forEach((pieces, place) => {
      const parts = pieces.flatMap((piece, number) => {
        const part = document.createElementNS(equation.namespaceURI, 'math');
        const inside = document.createElementNS(equation.namespaceURI, 'mrow');
        inside.append(...piece);
        part.append(inside);
        return number ? [document.createElement('wbr'), part] : [part];
      });
      if (place) equation.before(document.createElement('wbr'));
      equation.before(pieces.length > 1 ? make('span', { class: 'course-side' }, ...parts) : /** @type {Element} */ (parts[0]));
    });
    equation.remove();
  }

  /** @param {any} answer */
  const tolerance = (answer) => (answer.within ? ` (accepted within ${answer.within})` : '');

  /** @param {string} title @param {string[]} texts @param {'ul' | 'ol'} tag */
  function listed(title, texts, tag) {
    return [make('p', { class: 'course-result', text: title }), make(tag, {}, ...texts.map((text) => make('li', { text })))];
  }

  /** @type {any} */ (globalThis).graderWorked = { workedAnswer };
})();
