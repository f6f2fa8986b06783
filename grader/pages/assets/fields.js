/**
 * How each kind of question is answered on a page: the fields, and what stands in them as the marker reads it.
 *
 * An order is made with buttons and pairs are chosen from lists; both can be dragged as well (`drag.js`).
 */
(function () {
  'use strict';

  /** @typedef {{letter: string, text: string}} Option */
  /** @typedef {{read: () => string, field: HTMLElement, focus: () => void, empty: string}} Entry `empty` is said where nothing was answered */

  const { make, button, fresh } = /** @type {any} */ (globalThis).graderParts;
  const { draggable, handle } = /** @type {any} */ (globalThis).graderDrag;

  const IN_FRACTIONS = new Set(['in']); // units in which a rule or a drill is marked in fractions

  /**
   * How a text is understood so far, in words.
   * @param {string} text @param {any} units @param {string} wanted the unit asked for
   */
  function readAs(text, units, wanted) {
    const found = /** @type {any} */ (globalThis).graderMarker.readNumber(text, units, wanted);
    return 'reason' in found ? `Not read yet. ${found.reason}` : `Read as ${found.read}`;
  }

  /** @param {any} asked a question or a part @param {any} units @returns {Entry} */
  function numberEntry(asked, units) {
    const input = make('input', {
      type: 'text', id: fresh('number'), autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false', enterkeyhint: 'done',
    });
    const read = make('output', { class: 'practice-read', id: fresh('read'), for: input.id });
    input.setAttribute('aria-describedby', read.id);
    const wanted = asked.answer ? asked.answer.unit : '1';
    const shown = units[wanted] ? units[wanted].shown : wanted;
    const fractions = IN_FRACTIONS.has(wanted) ? ' A fraction such as 5/32 will do.' : '';
    const rule = asked.rule ? make('p', { id: fresh('rule'), text: asked.rule }) : null;
    if (rule) input.setAttribute('aria-describedby', `${rule.id} ${read.id}`);
    const help = shown ? `With its unit: ${shown}, or any other of its kind.${fractions}` : 'A plain number.';
    read.textContent = help;
    let timer = 0;
    input.addEventListener('input', () => {
      clearTimeout(timer);
      timer = window.setTimeout(() => {
        read.textContent = input.value.trim() ? readAs(input.value, units, wanted) : help;
      }, 250);
    });
    const line = make('div', { class: 'practice-field' }, make('label', { for: input.id, text: 'Your answer' }), input, read);
    const field = rule ? make('div', {}, rule, line) : line;
    return { field, read: () => input.value, focus: () => input.focus(), empty: 'Type a number with its unit first.' };
  }

  /** @param {Option[]} options @param {'radio' | 'checkbox'} type @returns {Entry} */
  function optionEntry(options, type) {
    const name = fresh('options');
    const field = make('fieldset', { class: 'practice-options' });
    field.append(make('legend', { text: type === 'radio' ? 'Choose one' : 'Choose all that are right' }));
    const boxes = options.map((option) => {
      const box = make('input', { type, name, value: option.letter });
      field.append(make('label', {}, box, make('span', { text: option.text })));
      return box;
    });
    return {
      field,
      read: () => boxes.filter((box) => box.checked).map((box) => box.value).join(' '),
      focus: () => boxes[0]?.focus(),
      empty: type === 'radio' ? 'Choose one of the options first.' : 'Choose at least one option first.',
    };
  }

  /** @param {Element | undefined} row */
  function middle(row) {
    const { top, height } = row?.getBoundingClientRect() || { top: NaN, height: NaN };
    return top + height / 2;
  }

  /** @param {Option[]} entries @returns {Entry} */
  function orderEntry(entries) {
    const list = make('ol', { class: 'practice-order' });
    const said = make('span', { class: 'practice-read', role: 'status' });
    const label = make('span', { class: 'practice-label', id: fresh('order'), text: 'Put these in order, first on top' });
    list.setAttribute('aria-labelledby', label.id);
    /** @type {() => HTMLElement[]} */
    const rows = () => [...list.children];
    /** @param {HTMLElement} row */
    const say = (row) => { said.textContent = `Now ${rows().indexOf(row) + 1} of ${entries.length}: ${row.dataset.text}`; };
    /** @param {HTMLElement} row @param {number} by */
    const move = (row, by) => {
      const other = rows()[rows().indexOf(row) + by];
      if (!other) return;
      if (by < 0) other.before(row); else other.after(row);
      say(row);
    };
    for (const entry of entries) {
      const row = make('li', { 'data-letter': entry.letter, 'data-text': entry.text }, handle(), make('span', { text: entry.text }));
      for (const [sign, by, word] of /** @type {Array<[string, number, string]>} */ ([['↑', -1, 'up'], ['↓', 1, 'down']])) {
        const mover = button(sign, () => { move(row, by); mover.focus(); }, '', `Move ${word}: ${entry.text}`);
        row.append(mover);
      }
      list.append(row);
    }
    /** @type {HTMLElement[]} */
    let before = [];
    draggable(list, 'li', {
      sideways: false,
      lift: () => { before = rows(); },
      /** The others make room: the row that is held stays where it is in the document, or the browser would let go of it. */
      move: (/** @type {HTMLElement} */ row, /** @type {number} */ _, /** @type {number} */ y) => {
        while (y < middle(row.previousElementSibling)) row.after(row.previousElementSibling);
        while (y > middle(row.nextElementSibling)) row.before(row.nextElementSibling);
      },
      drop: (/** @type {HTMLElement} */ row, /** @type {boolean} */ kept) => {
        if (!kept) list.append(...before);
        say(row);
      },
    });
    return {
      field: make('div', { class: 'practice-field' }, label, list, said),
      read: () => rows().map((row) => row.dataset.letter).join(' '),
      focus: () => list.querySelector('button')?.focus(),
      empty: '',
    };
  }

  const pen = document.createElement('canvas').getContext('2d');

  /** Whether a list that is closed cuts what was chosen. @param {HTMLSelectElement} select @param {string} text */
  function cuts(select, text) {
    if (!pen) return true;
    const look = getComputedStyle(select);
    pen.font = `${look.fontWeight} ${look.fontSize} ${look.fontFamily}`;
    return pen.measureText(text).width > select.clientWidth - parseFloat(look.paddingLeft) - parseFloat(look.paddingRight) - 20; // 20 px: its arrow
  }

  /**
   * @param {{number: string, text: string}[]} rows
   * @param {Option[]} options
   * @returns {Entry}
   */
  function matchEntry(rows, options) {
    const said = make('span', { class: 'practice-read', role: 'status' });
    const pairs = rows.map((row) => {
      const select = make('select', { id: fresh('match') }, make('option', { value: '', text: 'Choose …' }));
      for (const option of options) select.append(make('option', { value: option.letter, text: option.text }));
      const whole = make('p', { class: 'match-chosen', id: `${select.id}-whole`, 'aria-hidden': 'true' });
      const box = make('div', { class: 'practice-field match-row' }, make('label', { for: select.id, text: row.text }), select, whole);
      const show = () => {
        const text = select.value && select.selectedOptions[0].text;
        whole.textContent = text && cuts(select, text) ? text : '';
        for (const card of cards) card.toggleAttribute('data-taken', pairs.some((pair) => pair.select.value === card.dataset.letter));
      };
      select.addEventListener('change', show);
      new ResizeObserver(show).observe(select);
      return { row, select, box };
    });
    const cards = options.map((option) => make('li', { 'data-letter': option.letter }, handle(), make('span', { text: option.text })));
    const tray = make('ul', { class: 'match-tray', 'aria-label': 'All there is to choose from' }, ...cards);
    /** @type {typeof pairs[0] | undefined} */
    let over;
    draggable(tray, 'li', {
      sideways: true,
      lift: () => {},
      move: (/** @type {HTMLElement} */ _, /** @type {number} */ x, /** @type {number} */ y) => {
        over = pairs.find(({ box }) => {
          const at = box.getBoundingClientRect();
          return x >= at.left && x <= at.right && y >= at.top && y <= at.bottom;
        });
        for (const pair of pairs) pair.box.toggleAttribute('data-over', pair === over);
      },
      drop: (/** @type {HTMLElement} */ card, /** @type {boolean} */ kept) => {
        over?.box.removeAttribute('data-over');
        if (!over || !kept) return;
        over.select.value = card.dataset.letter;
        over.select.dispatchEvent(new Event('change'));
        said.textContent = `${over.row.text}: ${card.textContent}`;
      },
    });
    const field = make('div', { class: 'practice-match' },
      make('div', {}, ...pairs.map((pair) => pair.box)),
      make('div', { class: 'practice-field' }, make('span', { class: 'practice-label', text: 'Choose in each row, or drag one of these onto it' }), tray, said));
    return {
      field,
      read: () => pairs.filter(({ select }) => select.value).map(({ row, select }) => `${row.number}-${select.value}`).join(' '),
      focus: () => pairs[0]?.select.focus(),
      empty: 'Choose a partner for at least one row first.',
    };
  }

  /**
   * The fields for a question or a part.
   * @param {any} asked
   * @param {any} units
   * @returns {Entry}
   */
  function entryFor(asked, units) {
    if (asked.kind === 'choice') return optionEntry(asked.options, 'radio');
    if (asked.kind === 'choices') return optionEntry(asked.options, 'checkbox');
    if (asked.kind === 'order') return orderEntry(asked.entries);
    if (asked.kind === 'match') return matchEntry(asked.rows, asked.options);
    return numberEntry(asked, units);
  }

  /** @type {any} */ (globalThis).graderFields = { entryFor };
})();
