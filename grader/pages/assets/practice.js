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
  /** @typedef {{form: string, circuit: string, units: Object<string, any>, items: Array<any>, columns: any[][]}} Pack */
  /** @typedef {{verdict: string, why: string, read: string}} Mark what the marker says of one answer */

  const packs = (function () {
    /** @type {Map<string, Pack>} */
    const held = new Map();
    /** @type {Array<() => void>} */
    const waiting = [];
    return {
      /** @param {Pack} pack */
      add(pack) {
        if (pack.form !== 'grader-pack-3') return;
        pack.items.forEach((item, place) => { item.columns = pack.columns[place]; });
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

  const { make, drawn, button, paragraphs, fresh } = /** @type {any} */ (globalThis).graderParts;
  const { entryFor } = /** @type {any} */ (globalThis).graderFields;
  const { workedAnswer } = /** @type {any} */ (globalThis).graderWorked;

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

  /** @param {string} sign */
  const signOf = (sign) => drawn(`<svg viewBox="0 0 24 24" aria-hidden="true"><path d="${SIGNS[sign]}"/></svg>`);

  /**
   * A number with the ends of what is right, exactly, where it says by what share of it or by what amount an answer may be off.
   * @param {any} one
   */
  function bounded(one) {
    const by = one.share ?? one.reach;
    if (by === undefined) return one;
    const places = (/** @type {string} */ text) => (text.split('.')[1] ?? '').length;
    const count = one.share ? places(one.value) + places(by) : Math.max(places(one.value), places(by));
    const whole = (/** @type {string} */ text) => BigInt(text.replace('.', '')) * 10n ** BigInt(count - places(text));
    const middle = whole(one.value), off = one.share ? BigInt(one.value.replace(/[-.]/g, '')) * BigInt(by.replace('.', '')) : whole(by);
    const [low, high] = [middle - off, middle + off].map((end) => {
      const digits = String(end < 0n ? -end : end).padStart(count + 1, '0'), point = digits.length - count;
      return (end < 0n ? '-' : '') + `${digits.slice(0, point)}.${digits.slice(point)}`.replace(/\.?0*$/, '');
    });
    return { ...one, low, high };
  }

  /**
   * A variant from its item's form: what goes into the gaps stands in columns, a gap is a number between two control characters.
   * @param {any} form @param {any[]} columns @param {any} variant
   * @returns {any}
   */
  function filled(form, columns, variant) {
    if (Array.isArray(form)) return form.map((below) => filled(below, columns, variant));
    if (form && typeof form === 'object') {
      return bounded(Object.fromEntries(Object.entries(form).map(([name, below]) => [name, filled(below, columns, variant)])));
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

  // ---------------------------------------------------------------- the marker

  /** @returns {any} */
  const marker = () => /** @type {any} */ (window).graderMarker;

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
  /** @type {any} */ (globalThis).graderPractice = { filled, figureOf };

  if (!customElements.get('course-practice')) {
    // The packs come after this script; by then everything on the page has been read.
    customElements.define('course-practice', CoursePractice);
  }
})();
