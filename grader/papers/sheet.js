/* The answer sheet: keeps what is typed, says how a number is read, saves the answer file. It holds no key and knows no answer. */
(function () {
  'use strict';

  /** @typedef {{label: string, kind: string, unit: string}} Ask */
  const data = JSON.parse(byId('data').textContent || '');
  /** @type {Ask[]} */
  const asks = data.asks;
  const place = 'grader-sheet:' + data.paper;
  const form = /** @type {HTMLFormElement} */ (byId('questions'));
  let kept = recall();
  let savedText = '';

  /** @param {string} id @returns {HTMLElement} */
  function byId(id) {
    const found = document.getElementById(id);
    if (!found) throw new Error('the sheet has no ' + id);
    return found;
  }

  /** @param {string} label @returns {(HTMLInputElement|HTMLSelectElement)[]} */
  function fields(label) {
    return Array.from(form.querySelectorAll('[data-label="' + label + '"]'));
  }

  // ------------------------------------------------------------------ what is kept on this device

  /** @typedef {{fields: Object<string, any>, started: number, digest: string}} Kept */

  /** @param {string | null} text @returns {Kept} */
  function readKept(text) {
    const found = JSON.parse(text || '{}');
    const fields = found.fields && typeof found.fields === 'object' ? found.fields : {};
    return { fields, started: Number(found.started) || 0, digest: String(found.digest || '') };
  }

  /** @returns {Kept} */
  function recall() {
    try {
      return readKept(graderKept.take(place));
    } catch (error) {
      return { fields: {}, started: 0, digest: '' };
    }
  }

  function keep() {
    tryKeeping(function () { graderKept.put(place, JSON.stringify(kept)); });
  }

  /** @param {() => void} act */
  function tryKeeping(act) {
    try {
      act();
      byId('storage').hidden = true;
    } catch (error) {
      byId('storage').hidden = false;
    }
  }

  /** Fields answered since the page was opened. @type {Set<string>} */
  const touched = new Set();

  /** @param {string} text what a killed browser had kept: it counts, but for what was answered since */
  function recovered(text) {
    const found = readKept(text);
    for (const id of touched) found.fields[id] = kept.fields[id];
    kept = { fields: found.fields, started: found.started || kept.started, digest: found.digest };
    keep();
    restore();
    showCount();
    tick();
  }

  /** @param {HTMLInputElement|HTMLSelectElement} field */
  function ticks(field) {
    return field.type === 'radio' || field.type === 'checkbox';
  }

  function restore() {
    for (const ask of asks) {
      for (const field of fields(ask.label)) {
        const value = kept.fields[field.id];
        if (value === undefined || value === null) continue;
        if (ticks(field)) /** @type {HTMLInputElement} */ (field).checked = value === true;
        else field.value = String(value);
      }
      show(ask);
    }
  }

  /** @param {Ask} ask */
  function remember(ask) {
    for (const field of fields(ask.label)) {
      touched.add(field.id);
      kept.fields[field.id] = ticks(field) ? /** @type {HTMLInputElement} */ (field).checked : field.value;
    }
    keep();
  }

  // ------------------------------------------------------------------ answers

  /** @param {Ask} ask @returns {string} the answer as the answer file carries it, empty where there is none */
  function answer(ask) {
    const all = fields(ask.label);
    if (ask.kind === 'choice' || ask.kind === 'choices') {
      return all.filter((field) => /** @type {HTMLInputElement} */ (field).checked).map((field) => field.value).join(' ');
    }
    if (ask.kind === 'order') return all.map((field) => field.value).filter(Boolean).join(' ');
    if (ask.kind === 'match') {
      return all.filter((field) => field.value).map((field) => field.dataset.row + '-' + field.value).join(' ');
    }
    // Half a character, as a cut-off paste leaves it, would make the whole file unreadable.
    return all.map((field) => field.value.trim().replace(/[\uD800-\uDFFF]/gu, '\uFFFD')).join(' ');
  }

  /** @param {Ask} ask whether nothing of it is left open */
  function complete(ask) {
    if (ask.kind === 'order' || ask.kind === 'match') return fields(ask.label).every((field) => field.value);
    return answer(ask) !== '';
  }

  /** The answer file, line by line in the order of the paper; every answer is the text as typed. */
  function fileText() {
    const lines = asks
      .map((ask) => [ask.label, answer(ask)])
      .filter((pair) => pair[1] !== '')
      .map((pair) => '    ' + JSON.stringify(pair[0]) + ': ' + JSON.stringify(pair[1]));
    return '{\n  "paper": ' + JSON.stringify(data.paper) + ',\n  "candidate": ' + JSON.stringify(data.candidate) +
      ',\n  "answers": {' + (lines.length ? '\n' + lines.join(',\n') + '\n  ' : '') + '}\n}\n';
  }

  // ------------------------------------------------------------------ how an answer is read

  /** @param {Ask} ask @returns {string} */
  function reading(ask) {
    const text = answer(ask);
    if (ask.kind === 'order') return orderReading(ask);
    if (ask.kind === 'match') {
      const open = fields(ask.label).filter((field) => !field.value).length;
      return text && open ? 'not matched yet: ' + open : '';
    }
    if (ask.kind !== 'numeric' && ask.kind !== 'reading') return '';
    return text ? numberReading(text, ask) : '';
  }

  /** @param {Ask} ask */
  function orderReading(ask) {
    const chosen = fields(ask.label).map((field) => field.value);
    const twice = chosen.filter((letter, index) => letter && chosen.indexOf(letter) !== index);
    if (twice.length) return twice[0] + ' stands in two places';
    const open = chosen.filter((letter) => !letter).length;
    return open && open < chosen.length ? 'places still empty: ' + open : '';
  }

  /** @param {string} text @param {Ask} ask how the marker will read it, in the marker's own words; never whether it is right */
  function numberReading(text, ask) {
    const found = graderMarker.readNumber(text, data.units, ask.unit);
    return 'reason' in found ? 'cannot be read: ' + found.reason : 'read as ' + found.read;
  }

  /** @param {Ask} ask */
  function unreadable(ask) {
    return reading(ask).startsWith('cannot be read');
  }

  /** @type {Object<string, number>} */
  const waiting = {};

  /** @param {Ask} ask the reading, at once for the eye, after a pause for the ear */
  function show(ask) {
    const line = document.getElementById('read-' + ask.label);
    if (!line) return;
    clearTimeout(waiting[ask.label]);
    waiting[ask.label] = window.setTimeout(function () {
      line.textContent = reading(ask);
      line.classList.toggle('off', unreadable(ask));
    }, 250);
  }

  /** @param {Ask} ask */
  function showBack(ask) {
    const back = document.querySelector('[data-back="' + ask.label + '"]');
    if (back instanceof HTMLElement) back.hidden = answer(ask) === '';
  }

  /** @param {Ask[]} some */
  function labels(some) {
    return some.map((ask) => ask.label).join(', ');
  }

  function showCount() {
    const open = asks.filter((ask) => !complete(ask));
    byId('count').textContent = (asks.length - open.length) + ' of ' + asks.length;
    const unread = asks.filter(unreadable);
    byId('left').textContent =
      (open.length ? 'Not answered: ' + labels(open) + '.' : 'Every question has an answer.') +
      (unread.length ? ' Cannot be read: ' + labels(unread) + '.' : '');
    for (const ask of asks) {
      const done = open.indexOf(ask) < 0;
      const chip = byId('chip-' + ask.label);
      const lost = unread.indexOf(ask) >= 0;
      chip.classList.toggle('done', done && !lost);
      chip.classList.toggle('unread', lost);
      chip.setAttribute('aria-label', ask.label + (lost ? ', cannot be read' : done ? ', answered' : ', not answered'));
      showBack(ask);
    }
    const text = fileText();
    /** @type {HTMLTextAreaElement} */ (byId('text')).value = text;
    if (savedText && savedText !== text) say('saved', [['p', 'You changed an answer after saving. Save the answer file again.']]);
    if (savedText !== text) savedText = '';
  }

  // ------------------------------------------------------------------ time

  function start() {
    if (!kept.started) {
      kept.started = Date.now();
      keep();
    }
    tick();
  }

  let told = Infinity;

  function tick() {
    byId('start').hidden = kept.started > 0;
    if (!kept.started) return;
    const left = Math.ceil(data.minutes - (Date.now() - kept.started) / 60000);
    const time = byId('time');
    time.textContent = left > 0 ? left + ' min left' : 'time is over';
    time.classList.toggle('short', left <= 5);
    for (const mark of [10, 5, 1, 0]) {
      if (left <= mark && mark < told) {
        if (told !== Infinity || left === mark) announce(left > 0 ? left + ' minutes left' : 'The time is over. Save the answer file.');
        told = mark;
      }
    }
  }

  /** @param {string} text */
  function announce(text) {
    byId('said').textContent = text;
  }

  // ------------------------------------------------------------------ saving

  /** @param {string} id @param {string[][]} lines tag, text, class: set as text, never as markup */
  function say(id, lines) {
    const home = byId(id);
    home.replaceChildren();
    for (const line of lines) {
      const element = document.createElement(line[0] || 'p');
      element.textContent = line[1] || '';
      if (line[2]) element.className = line[2];
      home.append(element);
    }
  }

  function save() {
    const text = fileText();
    const bytes = new TextEncoder().encode(text);
    const sum = sha256(bytes);
    const link = document.createElement('a');
    const address = URL.createObjectURL(new Blob([bytes], { type: 'application/json' }));
    link.href = address;
    link.download = data.paper + '.json';
    document.body.append(link);
    link.click();
    link.remove();
    window.setTimeout(function () { URL.revokeObjectURL(address); }, 60000);
    savedText = text;
    kept.digest = sum;
    keep();
    say('saved', [
      ['p', 'Saved as ' + data.paper + '.json. Write these eight characters on your paper:'],
      ['p', sum.slice(0, 8), 'digest'],
      ['p', 'The whole digest of the file, SHA-256:', 'small'],
      ['p', sum, 'small mono wrap'],
      ['p', 'Then hand in the file. Whoever changes it afterwards changes its digest.'],
    ]);
    byId('saved').focus();
  }

  /**
   * SHA-256 (FIPS 180-4), by hand because the browser's own is missing on a page that came by plain http.
   * @param {Uint8Array} bytes
   * @returns {string} hexadecimal
   */
  function sha256(bytes) {
    const state = new Uint32Array(roots(8, 1 / 2));
    const constants = roots(64, 1 / 3);
    const blocks = new Uint8Array(Math.ceil((bytes.length + 9) / 64) * 64);
    blocks.set(bytes);
    blocks[bytes.length] = 0x80;
    const view = new DataView(blocks.buffer);
    view.setUint32(blocks.length - 8, Math.floor(bytes.length / 0x20000000));
    view.setUint32(blocks.length - 4, (bytes.length << 3) >>> 0);
    const words = new Uint32Array(64);
    for (let from = 0; from < blocks.length; from += 64) compress(state, words, constants, view, from);
    return Array.from(state, (word) => word.toString(16).padStart(8, '0')).join('');
  }

  /** @param {Uint32Array} state @param {Uint32Array} words @param {number[]} constants @param {DataView} view @param {number} from */
  function compress(state, words, constants, view, from) {
    /** @param {number} x @param {number} n */
    const turn = (x, n) => (x >>> n) | (x << (32 - n));
    /** @param {number} i */
    const w = (i) => /** @type {number} */ (words[i]);
    for (let i = 0; i < 64; i++) {
      words[i] = i < 16 ? view.getUint32(from + 4 * i) : (
        w(i - 16) + (turn(w(i - 15), 7) ^ turn(w(i - 15), 18) ^ (w(i - 15) >>> 3)) +
        w(i - 7) + (turn(w(i - 2), 17) ^ turn(w(i - 2), 19) ^ (w(i - 2) >>> 10)));
    }
    let [a, b, c, d, e, f, g, h] = /** @type {number[]} */ (Array.from(state));
    for (let i = 0; i < 64; i++) {
      const one = (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + constants[i] + w(i)) | 0;
      const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      h = g; g = f; f = e; e = (d + one) | 0; d = c; c = b; b = a; a = (one + two) | 0;
    }
    [a, b, c, d, e, f, g, h].forEach((value, i) => { state[i] = state[i] + value; });
  }

  /**
   * The first 32 bits after the point of the roots of the first primes: the constants as the standard defines them.
   * @param {number} count @param {number} power
   * @returns {number[]}
   */
  function roots(count, power) {
    const found = [];
    for (let n = 2; found.length < count; n++) {
      let prime = true;
      for (let d = 2; d * d <= n; d++) if (n % d === 0) prime = false;
      if (prime) found.push(fraction(n, power));
    }
    return found;
  }

  /** @param {number} n @param {number} power whole arithmetic: a float's cube root may be wrong in the last bit @returns {number} */
  function fraction(n, power) {
    const degree = BigInt(Math.round(1 / power));
    const target = BigInt(n) << (32n * degree);
    let low = 0n;
    let high = BigInt(n) << 32n;
    while (low < high) {
      const middle = (low + high + 1n) >> 1n;
      if (middle ** degree <= target) low = middle;
      else high = middle - 1n;
    }
    return Number(low & 0xffffffffn);
  }

  // ------------------------------------------------------------------ events

  /** @param {Event} event */
  function changed(event) {
    const field = event.target;
    if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) return;
    const ask = asks.find((one) => one.label === field.dataset.label);
    if (!ask) return;
    start();
    remember(ask);
    show(ask);
    showCount();
  }

  /** @param {Event} event a radio button cannot be taken back by the browser's own means */
  function taken(event) {
    const button = event.target;
    if (!(button instanceof HTMLButtonElement) || !button.dataset.back) return;
    const ask = asks.find((one) => one.label === button.dataset.back);
    if (!ask) return;
    for (const field of fields(ask.label)) /** @type {HTMLInputElement} */ (field).checked = false;
    remember(ask);
    showCount();
    fields(ask.label)[0]?.focus();
  }

  document.documentElement.classList.add('scripted');
  form.addEventListener('input', changed);
  form.addEventListener('click', taken);
  form.addEventListener('submit', (event) => event.preventDefault());
  byId('start').addEventListener('click', start);
  byId('save').addEventListener('click', save);
  document.getElementById('back')?.addEventListener('click', () => history.back());
  restore();
  tryKeeping(function () { localStorage.setItem('grader-sheet', ''); }); // whether anything is kept here at all
  showCount();
  tick();
  graderKept.recover(place, function (name, text) { if (name === place) recovered(text); });
  window.setInterval(tick, 5000);
  // The same sheet in another window: what is answered there is answered here too, or the next answer here would take it away.
  window.addEventListener('storage', function (event) {
    if (event.key !== place || !event.newValue) return;
    kept = recall();
    restore();
    showCount();
    tick();
  });
  window.addEventListener('beforeunload', function (event) {
    if (!byId('storage').hidden && fileText() !== savedText) event.preventDefault();
  });
})();
