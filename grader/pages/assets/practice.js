/**
 * Practice on a page: one question at a time from the packs that the page loads, marked here by the marker.
 *
 * The page is whole without this script: what stands inside <course-practice> is a sample question with its worked answer.
 * Nothing typed leaves the device, and no answer is kept; which questions are known and which are due again stands in `progress.js`.
 */
(function () {
  'use strict';

  /** @typedef {{text: string, says?: string, mathml?: string}} Step */
  /** @typedef {{letter: string, text: string, says?: string}} Option */
  /** @typedef {{svg: string, alt: string}} Figure */
  /** @typedef {{unit: string, shown: string}} Answer */
  /** @typedef {{kind: string, part: string, points: string, stem: string, hint?: string, working?: Step[], options?: Option[], right?: any, answer?: Answer, rule?: string}} Part */
  /**
   * @typedef {{kind: string, item: string, objective: string, circuit: string, stem: string, figure?: Figure, hint?: string, working?: Step[],
   *   options?: Option[], entries?: Option[], rows?: {number: string, text: string}[], parts?: Part[], right?: any, answer?: Answer, rule?: string}} Question
   */
  /** @typedef {{form: string, circuit: string, units: Object<string, any>, items: Array<any>}} Pack */
  /** @typedef {{verdict: string, why: string, read: string}} Mark what the marker says of one answer */
  /** @typedef {{read: () => string, field: HTMLElement, focus: () => void, empty: string}} Entry */

  const packs = (function () {
    /** @type {Map<string, Pack>} */
    const held = new Map();
    /** @type {Array<() => void>} */
    const waiting = [];
    return {
      /** @param {Pack} pack */
      add(pack) {
        if (pack.form !== 'grader-pack-2') return;
        held.set(pack.circuit, pack);
        for (const look of waiting.slice()) look();
      },
      /** @param {string} name */
      get: (name) => held.get(name),
      /**
       * Calls back once, as soon as all packs named are here.
       * @param {string[]} names
       * @param {() => void} ready
       */
      when(names, ready) {
        const look = () => {
          if (!names.every((name) => held.has(name))) return;
          const place = waiting.indexOf(look);
          if (place >= 0) waiting.splice(place, 1);
          ready();
        };
        waiting.push(look);
        look();
      },
    };
  })();
  /** @type {any} */ (window).graderPacks = packs;

  /** What is known of each question on this device; the page works without it. @returns {any} */
  const progress = () => /** @type {any} */ (globalThis).graderProgress;

  /** How a question stands today: what is said of it, and its sign. */
  const STATES = /** @type {Object<string, {word: string, sign: string}>} */ ({
    new: { word: 'not tried yet', sign: '' },
    due: { word: 'due again', sign: '↻' },
    right: { word: 'solved', sign: '✓' },
    tried: { word: 'tried, not solved yet', sign: '·' },
  });

  const GAP = '\u0001';

  /** What a verdict is called, how it looks, and which sign stands beside the word. */
  const VERDICTS = /** @type {Object<string, {word: string, look: string, sign: string}>} */ ({
    right: { word: 'Right', look: 'right', sign: 'check' },
    followed: { word: 'Right, counted on from your own value', look: 'right', sign: 'check' },
    part: { word: 'Partly right', look: 'care', sign: 'half' },
    slip: { word: 'Not right: a known slip', look: 'wrong', sign: 'cross' },
    wrong: { word: 'Not right', look: 'wrong', sign: 'cross' },
    unit: { word: 'Another kind of quantity', look: 'care', sign: 'ask' },
    unreadable: { word: 'Cannot be read', look: 'care', sign: 'ask' },
    blank: { word: 'Nothing answered yet', look: 'care', sign: 'ask' },
  });
  const SIGNS = /** @type {Object<string, string>} */ ({
    check: 'M4 13l5 5L20 6',
    cross: 'M6 6l12 12M18 6L6 18',
    half: 'M4 12h16',
    ask: 'M12 5v9M12 18.5v.5',
  });

  let counted = 0;
  /** An id that no other element of the page has. @param {string} name */
  const fresh = (name) => `practice-${name}-${(counted += 1)}`;

  /**
   * @template {keyof HTMLElementTagNameMap} K
   * @param {K} tag
   * @param {Object<string, string>} [attributes] `class`, `text`, or an attribute's name
   * @param {...(Node | string)} inside
   * @returns {HTMLElementTagNameMap[K]}
   */
  function make(tag, attributes = {}, ...inside) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (name === 'text') element.textContent = value;
      else element.setAttribute(name, value);
    }
    element.append(...inside);
    return element;
  }

  /**
   * @param {string} text
   * @returns {HTMLElement[]} a paragraph for each block of text
   */
  const paragraphs = (text) => text.split(/\n\s*\n/).filter((block) => block.trim()).map((block) => make('p', { text: block.trim() }));

  /** @param {string} sign */
  function signOf(sign) {
    const holder = make('span', { 'aria-hidden': 'true' });
    holder.innerHTML = `<svg viewBox="0 0 24 24"><path d="${SIGNS[sign]}"/></svg>`;
    return holder.firstElementChild || holder;
  }

  /**
   * A variant from its item's form: what goes into the gaps stands in columns, a gap is a number between two control characters.
   * @param {any} form @param {any[]} columns @param {any} variant
   * @returns {any}
   */
  function filled(form, columns, variant) {
    if (Array.isArray(form)) return form.map((below) => filled(below, columns, variant));
    if (form && typeof form === 'object') {
      return Object.fromEntries(Object.entries(form).map(([name, below]) => [name, filled(below, columns, variant)]));
    }
    if (typeof form !== 'string' || !form.includes(GAP)) return form;
    const entry = (/** @type {string} */ gap) => {
      const column = columns[Number(gap)];
      return Array.isArray(column) ? column[variant] : column.of[column.at[variant]];
    };
    const parts = form.split(GAP);
    if (parts.length === 3 && !parts[0] && !parts[2]) return entry(parts[1]);
    return parts.map((part, place) => place % 2 ? entry(part) : part).join('');
  }

  /**
   * A figure whose ids are its own, however often it stands on the page.
   * @param {Figure} figure
   */
  function figureOf(figure) {
    const mark = fresh('figure');
    const holder = make('div', { class: 'practice-figure', role: 'img', 'aria-label': figure.alt });
    holder.innerHTML = figure.svg;
    const names = new Map();
    for (const one of holder.querySelectorAll('[id]')) {
      names.set(one.id, `${mark}-${one.id}`);
      one.id = `${mark}-${one.id}`;
    }
    for (const one of holder.querySelectorAll('*')) {
      for (const attribute of [...one.attributes]) {
        const value = attribute.value
          .replace(/url\(#([^)]+)\)/g, (whole, id) => (names.has(id) ? `url(#${names.get(id)})` : whole))
          .replace(/^#(.+)$/, (whole, id) => (names.has(id) ? `#${names.get(id)}` : whole));
        if (value !== attribute.value) one.setAttribute(attribute.name, value);
      }
      if (one.hasAttribute('aria-labelledby')) one.removeAttribute('aria-labelledby');
    }
    const drawing = holder.querySelector('svg');
    if (drawing) drawing.setAttribute('aria-hidden', 'true');
    return holder;
  }

  /**
   * @param {string} word
   * @param {() => void} act
   * @param {string} [more] a further class
   */
  function button(word, act, more = '') {
    const made = make('button', { type: 'button', class: `practice-button ${more}`.trim(), text: word });
    made.addEventListener('click', act);
    return made;
  }

  // ---------------------------------------------------------------- how each kind is answered

  /**
   * @param {Part | Question} asked
   * @param {any} units
   * @returns {Entry}
   */
  function numberEntry(asked, units) {
    const input = make('input', {
      type: 'text', id: fresh('number'), autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false', enterkeyhint: 'done',
    });
    const read = make('output', { class: 'practice-read', id: fresh('read'), for: input.id });
    input.setAttribute('aria-describedby', read.id);
    const wanted = asked.answer ? asked.answer.unit : '1';
    const shown = units[wanted] ? units[wanted].shown : wanted;
    const fractions = wanted === '%' ? '' : ' A fraction such as 5/32 will do.';
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

  /**
   * @param {Option[]} options
   * @param {'radio' | 'checkbox'} type
   * @returns {Entry}
   */
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

  /**
   * @param {Option[]} entries
   * @returns {Entry}
   */
  function orderEntry(entries) {
    const list = make('ol', { class: 'practice-order' });
    const said = make('span', { class: 'practice-read', role: 'status' });
    const label = make('span', { class: 'practice-label', id: fresh('order'), text: 'Put these in order, first on top' });
    list.setAttribute('aria-labelledby', label.id);
    /** @param {HTMLElement} row @param {number} by */
    const move = (row, by) => {
      const rows = [...list.children];
      const place = rows.indexOf(row);
      const other = rows[place + by];
      if (!other) return;
      if (by < 0) other.before(row); else other.after(row);
      said.textContent = `Now ${place + by + 1} of ${rows.length}: ${row.dataset.text}`;
    };
    for (const entry of entries) {
      const row = make('li', {});
      row.dataset.letter = entry.letter;
      row.dataset.text = entry.text;
      row.append(make('span', { text: entry.text }));
      for (const [sign, by, word] of /** @type {Array<[string, number, string]>} */ ([['↑', -1, 'up'], ['↓', 1, 'down']])) {
        const mover = button(sign, () => { move(row, by); mover.focus(); });
        mover.setAttribute('aria-label', `Move ${word}: ${entry.text}`);
        row.append(mover);
      }
      list.append(row);
    }
    const field = make('div', { class: 'practice-field' }, label, list, said);
    return {
      field,
      read: () => [...list.children].map((row) => /** @type {HTMLElement} */ (row).dataset.letter).join(' '),
      focus: () => list.querySelector('button')?.focus(),
      empty: '',
    };
  }

  /**
   * @param {{number: string, text: string}[]} rows
   * @param {Option[]} options
   * @returns {Entry}
   */
  function matchEntry(rows, options) {
    const field = make('div', {});
    const selects = rows.map((row) => {
      const select = make('select', { id: fresh('match') }, make('option', { value: '', text: 'Choose …' }));
      for (const option of options) select.append(make('option', { value: option.letter, text: option.text }));
      field.append(make('div', { class: 'practice-field' }, make('label', { for: select.id, text: row.text }), select));
      return select;
    });
    return {
      field,
      read: () => rows.map((row, place) => [row.number, selects[place]?.value]).filter(([, letter]) => letter).map((pair) => pair.join('-')).join(' '),
      focus: () => selects[0]?.focus(),
      empty: 'Choose a partner for at least one row first.',
    };
  }

  /**
   * @param {any} asked a question or a part
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

  // ---------------------------------------------------------------- the worked answer

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

  const LONGEST_PIECE = 29; // letters wide a part that cannot be broken may be before it is set smaller on a phone

  /** About how many letters wide, as in `pages/sample.py`. @param {Element} element @returns {number} */
  function width(element) {
    const inside = [...element.children].map(width);
    if (element.localName === 'mfrac') return Math.max(...inside);
    const text = element.textContent || '';
    if (!inside.length) return isSign(element) ? 2 : text.length - (text.split('.').length - 1) / 2;
    return inside.reduce((sum, one) => sum + one, element.localName === 'msqrt' ? 4 : 0);
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
        if (width(inside) > LONGEST_PIECE) part.setAttribute('class', 'formula-long');
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

  // ---------------------------------------------------------------- the marker

  /** @returns {any} */
  const marker = () => /** @type {any} */ (window).graderMarker;

  /**
   * How a text is understood so far, in words.
   * @param {string} text
   * @param {any} units
   * @param {string} wanted the unit asked for
   */
  function readAs(text, units, wanted) {
    const found = marker().readNumber(text, units, wanted);
    return 'reason' in found ? `Not read yet. ${found.reason}` : `Read as ${found.read}`;
  }

  /**
   * @param {Question} question
   * @param {Object<string, string>} answers by part's letter, or by '' where the question has no parts
   * @param {any} units
   * @param {string} part
   * @returns {Mark}
   */
  function markOf(question, answers, units, part) {
    const outcomes = /** @type {any[]} */ (marker().markQuestion(question, answers, units));
    return outcomes.find((one) => one.part === part) || outcomes[0];
  }

  // ---------------------------------------------------------------- one thing asked, until it is answered

  /**
   * The form for a question, or for a part of a case: answer, hint, verdict, worked answer.
   * @param {any} asked a question or a part
   * @param {any} units
   * @param {(answer: string) => Mark} mark
   * @param {(verdict: string) => void} after told each verdict; may add what comes next
   * @returns {{element: HTMLElement, focus: () => void}}
   */
  function askOne(asked, units, mark, after) {
    const entry = entryFor(asked, units);
    const element = make('form', { novalidate: '' });
    const outcome = make('div', {});
    const hint = make('div', {});
    const buttons = make('div', { class: 'practice-buttons' });
    const check = make('button', { type: 'submit', class: 'practice-button practice-button--main', text: 'Check' });
    buttons.append(check);
    if (asked.hint) {
      const hinted = button('Hint', () => { showHint(true); });
      hinted.setAttribute('aria-expanded', 'false');
      hinted.dataset.role = 'hint';
      buttons.append(hinted);
    }
    /** @param {boolean} go whether the focus goes to the hint */
    function showHint(go) {
      if (!hint.firstChild) hint.append(make('div', { class: 'practice-hint', tabindex: '-1' }, ...paragraphs(`Hint: ${asked.hint}`)));
      const hinted = buttons.querySelector('[data-role="hint"]');
      if (hinted) hinted.setAttribute('aria-expanded', 'true');
      if (go) /** @type {HTMLElement} */ (hint.firstElementChild).focus();
    }
    const worked = make('div', {});
    element.append(entry.field, buttons, outcome, hint, worked);
    element.addEventListener('submit', (event) => {
      event.preventDefault();
      const answer = entry.read();
      const found = answer.trim() ? mark(answer) : { verdict: 'blank', why: entry.empty, read: '' };
      outcome.replaceChildren(verdictOf(found, asked, answer));
      worked.replaceChildren(...(marked(found.verdict) ? [workedBelow(asked, good(found.verdict))] : []));
      if (found.verdict === 'blank') entry.focus();
      else /** @type {HTMLElement} */ (outcome.firstElementChild).focus();
      if (asked.hint && ['wrong', 'slip'].includes(found.verdict)) showHint(false);
      check.textContent = good(found.verdict) ? 'Check' : 'Check again';
      after(found.verdict);
    });
    return { element, focus: entry.focus };
  }

  /**
   * @param {Mark} found
   * @param {any} asked
   * @param {string} answer
   */
  function verdictOf(found, asked, answer) {
    const kind = VERDICTS[found.verdict] || { word: 'Not right', look: 'wrong', sign: 'cross' };
    const box = make('div', { class: 'practice-verdict', tabindex: '-1', role: 'group', 'data-look': kind.look, 'data-verdict': found.verdict });
    const word = found.verdict === 'slip' && !isNumber(asked) ? 'Not right' : kind.word;
    const line = make('p', { class: 'practice-word', id: fresh('verdict') }, signOf(kind.sign), make('span', { text: word }));
    box.setAttribute('aria-labelledby', line.id);
    box.append(line);
    if (found.verdict === 'blank') box.setAttribute('role', 'alert');
    if (found.read && isNumber(asked)) box.append(make('p', { class: 'practice-given', text: `Your answer: ${found.read}` }));
    if (found.why && found.why !== `${word}.`) box.append(...paragraphs(found.why));
    for (const says of saidTo(asked, answer, found.why)) box.append(make('p', { text: says }));
    return box;
  }

  /**
   * The worked answer behind its summary: open where the answer was right, one step away where it may be tried again first.
   * @param {any} asked
   * @param {boolean} open
   */
  function workedBelow(asked, open) {
    const word = isNumber(asked) ? 'The worked answer, with these numbers' : 'The answer';
    const more = make('details', {}, make('summary', { text: word }), workedAnswer(asked));
    more.open = open;
    return more;
  }

  /** @param {string} verdict */
  const good = (verdict) => verdict === 'right' || verdict === 'followed';

  /** @param {any} asked */
  const isNumber = (asked) => asked.kind === 'numeric' || asked.kind === 'reading';

  /** Whether a verdict closes the question: a slip of the pen or another kind of quantity does not. @param {string} verdict */
  const marked = (verdict) => !['unit', 'unreadable', 'blank'].includes(verdict);

  /**
   * What the author has to say to whoever took these options, where the verdict has not said it already.
   * @param {any} asked
   * @param {string} answer
   * @param {string} said
   * @returns {string[]}
   */
  function saidTo(asked, answer, said) {
    if (asked.kind !== 'choice' && asked.kind !== 'choices') return [];
    const taken = answer.split(' ');
    return asked.options
      .filter((/** @type {Option} */ option) => taken.includes(option.letter) && option.says && !said.includes(option.says))
      .map((/** @type {Option} */ option) => (asked.kind === 'choices' ? `${option.text}: ${option.says}` : option.says));
  }

  // ---------------------------------------------------------------- the element

  /** @param {number} level @returns {'h2' | 'h3' | 'h4' | 'h5' | 'h6'} */
  const headingOf = (level) => /** @type {any} */ (`h${level}`);

  /** The level of the page's last heading before an element, so that ours goes one below it. @param {Element} element */
  function levelBefore(element) {
    let level = 1;
    for (const heading of document.querySelectorAll('article :is(h1, h2, h3, h4, h5, h6)')) {
      const before = element.compareDocumentPosition(heading) & Node.DOCUMENT_POSITION_PRECEDING;
      if (before && !heading.closest('course-practice')) level = Number(heading.localName.slice(1));
    }
    return level;
  }

  class CoursePractice extends HTMLElement {
    constructor() {
      super();
      /** @type {{item: any, units: any, turn: number[]}[]} the questions, and for each the variants not asked yet */
      this.questions = [];
      this.place = 0;
      this.level = 3;
    }

    connectedCallback() {
      if (!this.dataset.ready) this.begin();
    }

    /** Asks what the element names now; a page that names something else calls it again. */
    begin() {
      delete this.dataset.ready;
      this.questions = [];
      const names = (this.dataset.packs || '').split(' ').filter(Boolean);
      if (!names.length || !marker()) return;
      packs.when(names, () => this.start(names));
    }

    /** @param {string[]} names */
    start(names) {
      if (this.dataset.ready || names.join(' ') !== this.dataset.packs) return;
      const wanted = new Set((this.dataset.items || '').split(' ').filter(Boolean));
      for (const name of names) {
        const pack = packs.get(name);
        if (!pack) continue;
        for (const item of pack.items) {
          if (!wanted.size || wanted.has(item.item)) this.questions.push({ item, units: pack.units, turn: [] });
        }
      }
      if (!this.questions.length) return;
      this.dataset.ready = 'yes';
      if (this.hasAttribute('data-mixed')) shuffle(this.questions);
      this.questions = progress()?.order(this.questions, (/** @type {{item: any}} */ one) => one.item.item) ?? this.questions;
      this.place = 0;
      this.level = Math.min(levelBefore(this) + 1, 5);
      const heading = make(headingOf(this.level), { class: 'practice-title', id: fresh('title'), text: 'Practice' });
      this.score = make('p', { class: 'practice-score', role: 'status' });
      this.list = make('ol', { class: 'practice-list', 'aria-label': 'Questions' });
      this.body = make('div', {});
      this.setAttribute('role', 'group');
      this.setAttribute('aria-labelledby', heading.id);
      this.replaceChildren(make('div', { class: 'practice-head' }, heading, this.score));
      if (this.questions.length > 1) this.append(this.list);
      this.append(this.body);
      this.ask(0, false);
    }

    /** A heading below the element's own. @param {string} text */
    heading(text) {
      return make(headingOf(this.level + 1), { class: 'practice-subtitle', text });
    }

    /** The question at a place with numbers not used yet. @param {number} place @param {boolean} go whether the focus goes to it */
    ask(place, go) {
      const questions = this.questions;
      const { item, units, turn } = /** @type {any} */ (questions[place]);
      this.place = place;
      if (!turn.length) turn.push(...shuffle([...Array(item.count).keys()]));
      /** @type {Question} */
      const question = filled(item.form, item.columns, turn.pop());
      const body = /** @type {HTMLElement} */ (this.body);
      const stem = make('div', { class: 'practice-stem', tabindex: '-1' });
      if (questions.length > 1) stem.append(this.heading(`Question ${place + 1} of ${questions.length}`));
      stem.append(...paragraphs(question.stem));
      body.replaceChildren(stem);
      if (question.figure) {
        const figure = figureOf(question.figure);
        if (question.kind === 'reading') figure.classList.add('practice-reading');
        body.append(figure);
      }
      if (question.kind === 'case') this.askParts(question, units, body);
      else this.askWhole(question, units, body);
      this.showList();
      if (go) stem.focus();
    }

    /** @param {Question} question @param {any} units @param {HTMLElement} body */
    askWhole(question, units, body) {
      const next = this.nextButtons(question);
      const one = askOne(question, units, (answer) => markOf(question, { '': answer }, units, ''), (verdict) => {
        this.note(question, verdict);
        if (marked(verdict)) next.hidden = false;
      });
      body.append(one.element, next);
    }

    /** The parts of a case, each after the one before it. @param {Question} question @param {any} units @param {HTMLElement} body */
    askParts(question, units, body) {
      const parts = question.parts || [];
      /** @type {Object<string, string>} */
      const answers = {};
      /** @type {Object<string, string>} */
      const verdicts = {}; // the first of each part: a second try has the worked answer in sight
      const next = this.nextButtons(question);
      /** @param {number} place @param {boolean} go */
      const open = (place, go) => {
        const part = /** @type {Part} */ (parts[place]);
        const stem = make('div', { class: 'practice-stem', tabindex: '-1' }, this.heading(`Part ${part.part}`), ...paragraphs(part.stem));
        const holder = make('div', { class: 'practice-part' }, stem);
        const on = button(`Go on to part ${parts[place + 1]?.part}`, () => { on.parentElement?.remove(); open(place + 1, true); }, 'practice-button--main');
        const one = askOne(part, units, (answer) => {
          answers[part.part] = answer;
          return markOf(question, answers, units, part.part);
        }, (verdict) => {
          if (!marked(verdict)) return;
          verdicts[part.part] ??= verdict;
          if (place + 1 < parts.length) {
            if (!holder.dataset.passed) { holder.dataset.passed = 'yes'; holder.append(make('div', { class: 'practice-buttons' }, on)); }
          } else {
            this.note(question, Object.values(verdicts).every(good) ? 'right' : 'wrong');
            next.hidden = false;
          }
        });
        holder.append(one.element);
        next.before(holder);
        if (go) stem.focus();
      };
      body.append(next);
      open(0, false);
    }

    /** @param {Question} question */
    nextButtons(question) {
      const holder = make('div', { class: 'practice-buttons' });
      const more = this.questions[this.place];
      const count = this.questions.length;
      if (more && more.item.count > 1) {
        const numbers = more.item.kind === 'reading' ? 'Another reading' : 'New numbers';
        const word = more.item.numbers ? numbers : 'Again';
        holder.append(button(word, () => this.ask(this.place, true)));
      }
      if (count > 1) holder.append(button('Next question', () => this.ask((this.place + 1) % count, true), 'practice-button--main'));
      holder.hidden = true;
      holder.dataset.item = question.item;
      return holder;
    }

    /** @param {Question} question @param {string} verdict */
    note(question, verdict) {
      if (!marked(verdict)) return;
      progress()?.note(question.item, verdict);
      this.showList();
    }

    showList() {
      const stateOf = progress()?.states() ?? (() => 'new');
      const questions = this.questions;
      const right = questions.filter(({ item }) => stateOf(item.item) === 'right').length;
      const due = questions.filter(({ item }) => stateOf(item.item) === 'due').length;
      const text = questions.length > 1 ? `${right} of ${questions.length} solved${due ? `, ${due} due again` : ''}` : '';
      if (this.score && this.score.textContent !== text) this.score.textContent = text;
      if (!this.list) return;
      const focused = this.list.contains(document.activeElement);
      this.list.replaceChildren(...questions.map(({ item }, place) => {
        const { word, sign } = /** @type {{word: string, sign: string}} */ (STATES[stateOf(item.item)]);
        const jump = make('button', { type: 'button', 'aria-label': `Question ${place + 1}, ${word}`, text: String(place + 1) });
        if (sign) jump.append(make('span', { class: 'practice-sign', 'aria-hidden': 'true', text: sign }));
        if (place === this.place) jump.setAttribute('aria-current', 'true');
        jump.addEventListener('click', () => this.ask(place, true));
        return make('li', {}, jump);
      }));
      if (focused) this.list.querySelectorAll('button')[this.place]?.focus();
    }
  }

  /**
   * The same list in another order. Chance is all that is wanted here; nothing is examined with it.
   * @template T
   * @param {T[]} list
   */
  function shuffle(list) {
    for (let place = list.length - 1; place > 0; place -= 1) {
      const other = Math.floor(Math.random() * (place + 1));
      [list[place], list[other]] = [/** @type {T} */ (list[other]), /** @type {T} */ (list[place])];
    }
    return list;
  }

  // What the page that makes a quiz sets on paper in the same way.
  /** @type {any} */ (window).graderPractice = { make, paragraphs, filled, figureOf, workedAnswer };

  if (!customElements.get('course-practice')) {
    // The packs come after this script; by then everything on the page has been read.
    customElements.define('course-practice', CoursePractice);
  }
})();
