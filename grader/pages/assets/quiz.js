/**
 * The page that makes an open quiz: choose objectives and a number, press a button, print questions and worked key.
 *
 * Questions come from the practice packs that the page loads; what is drawn follows from the address alone, so that the same
 * address gives the same quiz. Copies B, C and D ask the same with other numbers. Needs `practice.js` and what that needs.
 */
(function () {
  'use strict';

  /** @typedef {{id: string, says: string, level: string, count: number}} Aim */
  /** @typedef {{circuit: string, title: string, objectives: Aim[]}} Circuit */
  /** @typedef {{title: string, notice: string, edition: string, circuits: Circuit[], levels: {level: string, says: string}[]}} Settings */
  /** @typedef {{quiz: string, questions: number, copies: number, circuits: string[], levels: string[], without: string[], edition: string}} Wish */
  /** @typedef {{item: any, units: any}} Entry */

  const MOST = 40; // questions of a quiz
  const LETTERS = 'ABCD'; // copies
  const SIGNS = '23456789ABCDEFGHJKMNPQRSTUVWXYZ'; // of a quiz's name: none is taken for another

  const { make, button, paragraphs } = /** @type {any} */ (globalThis).graderParts || {}; // none where only drawing is asked for
  const set = () => /** @type {any} */ (globalThis).graderPractice;
  const packs = () => /** @type {any} */ (globalThis).graderPacks;

  // ---------------------------------------------------------------- drawing, the same everywhere

  /**
   * A whole number from 0 to size - 1 that follows from the quiz's name and what is drawn: 32-bit FNV-1a, its bits mixed by the
   * last steps of MurmurHash3.
   * @param {string} quiz @param {string} name @param {number} size
   */
  function draw(quiz, name, size) {
    let hash = 0x811c9dc5;
    for (const byte of new TextEncoder().encode(`${quiz}/${name}`)) hash = Math.imul(hash ^ byte, 0x01000193);
    hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
    hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
    return ((hash ^ (hash >>> 16)) >>> 0) % size;
  }

  /**
   * The same list in a drawn order.
   * @template T
   * @param {string} quiz @param {string} name @param {T[]} list
   */
  function shuffled(quiz, name, list) {
    const order = list.slice();
    for (let place = order.length - 1; place > 0; place -= 1) {
      const other = draw(quiz, `${name}/${place}`, place + 1);
      [order[place], order[other]] = [/** @type {T} */ (order[other]), /** @type {T} */ (order[place])];
    }
    return order;
  }

  /**
   * One from each list in turn, until all are empty.
   * @template T
   * @param {T[][]} lists
   */
  function inTurn(lists) {
    /** @type {T[]} */
    const found = [];
    for (let round = 0; lists.some((list) => list.length > round); round += 1) {
      for (const list of lists) if (list.length > round) found.push(/** @type {T} */ (list[round]));
    }
    return found;
  }

  /**
   * The items of a quiz: circuits take turns, within a circuit its objectives; then in the order of the course.
   * @param {string} quiz @param {Entry[]} entries those that fit, in the order of the course @param {number} count
   * @returns {Entry[]}
   */
  function chosen(quiz, entries, count) {
    /** @type {(of: (entry: Entry) => string, list: Entry[]) => Entry[][]} */
    const grouped = (of, list) => {
      const groups = new Map();
      for (const entry of list) groups.set(of(entry), [...(groups.get(of(entry)) || []), entry]);
      return [...groups.values()];
    };
    const circuits = grouped((entry) => entry.item.form.circuit, entries).map((circuit) => {
      const aims = grouped((entry) => entry.item.objective, circuit);
      const mixed = aims.map((aim) => shuffled(quiz, `items ${/** @type {Entry} */ (aim[0]).item.objective}`, aim));
      return inTurn(shuffled(quiz, `objectives ${/** @type {Entry} */ (circuit[0]).item.form.circuit}`, mixed));
    });
    const taken = new Set(inTurn(shuffled(quiz, 'circuits', circuits)).slice(0, count));
    return entries.filter((entry) => taken.has(entry));
  }

  /** Which variant of an item a copy asks: each copy another while there are others. @param {string} quiz @param {any} item @param {number} copy */
  const variantFor = (quiz, item, copy) => shuffled(quiz, `variants ${item.item}`, [...Array(item.count).keys()])[copy % item.count];

  /** A name for a quiz that was not asked for by address. */
  const freshName = () => [...crypto.getRandomValues(new Uint8Array(6))].map((byte) => SIGNS[byte % SIGNS.length]).join('');

  // ---------------------------------------------------------------- the address

  /** @param {string} hash @returns {Partial<Wish>} what the address asks for; what makes no sense is left out */
  function fromAddress(hash) {
    const asked = new URLSearchParams(hash.replace(/^#/, ''));
    const list = (/** @type {string} */ name) => (asked.get(name) || '').split('.').filter(Boolean);
    const number = (/** @type {string} */ name, /** @type {number} */ most) => {
      const found = /^[1-9]\d?$/.test(asked.get(name) || '') ? Number(asked.get(name)) : 0;
      return found && found <= most ? found : undefined;
    };
    const quiz = asked.get('quiz') || '';
    if (!/^[A-Za-z0-9]{1,20}$/.test(quiz)) return {};
    return {
      quiz, questions: number('questions', MOST), copies: number('copies', LETTERS.length), edition: asked.get('edition') || '',
      circuits: list('circuits'), levels: list('levels'), without: (asked.get('without') || '').split(' ').filter(Boolean),
    };
  }

  /** @param {Wish} wish @param {Settings} settings */
  function toAddress(wish, settings) {
    const asked = new URLSearchParams({ quiz: wish.quiz, questions: String(wish.questions), copies: String(wish.copies) });
    if (wish.circuits.length < settings.circuits.length) asked.set('circuits', wish.circuits.join('.'));
    if (wish.levels.length < settings.levels.length) asked.set('levels', wish.levels.join('.'));
    if (wish.without.length) asked.set('without', wish.without.join(' '));
    asked.set('edition', settings.edition);
    return `#${asked}`;
  }

  // ---------------------------------------------------------------- a question on paper

  /** A line to write on, the unit that is asked for behind it. @param {string} unit */
  const line = (unit) => make('p', { class: 'quiz-line' }, 'Answer ', make('span', {}), unit ? ` ${unit}` : '');

  /** @param {any} asked @param {any} units */
  function answerSpace(asked, units) {
    if (asked.kind === 'choice' || asked.kind === 'choices') {
      const list = make('ul', { class: 'quiz-options' }, ...asked.options.map((/** @type {any} */ one) => make('li', {}, make('b', { text: one.letter }), make('span', { text: one.text }))));
      return asked.kind === 'choices' ? [make('p', { class: 'quiz-say', text: 'Mark all that are right.' }), list] : [list];
    }
    if (asked.kind === 'order') {
      const list = make('ul', { class: 'quiz-plain' }, ...asked.entries.map((/** @type {any} */ one) => make('li', {}, make('b', { text: one.letter }), make('span', { text: one.text }))));
      const boxes = make('p', { class: 'quiz-boxes' }, 'Letters in order, first on the left: ', ...asked.entries.map(() => make('span', {})));
      return [list, boxes];
    }
    if (asked.kind === 'match') {
      const rows = make('ul', { class: 'quiz-rows' }, ...asked.rows.map((/** @type {any} */ row) => make('li', {}, make('span', { class: 'quiz-box' }), make('span', { text: row.text }))));
      const list = make('ul', { class: 'quiz-plain' }, ...asked.options.map((/** @type {any} */ one) => make('li', {}, make('b', { text: one.letter }), make('span', { text: one.text }))));
      return [make('p', { class: 'quiz-say', text: 'Write into each box the letter that belongs to it.' }), make('div', { class: 'quiz-match' }, rows, list)];
    }
    const unit = units[asked.answer.unit]?.shown || '';
    const rule = asked.rule ? [make('p', { class: 'quiz-say', text: asked.rule })] : [];
    return [...room(asked), ...rule, line(unit)];
  }

  /** Room to work in, where there is something to work out. @param {any} asked */
  const room = (asked) => (asked.kind === 'reading' ? [] : [make('div', { class: 'quiz-room' })]);

  /** @param {any} question @param {any} units */
  function questionOf(question, units) {
    const { figureOf } = set();
    const body = make('li', {}, make('div', { class: 'quiz-stem' }, ...paragraphs(question.stem)));
    if (question.figure) {
      const figure = figureOf(question.figure);
      if (question.kind === 'reading') figure.classList.add('practice-reading');
      body.append(figure);
    }
    if (question.kind !== 'case') body.append(...answerSpace(question, units));
    for (const part of question.kind === 'case' ? question.parts : []) {
      const says = paragraphs(part.stem);
      says[0]?.prepend(make('b', { text: `${part.part}) ` }));
      body.append(make('div', { class: 'quiz-part' }, ...says, ...answerSpace(part, units)));
    }
    return body;
  }

  /** What is right of a question without a number: letter and words. @param {any} asked @returns {string[]} */
  function rightOf(asked) {
    /** @type {(letter: string, of: any[]) => string} */
    const named = (letter, of) => of.find((one) => one.letter === letter)?.text || '';
    if (asked.kind === 'match') return asked.rows.map((/** @type {any} */ row) => `${row.text}: ${asked.right[row.number]}, ${named(asked.right[row.number], asked.options)}`);
    return [asked.right].flat().map((letter) => `${letter}: ${named(letter, asked.options || asked.entries)}`);
  }

  /** @param {any} asked @param {string} part */
  function keyOf(asked, part) {
    const { workedAnswer } = /** @type {any} */ (globalThis).graderWorked;
    const body = make('div', { class: 'quiz-key' });
    if (part) body.append(make('p', { class: 'quiz-letters', text: `Part ${part}` }));
    if (asked.answer) {
      body.append(workedAnswer(asked));
      return body;
    }
    const right = rightOf(asked);
    if (right.length === 1) body.append(make('p', { class: 'quiz-letters', text: right[0] }));
    else body.append(make('ul', { class: 'quiz-right' }, ...right.map((text) => make('li', { text }))));
    const says = (asked.options || []).filter((/** @type {any} */ one) => one.says && [asked.right].flat().includes(one.letter));
    if (asked.kind !== 'match') body.append(...says.map((/** @type {any} */ one) => make('p', { text: one.says })));
    body.append(workedAnswer({ working: asked.working }));
    return body;
  }

  // ---------------------------------------------------------------- the element

  class CourseQuiz extends (globalThis.HTMLElement || Object) {
    connectedCallback() {
      if (this.dataset.ready || !packs() || !set()) return;
      const names = (this.dataset.packs || '').split(' ').filter(Boolean);
      packs().when(names, () => this.start(names));
    }

    /** @param {string[]} names */
    start(names) {
      const holder = this.querySelector('script[type="application/json"]');
      if (this.dataset.ready || !holder) return;
      this.dataset.ready = 'yes';
      /** @type {Settings} */
      this.settings = JSON.parse(holder.textContent || '{}');
      const order = this.settings.circuits.flatMap((circuit) => circuit.objectives.map((aim) => aim.id));
      /** @type {Entry[]} */
      this.entries = names.flatMap((name) => packs().get(name).items.map((/** @type {any} */ item) => ({ item, units: packs().get(name).units })))
        .filter((entry) => order.includes(entry.item.objective))
        .sort((one, other) => order.indexOf(one.item.objective) - order.indexOf(other.item.objective));
      this.build();
      window.addEventListener('hashchange', () => this.readAddress());
      this.readAddress();
    }

    build() {
      const settings = /** @type {Settings} */ (this.settings);
      /** @type {Map<string, HTMLInputElement>} */
      this.boxes = new Map();
      const count = make('input', { type: 'number', id: 'quiz-questions', min: '1', max: String(MOST), value: '10', inputmode: 'numeric' });
      const copies = make('select', { id: 'quiz-copies' }, ...[...LETTERS].map((_, place) => make('option', {
        value: String(place + 1), text: place ? `${place + 1}: A to ${LETTERS[place]}, with other numbers` : 'one',
      })));
      this.count = count;
      this.copies = copies;
      this.fit = make('p', { class: 'quiz-fit', role: 'status' });
      const circuits = this.choices('Circuits', settings.circuits.map((one) => [`c ${one.circuit}`, one.title]));
      const levels = this.choices('What is asked', settings.levels.map((one) => [`l ${one.level}`, one.says]));
      this.groups = settings.circuits.map((circuit) => ({
        circuit: circuit.circuit,
        group: this.choices(circuit.title, circuit.objectives.map((aim) => [`o ${aim.id}`, `${aim.says} (${aim.count})`])),
      }));
      const aims = make('details', { class: 'quiz-aims' }, make('summary', { text: 'Choose single objectives' }),
        make('p', { class: 'quiz-say', text: 'In brackets: how many questions each has.' }), ...this.groups.map((one) => one.group));
      const numbers = make('div', { class: 'quiz-numbers' },
        make('div', { class: 'practice-field' }, make('label', { for: count.id, text: 'Questions' }), count),
        make('div', { class: 'practice-field' }, make('label', { for: copies.id, text: 'Copies' }), copies));
      const go = make('button', { type: 'submit', class: 'practice-button practice-button--main', text: 'Make the quiz' });
      const form = make('form', { novalidate: '', class: 'quiz-form' }, circuits, levels, aims, numbers, this.fit, make('div', { class: 'practice-buttons' }, go));
      form.addEventListener('change', () => this.showFit());
      count.addEventListener('input', () => this.showFit());
      form.addEventListener('submit', (/** @type {Event} */ event) => {
        event.preventDefault();
        this.make(freshName(), { go: true });
      });
      this.sheets = make('div', { class: 'quiz-sheets' });
      this.setAttribute('role', 'group');
      this.setAttribute('aria-label', 'Make a quiz');
      this.replaceChildren(form, this.sheets);
      this.showFit();
    }

    /** @param {string} title @param {Array<[string, string]>} choices */
    choices(title, choices) {
      const group = make('fieldset', { class: 'practice-options quiz-choices' }, make('legend', { text: title }));
      const boxes = choices.map(([name, text]) => {
        const box = make('input', { type: 'checkbox', value: name });
        box.checked = true;
        this.boxes?.set(name, box);
        group.append(make('label', {}, box, make('span', { text })));
        return box;
      });
      const whole = () => boxes.every((box) => box.checked);
      const all = button('', () => {
        const on = !whole();
        for (const box of boxes) box.checked = on;
        this.showFit();
      });
      const name = () => {
        all.textContent = whole() ? 'None' : 'All';
        all.setAttribute('aria-label', `${all.textContent}: ${title}`);
      };
      this.names = [...(this.names || []), name];
      if (boxes.length > 1) group.firstElementChild?.after(all);
      return group;
    }

    /** @param {string} name */
    on(name) {
      return Boolean(this.boxes?.get(name)?.checked);
    }

    /** The items that fit what is chosen. */
    fitting() {
      const settings = /** @type {Settings} */ (this.settings);
      const aims = new Set(settings.circuits.filter((one) => this.on(`c ${one.circuit}`))
        .flatMap((one) => one.objectives.filter((aim) => this.on(`l ${aim.level}`) && this.on(`o ${aim.id}`)).map((aim) => aim.id)));
      return /** @type {Entry[]} */ (this.entries).filter((entry) => aims.has(entry.item.objective));
    }

    /** Says how many questions fit; the groups of circuits that are left out go. */
    showFit() {
      for (const name of this.names || []) name();
      for (const one of this.groups || []) one.group.hidden = !this.on(`c ${one.circuit}`);
      const there = this.fitting().length;
      const wanted = Number(this.count?.value);
      let text = `${there} question${there === 1 ? '' : 's'} fit.`;
      if (!there) text = 'No question fits: choose a circuit, a kind and an objective.';
      else if (!(Number.isInteger(wanted) && wanted >= 1 && wanted <= MOST)) text += ` Ask for 1 to ${MOST}.`;
      else if (wanted > there) text += ' The quiz will have all of them.';
      if (this.fit && this.fit.textContent !== text) this.fit.textContent = text;
    }

    readAddress() {
      const wish = fromAddress(location.hash);
      if (!wish.quiz || location.hash === this.address) return;
      const settings = /** @type {Settings} */ (this.settings);
      /** @type {(prefix: string, names: string[], asked: string[]) => void} */
      const tick = (prefix, names, asked) => {
        const known = asked.filter((name) => names.includes(name));
        for (const name of names) /** @type {HTMLInputElement} */ (this.boxes?.get(`${prefix} ${name}`)).checked = !known.length || known.includes(name);
      };
      tick('c', settings.circuits.map((one) => one.circuit), wish.circuits || []);
      tick('l', settings.levels.map((one) => one.level), wish.levels || []);
      for (const [name, box] of this.boxes || []) if (name.startsWith('o ')) box.checked = !wish.without?.includes(name.slice(2));
      if (wish.questions && this.count) this.count.value = String(wish.questions);
      if (wish.copies && this.copies) this.copies.value = String(wish.copies);
      this.showFit();
      this.make(wish.quiz, { edition: wish.edition });
    }

    /** @returns {Wish} */
    wish(/** @type {string} */ quiz) {
      const settings = /** @type {Settings} */ (this.settings);
      const wanted = Math.round(Number(this.count?.value)) || 10;
      return {
        quiz,
        questions: Math.min(MOST, Math.max(1, wanted)),
        copies: Number(this.copies?.value) || 1,
        circuits: settings.circuits.map((one) => one.circuit).filter((name) => this.on(`c ${name}`)),
        levels: settings.levels.map((one) => one.level).filter((name) => this.on(`l ${name}`)),
        without: settings.circuits.flatMap((one) => one.objectives.map((aim) => aim.id)).filter((id) => !this.on(`o ${id}`)),
        edition: settings.edition,
      };
    }

    /**
     * @param {string} quiz its name
     * @param {{edition?: string, go?: boolean}} how the edition that an address was made with; whether the focus goes to the quiz
     */
    make(quiz, { edition = '', go = false }) {
      const settings = /** @type {Settings} */ (this.settings);
      const fitting = this.fitting();
      if (!fitting.length) {
        this.showFit();
        this.boxes?.values().next().value?.focus();
        return;
      }
      const wish = this.wish(quiz);
      if (this.count) this.count.value = String(wish.questions);
      this.showFit();
      const entries = chosen(quiz, fitting, wish.questions);
      this.address = toAddress(wish, settings);
      if (location.hash !== this.address) history.replaceState(null, '', this.address);
      const print = button('Print', () => window.print(), 'practice-button--main');
      const again = button('Other questions', () => this.make(freshName(), { go: true }));
      const old = edition && edition !== settings.edition
        ? [make('p', { class: 'quiz-warn', text: 'The address was made with another edition of this course: questions or numbers may differ from those of that day.' })] : [];
      const head = make('p', { class: 'quiz-ready', tabindex: '-1', text: `Quiz ${quiz}: ${entries.length} question${entries.length === 1 ? '' : 's'}. The address of this page now holds it; keep the address to print the same quiz again.` });
      const copies = [...LETTERS].slice(0, wish.copies);
      this.sheets?.replaceChildren(
        make('div', { class: 'quiz-bar' }, head, ...old, make('div', { class: 'practice-buttons' }, print, again)),
        ...copies.map((letter, copy) => this.paper(entries, letter, copy, quiz, wish.copies)),
        ...copies.map((letter, copy) => this.key(entries, letter, copy, quiz, wish.copies)),
      );
      /** @type {any} */ (globalThis).graderFit?.(this);
      if (go) head.focus();
    }

    /** @param {Entry} entry @param {string} quiz @param {number} copy */
    question(entry, quiz, copy) {
      return set().filled(entry.item.form, entry.item.columns, variantFor(quiz, entry.item, copy));
    }

    /** @param {Entry[]} entries @param {string} letter @param {number} copy @param {string} quiz @param {number} of */
    paper(entries, letter, copy, quiz, of) {
      const settings = /** @type {Settings} */ (this.settings);
      const name = of > 1 ? `Quiz ${quiz}, copy ${letter}` : `Quiz ${quiz}`;
      return make('section', { class: 'quiz-paper', 'data-copy': of > 1 ? letter : 'one' },
        make('h2', { class: 'quiz-title', text: settings.title }),
        make('p', { class: 'quiz-name', text: `${name}. Open practice, not an examination.` }),
        make('p', { class: 'quiz-who' }, 'Name ', make('span', {}), ' Date ', make('span', {})),
        make('ol', { class: 'quiz-questions' }, ...entries.map((entry) => questionOf(this.question(entry, quiz, copy), entry.units))),
        ...(settings.notice ? [make('p', { class: 'quiz-notice', text: settings.notice })] : []));
    }

    /** @param {Entry[]} entries @param {string} letter @param {number} copy @param {string} quiz @param {number} of */
    key(entries, letter, copy, quiz, of) {
      const name = of > 1 ? `Key to quiz ${quiz}, copy ${letter}` : `Key to quiz ${quiz}`;
      return make('section', { class: 'quiz-paper quiz-answers', 'data-copy': of > 1 ? letter : 'one' },
        make('h2', { class: 'quiz-title', text: name }),
        make('p', { class: 'quiz-name', text: 'Worked answers with the numbers of this copy.' }),
        make('ol', { class: 'quiz-questions' }, ...entries.map((entry) => {
          const question = this.question(entry, quiz, copy);
          const parts = question.kind === 'case' ? question.parts.map((/** @type {any} */ part) => keyOf(part, part.part)) : [keyOf(question, '')];
          return make('li', {}, ...parts);
        })));
    }
  }

  /** @type {any} */ (globalThis).graderQuiz = { draw, shuffled, inTurn, chosen, variantFor, fromAddress, toAddress };
  if (typeof customElements !== 'undefined' && !customElements.get('course-quiz')) customElements.define('course-quiz', CourseQuiz);
})();
