/* An assessor's sheet: keeps ticks and readings for each candidate, holds a reading against the sheet's range, saves the file. */
(function () {
  'use strict';

  /** @typedef {{value: string, low: string, high: string, unit: string, shown: string, within: string, range: string}} Wanted */
  /** @typedef {{number: string, critical: boolean, wanted: Wanted | null}} Step */
  /** @typedef {{steps: Object<string, string>, readings: Object<string, string>, remarks: string, started: number}} Kept */
  const data = JSON.parse(byId('data').textContent || '');
  /** @type {Step[]} */
  const steps = data.steps;
  const home = 'grader-station:' + data.station;
  const form = /** @type {HTMLFormElement} */ (byId('steps'));
  /** @type {Kept} */
  let kept = nothing();
  let savedText = '';
  /** Whether anything was kept since the page was opened. */
  let touched = false;
  /** Where what is shown is kept, and whether it is anybody's yet. */
  let where = '';
  let nobodys = true;

  /** @param {string} id @returns {HTMLElement} */
  function byId(id) {
    const found = document.getElementById(id);
    if (!found) throw new Error('the sheet has no ' + id);
    return found;
  }

  /** @param {string} id @returns {string} what stands in a field, without blanks at its ends and without half characters */
  function field(id) {
    const found = /** @type {HTMLInputElement|HTMLSelectElement|HTMLTextAreaElement} */ (byId(id));
    return found.value.trim().replace(/[\uD800-\uDFFF]/gu, '\uFFFD');
  }

  function sitting() {
    return data.sitting || field('sitting');
  }

  function candidate() {
    return field('candidate');
  }

  // ------------------------------------------------------------------ what is kept on this device

  /** @returns {Kept} */
  function nothing() {
    return { steps: {}, readings: {}, remarks: '', started: 0 };
  }

  /** Ticks are kept for each candidate of each sitting, so that one page serves a whole class. */
  function place() {
    return home + ':' + JSON.stringify([sitting(), candidate()]);
  }

  /** What the browser refuses to keep, until the page is closed: else a class would lose each candidate when the next is chosen. */
  /** @type {Map<string, string>} */
  const refused = new Map();

  /** @param {string} name @param {string} text */
  function put(name, text) {
    try {
      graderKept.put(name, text);
      refused.delete(name);
    } catch (error) {
      refused.set(name, text);
    }
    byId('storage').hidden = refused.size === 0;
  }

  /** @param {string} name @returns {string | null} */
  function take(name) {
    try {
      return refused.get(name) ?? graderKept.take(name);
    } catch (error) {
      return null;
    }
  }

  /** @param {unknown} found what lies there may be anybody's @param {(name: string, text: string) => boolean} wanted */
  function texts(found, wanted) {
    /** @type {Object<string, string>} */
    const kept = {};
    if (found === null || typeof found !== 'object') return kept;
    for (const [name, text] of Object.entries(found)) if (typeof text === 'string' && wanted(name, text)) kept[name] = text;
    return kept;
  }

  /** @param {boolean} [carry] whether what was ticked before anybody was chosen goes over to whoever is chosen now */
  function recall(carry) {
    const before = kept;
    if (carry && nobodys && !take(place())) {
      put(place(), JSON.stringify(before));
      if (where !== place()) put(where, JSON.stringify(nothing()));
    }
    where = place();
    nobodys = !sitting() || !candidate();
    kept = nothing();
    try {
      const found = JSON.parse(take(place()) || '{}');
      kept = {
        steps: texts(found.steps, (name, text) => text === 'done' || text === 'not done'),
        readings: texts(found.readings, (name, text) => text.length <= 100),
        remarks: String(found.remarks || ''),
        started: Number(found.started) || 0,
      };
    } catch (error) { /* what was kept is no text of ours: start afresh */ }
    for (const step of steps) {
      for (const tick of ticks(step)) tick.checked = kept.steps[step.number] === tick.value;
      const input = reading(step);
      if (input) input.value = kept.readings[step.number] || '';
    }
    /** @type {HTMLTextAreaElement} */ (byId('remarks')).value = kept.remarks;
    savedText = '';
    byId('saved').replaceChildren();
    show();
    tick();
  }

  function keep() {
    touched = true;
    put(place(), JSON.stringify(kept));
    put(home + ':who', JSON.stringify({ assessor: field('assessor'), candidate: candidate(), sitting: sitting() }));
  }

  // ------------------------------------------------------------------ steps

  /** @param {Step} step @returns {HTMLInputElement[]} */
  function ticks(step) {
    return Array.from(form.querySelectorAll('input[type="radio"][data-step="' + step.number + '"]'));
  }

  /** @param {Step} step @returns {HTMLInputElement | null} */
  function reading(step) {
    return form.querySelector('input[type="text"][data-step="' + step.number + '"]');
  }

  /** @param {Step} step @returns {'' | 'inside' | 'outside' | 'unread'} how a reading stands to the sheet's range, both ends inside */
  function judged(step) {
    const text = kept.readings[step.number];
    if (!step.wanted || !text) return '';
    const question = { kind: 'numeric', points: '1', answer: step.wanted, slips: [] };
    const found = graderMarker.markQuestion(/** @type {any} */ (question), { '': text }, data.units)[0];
    if (!found || found.verdict === 'unit' || found.verdict === 'unreadable' || found.verdict === 'blank') return 'unread';
    return found.verdict === 'right' ? 'inside' : 'outside';
  }

  /** @param {Step} step */
  function said(step) {
    const wanted = step.wanted;
    const text = kept.readings[step.number];
    if (!wanted || !text) return '';
    const found = graderMarker.readNumber(text, data.units, wanted.unit);
    if ('reason' in found) return 'cannot be read: ' + found.reason;
    const stands = judged(step);
    if (stands === 'unread') return 'read as ' + found.read + ', which is another kind of quantity';
    return 'read as ' + found.read + ': ' + stands + ' ' + wanted.range;
  }

  /** @param {Step[]} some */
  function numbers(some) {
    return (some.length === 1 ? 'step ' : 'steps ') + some.map((step) => step.number).join(', ');
  }

  function show() {
    const open = steps.filter((step) => !kept.steps[step.number]);
    const failed = steps.filter((step) => kept.steps[step.number] === 'not done');
    byId('count').textContent = (steps.length - open.length) + ' of ' + steps.length;
    for (const step of steps) {
      const state = kept.steps[step.number] || 'open';
      const chip = byId('chip-' + step.number);
      chip.classList.toggle('done', state === 'done');
      chip.classList.toggle('failed', state === 'not done');
      chip.setAttribute('aria-label', 'step ' + step.number + ', ' + state);
      byId('back-' + step.number).hidden = state === 'open';
      const line = document.getElementById('read-' + step.number);
      if (line) {
        line.textContent = said(step);
        line.classList.toggle('off', ['outside', 'unread'].includes(judged(step)));
      }
    }
    const critical = failed.filter((step) => step.critical);
    const against = steps.filter((step) => kept.steps[step.number] === 'done' && judged(step) === 'outside');
    const bare = steps.filter((step) => step.wanted && kept.steps[step.number] === 'done' && !kept.readings[step.number]);
    /** @type {string[][]} */
    const lines = [];
    if (critical.length) lines.push(['p', 'Critical ' + numbers(critical) + ' not done: the station is failed.', 'failed']);
    lines.push(['p', open.length ? 'Not ticked yet: ' + numbers(open) + '.' : 'Every step is ticked.']);
    if (failed.length) lines.push(['p', 'Not done: ' + numbers(failed) + '.']);
    if (against.length) lines.push(['p', 'Ticked done, and the reading lies outside the range: ' + numbers(against) + '.', 'failed']);
    if (bare.length) lines.push(['p', 'Ticked done without a reading: ' + numbers(bare) + '.', 'failed']);
    say('left', lines);
    const text = fileText();
    /** @type {HTMLTextAreaElement} */ (byId('text')).value = text;
    if (savedText && savedText !== text) say('saved', [['p', 'Something was changed after saving. Save the file again.']]);
    if (savedText !== text) savedText = '';
    byId('bar-name').textContent = candidate() || data.station;
  }

  // ------------------------------------------------------------------ time

  function minutes() {
    const person = data.sitters.find((/** @type {{candidate: string}} */ one) => one.candidate === candidate());
    return person ? person.minutes : data.minutes;
  }

  function tick() {
    byId('own-time').textContent = minutes() + ' min';
    byId('start').hidden = kept.started > 0;
    const time = byId('time');
    const left = kept.started ? Math.ceil(minutes() - (Date.now() - kept.started) / 60000) : minutes();
    const text = !kept.started ? left + ' min' : left > 0 ? left + ' min left' : 'time is over';
    if (time.textContent !== text && kept.started && (left === 5 || left <= 0)) byId('said').textContent = text;
    time.textContent = text;
    time.classList.toggle('short', kept.started > 0 && left <= 5);
  }

  // ------------------------------------------------------------------ saving

  /** @param {string} id @param {string[][]} lines tag, text, class: set as text, never as markup */
  function say(id, lines) {
    const place = byId(id);
    place.replaceChildren();
    for (const line of lines) {
      const element = document.createElement(line[0] || 'p');
      element.textContent = line[1] || '';
      if (line[2]) element.className = line[2];
      place.append(element);
    }
  }

  /** @param {Object<string, string>} found @returns {string} the lines of an object in the order of the steps */
  function listed(found) {
    const lines = steps
      .filter((step) => found[step.number])
      .map((step) => '    ' + JSON.stringify(step.number) + ': ' + JSON.stringify(found[step.number]));
    return '{' + (lines.length ? '\n' + lines.join(',\n') + '\n  ' : '') + '}';
  }

  function fileText() {
    const head = [['sitting', sitting()], ['candidate', candidate()], ['assessor', field('assessor')], ['station', data.station]];
    const lines = head.map((pair) => '  ' + JSON.stringify(pair[0]) + ': ' + JSON.stringify(pair[1]));
    lines.push('  "steps": ' + listed(kept.steps));
    if (steps.some((step) => step.wanted)) lines.push('  "readings": ' + listed(kept.readings));
    if (kept.remarks) lines.push('  "remarks": ' + JSON.stringify(kept.remarks));
    return '{\n' + lines.join(',\n') + '\n}\n';
  }

  /** @returns {string} the id of the first field of the head that is empty, or nothing */
  function missing() {
    if (!sitting()) return 'sitting';
    if (!field('assessor')) return 'assessor';
    return candidate() ? '' : 'candidate';
  }

  function save() {
    const empty = missing();
    if (empty) {
      say('saved', [['p', 'The ' + empty + ' is missing. Fill it in at the top of the page, then save.', 'warning']]);
      byId(empty).focus();
      return;
    }
    const text = fileText();
    const link = document.createElement('a');
    const address = URL.createObjectURL(new Blob([new TextEncoder().encode(text)], { type: 'application/json' }));
    const name = data.station + '-' + candidate().replace(/[^A-Za-z0-9_-]+/g, '_').slice(0, 60) + '.json';
    link.href = address;
    link.download = name;
    document.body.append(link);
    link.click();
    link.remove();
    window.setTimeout(function () { URL.revokeObjectURL(address); }, 60000);
    savedText = text;
    const open = steps.filter((step) => !kept.steps[step.number]);
    say('saved', [
      ['p', 'Saved as ' + name + '. Hand the file to the examiner, and choose the next candidate at the top.'],
      ...(open.length ? [['p', 'It holds nothing for ' + numbers(open) + '.', 'warning']] : []),
    ]);
    byId('saved').focus();
  }

  // ------------------------------------------------------------------ events

  /** @param {Event} event */
  function changed(event) {
    const found = event.target;
    if (!(found instanceof HTMLInputElement) || !found.dataset.step) return;
    if (found.type === 'radio') kept.steps[found.dataset.step] = found.value;
    else kept.readings[found.dataset.step] = found.value.trim().replace(/[\uD800-\uDFFF]/gu, '\uFFFD');
    keep();
    show();
  }

  /** @param {Event} event a radio button cannot be taken back by the browser's own means */
  function taken(event) {
    const button = event.target;
    if (!(button instanceof HTMLButtonElement) || !button.dataset.back) return;
    const step = steps.find((one) => one.number === button.dataset.back);
    if (!step) return;
    delete kept.steps[step.number];
    for (const one of ticks(step)) one.checked = false;
    keep();
    show();
    ticks(step)[0]?.focus();
  }

  function clear() {
    const started = kept.started;
    kept = nothing();
    put(place(), JSON.stringify(kept));
    recall();
    byId('said').textContent = started || candidate() ? 'Cleared.' : '';
    byId('steps').focus();
  }

  document.documentElement.classList.add('scripted');
  form.addEventListener('input', changed);
  form.addEventListener('click', taken);
  form.addEventListener('submit', (event) => event.preventDefault());
  byId('remarks').addEventListener('input', function () {
    kept.remarks = field('remarks');
    keep();
    show();
  });
  byId('assessor').addEventListener('input', function () { keep(); show(); });
  for (const id of ['candidate', 'sitting']) document.getElementById(id)?.addEventListener('change', function () { recall(true); keep(); });
  byId('start').addEventListener('click', function () {
    kept.started = Date.now();
    keep();
    tick();
  });
  byId('save').addEventListener('click', save);
  byId('clear').addEventListener('click', clear);
  /** Who was here before. */
  function recallWho() {
    try {
      const who = JSON.parse(take(home + ':who') || '{}');
      for (const id of ['assessor', 'candidate', 'sitting']) {
        const found = /** @type {HTMLInputElement|HTMLSelectElement|null} */ (document.getElementById(id));
        if (found && typeof who[id] === 'string') found.value = who[id];
      }
    } catch (error) { /* nobody is remembered */ }
  }

  recallWho();
  recall();
  put('grader-station', ''); // whether anything is kept here at all
  graderKept.recover(home, function () {
    if (touched) return;
    recallWho();
    recall();
  });
  window.setInterval(tick, 5000);
  // The same sheet in another window: what is ticked there is ticked here too, or the next tick here would take it away.
  window.addEventListener('storage', function (event) { if (event.key === place()) recall(); });
  window.addEventListener('beforeunload', function (event) {
    if (!byId('storage').hidden && fileText() !== savedText) event.preventDefault();
  });
})();
