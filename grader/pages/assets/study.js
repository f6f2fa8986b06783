/**
 * The page "What to study again": what is due, how each circuit stands, and the file of progress. All of it comes from
 * `progress.js`, which alone knows the browser's store; the course itself stands in the page.
 */
(function () {
  'use strict';

  /** @typedef {{id: string, says: string, link: string, items: string[]}} Objective */
  /** @typedef {{name: string, title: string, page: string, objectives: Objective[]}} Circuit */
  /** @typedef {{all: number, known: number, learning: number, fresh: number, due: string[]}} Standing */

  const progress = /** @type {any} */ (globalThis).graderProgress;
  const { make, draw, button } = /** @type {any} */ (globalThis).graderParts;
  const said = document.getElementById('study-course');
  const places = ['due', 'circuits', 'keep'].map((name) => document.getElementById(`study-${name}`));
  if (!progress || !said || places.some((place) => !place)) return;
  const [duePlace, circuitsPlace, keepPlace] = /** @type {HTMLElement[]} */ (places);
  if (!duePlace || !circuitsPlace || !keepPlace) return;
  /** @type {Circuit[]} */
  const circuits = JSON.parse(said.textContent || '[]');
  const packsFolder = new URL('../../packs/', /** @type {HTMLScriptElement} */ (document.currentScript).src);
  const NEW_AT_ONCE = 10;
  const DUE_AT_ONCE = 20; // about as many as one sits through; the rest stays due
  const SHOWN = 6; // objectives due that stand open

  /** @param {number} count @param {string} one @param {string} many */
  const counted = (count, one, many) => `${count} ${count === 1 ? one : many}`;

  /** @param {Map<string, any>} items what is known of each @param {string[]} asked @returns {Standing} */
  function standing(items, asked) {
    const tried = asked.filter((item) => items.has(item));
    const known = tried.filter((item) => items.get(item).firm).length;
    return {
      all: asked.length, known, learning: tried.length - known, fresh: asked.length - tried.length,
      due: tried.filter((item) => items.get(item).isDue),
    };
  }

  /** @param {Circuit} circuit */
  const questionsOf = (circuit) => circuit.objectives.flatMap((one) => one.items);
  const everything = circuits.flatMap(questionsOf);

  // ---------------------------------------------------------------- due today

  const summary = make('p', { class: 'study-summary', role: 'status' });
  const trouble = make('div', { class: 'study-trouble' });
  const practiseDue = button('Practise', () => practise(dueOnes()), 'practice-button--main');
  const practiseNew = button('New questions', () => practise(freshOnes()));
  const dueList = make('div', {});
  const practice = /** @type {any} */ (make(/** @type {any} */ ('course-practice'), { hidden: '', 'data-mixed': '' }));
  duePlace.replaceChildren(trouble, summary, make('div', { class: 'practice-buttons' }, practiseDue, practiseNew), practice, dueList);

  /** What is due, the lowest box and the longest wait first. */
  function dueOnes() {
    const { items } = progress.read();
    const order = (/** @type {string} */ one, /** @type {string} */ other) => items.get(one).box - items.get(other).box || (items.get(one).due < items.get(other).due ? -1 : 1);
    return standing(items, everything).due.sort(order).slice(0, DUE_AT_ONCE);
  }

  /** The first questions, in the order of the lessons, that were never answered. */
  function freshOnes() {
    const { items } = progress.read();
    return everything.filter((item) => !items.has(item)).slice(0, NEW_AT_ONCE);
  }

  /** Asks these questions here; their packs are fetched now, by script, as a folder allows. @param {string[]} asked */
  function practise(asked) {
    const wanted = new Set(asked);
    const names = circuits.filter((circuit) => questionsOf(circuit).some((item) => wanted.has(item))).map((circuit) => circuit.name);
    if (!names.length) return;
    practice.dataset.packs = names.join(' ');
    practice.dataset.items = asked.join(' ');
    practice.hidden = false;
    practice.replaceChildren(make('p', { text: 'Fetching the questions …' }));
    for (const name of names) {
      if (document.querySelector(`script[data-pack="${name}"]`)) continue;
      const script = make('script', { src: new URL(`${name}.js`, packsFolder).href, 'data-pack': name });
      script.addEventListener('error', () => {
        script.remove();
        practice.replaceChildren(make('p', { role: 'alert', text: 'The questions could not be fetched. Open the page again where there is a network, or copy the whole folder of the course.' }));
      });
      document.head.append(script);
    }
    const begun = new MutationObserver(() => {
      const stem = practice.querySelector('.practice-stem');
      if (!stem) return;
      begun.disconnect();
      stem.focus();
    });
    begun.observe(practice, { childList: true, subtree: true });
    practice.begin();
  }

  /** @param {Objective} objective @param {string} text */
  const linked = (objective, text) => (objective.link ? make('a', { href: objective.link, text }) : make('span', { text }));

  /** @param {ReturnType<typeof progress.read>} known */
  function showDue({ items, today, trouble: wrong }) {
    const due = circuits.flatMap((circuit) => circuit.objectives.map((objective) => ({ circuit, objective, at: standing(items, objective.items) })))
      .filter(({ at }) => at.due.length)
      .sort((one, other) => one.at.known / one.at.all - other.at.known / other.at.all || other.at.due.length - one.at.due.length);
    const all = due.reduce((sum, { at }) => sum + at.due.length, 0);
    const tried = everything.filter((item) => items.has(item)).length;
    const fresh = Math.min(NEW_AT_ONCE, everything.length - tried);
    summary.textContent = all
      ? `${counted(all, 'question is', 'questions are')} due, in ${counted(due.length, 'objective', 'objectives')}. The weakest comes first.`
      : tried ? `Nothing is due today. ${nextDue(items, today)}` : 'Nothing was answered on this device yet. Start with new questions, or with a lesson.';
    practiseDue.textContent = all === 1 ? 'Practise the one that is due' : all > DUE_AT_ONCE ? `Practise ${DUE_AT_ONCE} of the ${all} that are due` : `Practise the ${all} that are due`;
    practiseDue.hidden = !all;
    practiseNew.textContent = fresh === 1 ? 'Practise the last new question' : `Practise ${fresh} new questions`;
    practiseNew.hidden = !fresh;
    practiseNew.classList.toggle('practice-button--main', !all);
    const rows = due.map(({ circuit, objective, at }) => make('li', {},
      linked(objective, objective.says),
      make('span', { class: 'study-note', text: `${circuit.title}. ${at.due.length} of ${at.all} due, ${at.known} known.` }),
    ));
    const more = rows.splice(SHOWN + 1 < rows.length ? SHOWN : rows.length);
    const open = dueList.querySelector('details')?.open ? new Set(['due']) : new Set();
    dueList.replaceChildren(...[rows, more].filter((some) => some.length).map((some) => make('ul', { class: 'study-list' }, ...some)));
    if (more.length) dueList.append(folded('due', `${more.length} more objectives`, open, /** @type {HTMLElement} */ (dueList.lastElementChild)));
    trouble.replaceChildren(...troubles(wrong || (tried || location.protocol !== 'file:' ? '' : 'apart')));
  }

  /** @param {Map<string, any>} items @param {string} today */
  function nextDue(items, today) {
    const days = everything.filter((item) => items.has(item)).map((item) => items.get(item).due).sort();
    if (!days[0]) return '';
    const wait = Math.round((Date.parse(days[0]) - Date.parse(today)) / 86_400_000);
    return `The next comes ${wait === 1 ? 'tomorrow' : `in ${wait} days`}.`;
  }

  /** What the reader should know of the store. @param {string} wrong */
  function troubles(wrong) {
    const says = [];
    if (wrong === 'not kept') says.push('This browser does not let the page keep anything: what you answer is remembered until you leave the page. Save it to a file first.');
    if (wrong === 'apart') says.push('If you have answered questions in a lesson and this page does not know it, your browser keeps the pages of a folder apart. Practise here: the buttons reach every question.');
    if (wrong === 'newer') says.push('What is kept here comes from another version of the course and is left as it is; what you answer now is not added. Open the newest version of the course.');
    if (wrong === 'damaged') says.push('Some of what was kept here cannot be read. The rest is shown; the next answer puts the damaged text aside, where you can save it below.');
    return says.map((text) => make('p', { class: 'study-warning', text }));
  }

  // ---------------------------------------------------------------- strong and weak circuits

  /** A bar: known filled, learning hatched, new left empty. @param {Standing} at */
  function bar(at) {
    const known = (100 * at.known) / (at.all || 1);
    const learning = (100 * at.learning) / (at.all || 1);
    const drawing = draw('svg', { class: 'study-bar', 'aria-hidden': 'true', width: '100%', height: '20' });
    drawing.append(draw('rect', { class: 'study-new', x: '0', y: '0', width: '100%', height: '20' }));
    if (learning) drawing.append(draw('rect', { class: 'study-learning', x: `${known}%`, y: '0', width: `${learning}%`, height: '20' }));
    if (known) drawing.append(draw('rect', { class: 'study-known', x: '0', y: '0', width: `${known}%`, height: '20' }));
    return drawing;
  }

  const hatch = draw('svg', { class: 'study-patterns', 'aria-hidden': 'true', width: '0', height: '0' }, draw('defs', {}, draw('pattern',
    { id: 'study-hatch', width: '7', height: '7', patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' },
    draw('rect', { class: 'study-hatch-ground', width: '7', height: '7' }), draw('rect', { class: 'study-hatch-line', width: '3', height: '7' }))));
  const legend = make('ul', { class: 'study-legend' });
  for (const [look, word] of [['known', 'known'], ['learning', 'learning'], ['new', 'new']]) {
    const swatch = draw('svg', { 'aria-hidden': 'true', width: '28', height: '14' }, draw('rect', { class: `study-${look}`, width: '28', height: '14' }));
    legend.append(make('li', {}, swatch, ` ${word}`));
  }
  const weakest = make('p', {});
  const bars = make('ul', { class: 'study-bars', 'aria-label': 'Circuits' });
  const tables = make('div', {});
  circuitsPlace.replaceChildren(hatch, weakest, legend, bars, tables);

  /** @param {Standing} at */
  const inWords = (at) => `${at.known} known, ${at.learning} learning, ${at.fresh} new`;

  /** @param {ReturnType<typeof progress.read>} known */
  function showCircuits({ items }) {
    const rows = circuits.map((circuit) => ({ circuit, at: standing(items, questionsOf(circuit)) }));
    const begun = rows.filter(({ at }) => at.fresh < at.all);
    const share = (/** @type {Standing} */ at) => at.known / (at.all - at.fresh);
    const ranked = [...begun].sort((one, other) => share(one.at) - share(other.at) || other.at.due.length - one.at.due.length);
    const [first, last] = [ranked[0], ranked[ranked.length - 1]];
    weakest.textContent = !first ? 'No circuit is begun yet.'
      : !last || share(first.at) === share(last.at) ? `${counted(begun.length, 'circuit is', 'circuits are')} begun, of ${circuits.length}.`
        : `Of the circuits begun, the weakest is “${first.circuit.title}” (${first.at.known} known of ${first.at.all - first.at.fresh} answered), the strongest “${last.circuit.title}” (${last.at.known} of ${last.at.all - last.at.fresh}).`;
    bars.replaceChildren(...rows.map(({ circuit, at }) => make('li', {},
      make('span', { class: 'study-name' }, circuit.page ? make('a', { href: circuit.page, text: circuit.title }) : circuit.title,
        ...(at.due.length ? [make('b', { class: 'study-mark', text: `${at.due.length} due` })] : [])),
      /** @type {any} */ (bar(at)),
      make('span', { class: 'study-note', text: inWords(at) }))));
    const open = new Set([...tables.querySelectorAll('details[open]')].map((one) => /** @type {HTMLElement} */ (one).dataset.of));
    tables.replaceChildren(
      folded('all', 'The same as a table', open, tableOf(['Circuit', 'Known', 'Learning', 'New', 'Due'],
        rows.map(({ circuit, at }) => [circuit.title, at.known, at.learning, at.fresh, at.due.length]))),
      folded('each', 'Objective by objective', open, make('div', {}, ...circuits.map((circuit) => tableOf([circuit.title, 'Known', 'Due'],
        circuit.objectives.map((objective) => {
          const at = standing(items, objective.items);
          return [linked(objective, objective.says), `${at.known} of ${at.all}`, at.due.length];
        }))))));
  }

  /** @param {string} of @param {string} words @param {Set<string | undefined>} open @param {HTMLElement} inside */
  function folded(of, words, open, inside) {
    const made = make('details', { 'data-of': of }, make('summary', { text: words }), inside);
    made.open = open.has(of);
    return made;
  }

  /** @param {string[]} heads @param {Array<Array<Node | string | number>>} rows */
  function tableOf(heads, rows) {
    const head = make('tr', {}, ...heads.map((text) => make('th', { scope: 'col', text })));
    const body = rows.map(([first, ...rest]) => make('tr', {},
      make('th', { scope: 'row' }, first instanceof Node ? first : String(first)), ...rest.map((cell) => make('td', { text: String(cell) }))));
    return make('table', { class: 'course-table study-table' }, make('thead', {}, head), make('tbody', {}, ...body));
  }

  // ---------------------------------------------------------------- save, open, erase

  const kept = make('p', {});
  const file = make('input', { type: 'file', id: 'study-file', accept: '.json,application/json' });
  const choice = make('div', { class: 'study-choice', role: 'group', 'aria-label': 'What to do with the file', tabindex: '-1', hidden: '' });
  const outcome = make('p', { class: 'study-outcome', role: 'status', tabindex: '-1' });
  const save = button('Save to a file', () => download(progress.exported(), `what-to-study-${progress.read().today}.json`));
  const eraser = button('Erase everything', () => sure());
  const aside = button('Save what could not be read', () => download(progress.aside(), 'could-not-be-read.txt'));
  const question = make('div', { class: 'study-choice', role: 'group', 'aria-label': 'Erase everything', tabindex: '-1', hidden: '' });
  keepPlace.replaceChildren(kept, make('div', { class: 'practice-buttons' }, save, aside),
    make('div', { class: 'practice-field' }, make('label', { for: 'study-file', text: 'Open a file that was saved here' }), file), choice,
    make('div', { class: 'practice-buttons' }, eraser), question, outcome);

  /** @param {string} text @param {string} name */
  function download(text, name) {
    const link = make('a', { href: URL.createObjectURL(new Blob([text], { type: 'application/json' })), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    say(`Saved as ${name}, where your browser puts what it saves.`);
  }

  /** @param {string} text @param {boolean} [bad] */
  function say(text, bad = false) {
    outcome.textContent = text;
    outcome.classList.toggle('study-warning', bad);
  }

  file.addEventListener('change', async () => {
    const chosen = file.files?.[0];
    if (!chosen) return;
    choice.hidden = true;
    let text;
    try {
      text = await chosen.text();
    } catch {
      say('The file could not be opened. Nothing has changed.', true);
      return;
    }
    const found = progress.looked(text);
    if (found.wrong) {
      say(`${found.wrong} Nothing has changed.`, true);
      file.value = '';
      outcome.focus();
      return;
    }
    say('');
    const done = (/** @type {'merge' | 'replace'} */ way) => {
      const wrong = progress.imported(text, way);
      close(choice, file);
      file.value = '';
      say(wrong ? `${wrong} Nothing has changed.` : way === 'merge' ? 'The file was added: of each question the later answer counts.' : 'The file has replaced what was here.', Boolean(wrong));
      outcome.focus();
    };
    const here = progress.read().items.size;
    choice.replaceChildren(
      make('p', { text: `The file holds ${counted(found.count, 'question', 'questions')}${found.last ? `, last answered on ${found.last}` : ''}. ${here ? `Here ${here === 1 ? 'is' : 'are'} ${here}.` : 'Nothing is remembered here yet.'}` }),
      make('div', { class: 'practice-buttons' }, button('Add it to what is here', () => done('merge'), 'practice-button--main'),
        ...(here ? [button('Replace what is here', () => done('replace'))] : []), button('Leave it', () => { file.value = ''; close(choice, file); })));
    choice.hidden = false;
    choice.focus();
  });

  /** @param {HTMLElement} shown @param {HTMLElement} back where the focus goes */
  function close(shown, back) {
    shown.hidden = true;
    back.focus();
  }

  function sure() {
    say('');
    const count = counted(progress.read().items.size, 'question', 'questions');
    ask(`This forgets ${count} that you have answered. Erase?`, 'Erase', () => {
      ask('Only a file that you have saved brings them back. Erase now?', 'Yes, erase everything now', () => {
        progress.erase();
        question.hidden = true;
        practice.hidden = true;
        practice.replaceChildren();
        say('Everything was erased from this device.');
        outcome.focus();
      });
    });
  }

  /** @param {string} text @param {string} word @param {() => void} act */
  function ask(text, word, act) {
    question.replaceChildren(make('p', { text }), make('div', { class: 'practice-buttons' },
      button('Keep it', () => close(question, eraser), 'practice-button--main'), button(word, act)));
    question.hidden = false;
    question.focus();
  }

  /** @param {ReturnType<typeof progress.read>} known */
  function showKept({ items }) {
    const here = new Set(everything);
    const strange = [...items.keys()].filter((item) => !here.has(item)).length;
    kept.textContent = `${counted(items.size, 'question is', 'questions are')} remembered on this device.`
      + (strange ? ` ${counted(strange, 'is', 'are')} not in this course and not counted above.` : '');
    aside.hidden = !progress.aside();
    save.disabled = !items.size;
    eraser.disabled = !items.size && !progress.aside() && !progress.read().trouble;
  }

  // ----------------------------------------------------------------

  let shown = '';

  /** Shows what has changed; where nothing has, what the reader stands on stays as it is. */
  function show() {
    const known = progress.read();
    const now = JSON.stringify([known.today, known.trouble, [...known.items], progress.aside()]);
    if (now === shown) return;
    shown = now;
    showDue(known);
    showCircuits(known);
    showKept(known);
  }

  progress.watch(show);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) show(); }); // another day may have begun
  show();
})();
