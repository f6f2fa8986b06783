/**
 * The marker for the browser: the same verdicts, marks and sentences as the Python files beside it, which say why. A classic script;
 * `grader.marking.browser.script()` puts the sentences in. Parity is tested on one corpus of answers.
 *
 *     graderMarker.markQuestion(question, answers, units)   question of the key's form; answers {"": text}, or {"a": text, "b": text}
 *                                                           for the parts of a case; gives one outcome, or one for each part
 *     graderMarker.readNumber(text, units, bareUnit)        {number: "5/32", unit: "in", read: "5/32 in"}, or {reason}
 */
(function () {
  'use strict';

  /**
   * @typedef {{n: bigint, d: bigint}} Fraction               in lowest terms, d above 0
   * @typedef {{kind: string, factor: string, shown: string, offset?: string, spelt?: string[]}} UnitEntry
   * @typedef {Record<string, UnitEntry>} Units
   * @typedef {{number: Fraction, written: string, unit: string, entry: UnitEntry}} ReadNumber
   * @typedef {{reason: string}} Unreadable
   * @typedef {{value: string, low: string, high: string, unit: string, shown: string, within: string}} Answer
   * @typedef {{value: string, low: string, high: string, says: string, tree?: Tree | null}} Slip
   * @typedef {{tree: Tree, values: Record<string, number>, takes: Record<string, string>, within: string}} Follow
   * @typedef {number | boolean | [string, ...any[]]} Tree
   * @typedef {{letter: string, text: string, says?: string}} Option
   * @typedef {{kind: string, part?: string, points: string, answer: Answer, slips?: Slip[], plausible?: [string, string] | null,
   *   follow?: Follow | null, options: Option[], entries: Option[], rows: {number: string, text: string}[], right: any,
   *   parts: Question[]}} Question                            what its kind has of these; see `key.py`
   * @typedef {{part: string, verdict: string, mark: string, out_of: string, read: string, why: string}} Outcome
   */

  /** @type {Record<string, string>} */
  const SAYS = /* says.json */ {};
  /** Number of a drill to its bore in inches. @type {Record<string, string>} */
  const DRILLS = /* drills */ {};
  const LONGEST = 100;
  const GREATEST_POWER = 99;
  const FIGURES = 12;

  // Exact numbers.

  /** @param {bigint} a @param {bigint} b @returns {bigint} */
  const common = (a, b) => { while (b) [a, b] = [b, a % b]; return a < 0n ? -a : a; };

  /** @param {bigint} n @param {bigint} d @returns {Fraction} */
  function fraction(n, d) {
    const by = common(n, d) * (d < 0n ? -1n : 1n);
    return { n: n / by, d: d / by };
  }
  const ZERO = fraction(0n, 1n);
  const ONE = fraction(1n, 1n);
  /** @param {Fraction} a @param {Fraction} b */
  const plus = (a, b) => fraction(a.n * b.d + b.n * a.d, a.d * b.d);
  /** @param {Fraction} a @param {Fraction} b */
  const minus = (a, b) => fraction(a.n * b.d - b.n * a.d, a.d * b.d);
  /** @param {Fraction} a @param {Fraction} b */
  const times = (a, b) => fraction(a.n * b.n, a.d * b.d);
  /** @param {Fraction} a @param {Fraction} b */
  const over = (a, b) => fraction(a.n * b.d, a.d * b.n);
  /** @param {Fraction} a */
  const size = (a) => (a.n < 0n ? { n: -a.n, d: a.d } : a);
  /** @param {Fraction} a @param {Fraction} b */
  const most = (a, b) => a.n * b.d <= b.n * a.d;
  /** @param {number} power */
  const ten = (power) => (power < 0 ? { n: 1n, d: 10n ** BigInt(-power) } : { n: 10n ** BigInt(power), d: 1n });

  /** The whole number nearest, half to even. @param {Fraction} a @returns {bigint} */
  function nearest(a) {
    let floor = a.n / a.d;
    if (a.n % a.d < 0n) floor -= 1n;
    const twice = 2n * (a.n - floor * a.d);
    return twice > a.d || (twice === a.d && floor % 2n !== 0n) ? floor + 1n : floor;
  }

  /** A decimal or a fraction of the key. @param {string} text @returns {Fraction} */
  function exact(text) {
    const [above, below] = text.split('/');
    if (below !== undefined) return fraction(BigInt(above || '0'), BigInt(below));
    const [mantissa = '0', power = '0'] = text.toLowerCase().split('e');
    const [whole = '', rest = ''] = mantissa.replace(/^[+-]/, '').split('.');
    const value = times({ n: BigInt(whole + rest), d: 1n }, ten(Number(power) - rest.length));
    return mantissa.startsWith('-') ? minus(ZERO, value) : value;
  }

  /** A decimal of at most so many places, half to even. @param {Fraction} value @param {number} places */
  function decimal(value, places = 2) {
    const scaled = nearest(times(value, ten(places)));
    const digits = size({ n: scaled, d: 1n }).n.toString().padStart(places + 1, '0');
    const whole = digits.slice(0, digits.length - places);
    const rest = digits.slice(digits.length - places).replace(/0+$/, '');
    return (scaled < 0n ? '-' : '') + whole + (rest ? '.' + rest : '');
  }

  /** To so many significant figures, half to even. @param {Fraction} value @param {number} count */
  function figures(value, count) {
    if (!value.n) return value;
    const whole = size(value);
    let power = whole.n.toString().length - whole.d.toString().length;
    if (!most(ten(power), whole)) power -= 1;
    const step = ten(power - count + 1);
    return times({ n: nearest(over(value, step)), d: 1n }, step);
  }

  /** As a plain decimal to four figures. @param {Fraction} value */
  function shown(value) {
    const rounded = figures(value, 4);
    let places = 0;
    while (times(rounded, ten(places)).d !== 1n) places += 1;
    return decimal(rounded, places);
  }

  /** The nearest double. @param {Fraction} a @returns {number} */
  function toFloat(a) {
    if (!a.n) return 0;
    const { n, d } = size(a);
    const shift = n.toString(2).length - d.toString(2).length - 55;
    const [up, down] = shift < 0 ? [n << BigInt(-shift), d] : [n, d << BigInt(shift)];
    const value = Number(up / down | (up % down ? 1n : 0n)) * 2 ** shift; // the last bit stands for all that follow
    return a.n < 0n ? -value : value;
  }

  /** @param {number} x @returns {Fraction} */
  function fromFloat(x) {
    let d = 1n;
    while (!Number.isInteger(x)) { x *= 2; d *= 2n; }
    return fraction(BigInt(x), d);
  }

  // Sentences and outcomes.

  /** @param {string} name @param {Record<string, string | number>} values */
  const says = (name, values = {}) => (SAYS[name] ?? name).replace(/\{([a-z]+)\}/g, (_, slot) => String(values[slot]));

  /** @param {Question} q @param {string} verdict @param {Fraction} share @param {string} read @param {string} why @returns {Outcome} */
  function outcome(q, verdict, share, read, why) {
    const full = exact(q.points);
    return { part: q.part ?? '', verdict, mark: decimal(times(share, full)), out_of: decimal(full), read, why };
  }
  /** @param {Question} q */
  const blank = (q) => outcome(q, 'blank', ZERO, '', says('blank'));
  /** @param {Question} q @param {string} why */
  const unreadable = (q, why) => outcome(q, 'unreadable', ZERO, '', why);
  /** @param {Question} q @param {string} read */
  const right = (q, read) => outcome(q, 'right', ONE, read, says('right'));

  // Texts.

  /** @type {Record<string, string>} */
  const TYPED_FOR = {
    '″': '"', '”': '"', '“': '"', '‶': '"', '′': "'", '’': "'", '‘': "'", '´': "'", 'º': '°', '⁄': '/', '∕': '/', '∶': ':',
    '‐': '-', '‑': '-', '‒': '-', '–': '-', '—': '-', '−': '-',
  };
  /** @param {string} text */
  const typed = (text) => text.replace(/[″”“‶′’‘´º⁄∕∶‐‑‒–—−]/g, (c) => TYPED_FOR[c] ?? c);
  /** @param {string} text */
  const trimmed = (text) => text.replace(/^ +| +$/g, '');
  /** @param {string} text */
  const length = (text) => [...text].length;
  /** @param {string} text */
  const cut = (text) => (length(text) <= 40 ? text : [...text].slice(0, 39).join('') + '…');

  /** What the eye does not tell apart, made one. @param {string} text */
  function tidied(text) {
    const plain = typed(text.replace(/[\u{10000}-\u{1d3ff}\u{1d800}-\u{10ffff}]/gu, '\ufffd'))
      .replace(/[⁰¹²³⁴-⁹⁺⁻]+/g, (m) => '^' + m.normalize('NFKC'))
      .replace(/[¼-¾⅐-⅞]/g, (m) => ` ${m.normalize('NFKC')} `);
    const spaces = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200b\u2028\u2029\u202f\u205f\u2060\u3000\ufeff]+/g;
    return trimmed(typed(plain.normalize('NFKC')).replace(spaces, ' '));
  }

  /** @param {string} text */
  const isBlank = (text) => length(text) <= LONGEST && /^[-?._/ ]*$/.test(tidied(text));

  /** A unit's spelling with all that does not tell units apart taken out; as `grader.base.quantities.fold`. @param {string} text */
  const fold = (text) => text.replace(/[″”“]/g, '"').replace(/[′’]/g, "'").replace(/µ/g, 'μ').normalize('NFKC').toLowerCase()
    .replace(/(^|[^\p{L}\p{N}_])per(?![\p{L}\p{N}_])/gu, '$1/').replace(/[\s.^*·⋅×()]+/g, '');

  /** @param {RegExp} pattern sticky @param {string} text @param {number} start @returns {RegExpExecArray | null} */
  function at(pattern, text, start) {
    pattern.lastIndex = start;
    return pattern.exec(text);
  }

  // Numbers with units: the rules stand in `numbers.py`.

  const HIDDEN = /[\x00-\x1f\x7f-\x9f\xad\u200c-\u200f\u202a-\u202e\u2061-\u206f\ue000-\uf8ff\ufff0-\uffff]/;
  const BEFORE = /(?:(?:[a-zΔδ][a-z0-9_]{0,15} ?)?= ?)?(?:(?:≈|~|∼|≅|≃|approx(?:imately)?\b\.?|about\b|around\b|roughly\b|circa\b|ca\b\.?|c\.) ?)?/iy;
  const SIGN = /([+-]?) ?/y;
  const FRACTION = /(?:([0-9]+)(?: |-| - ))?([0-9]+) ?\/ ?([0-9]+)/y;
  const DIGITS = /[0-9]{1,3}(?: [0-9]{3})+(?![0-9])(?:[.,][0-9]+)?|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+/y;
  const POWER = /[eE]([+-]?[0-9]+)| ?[xX×*·⋅] ?10 ?(?:\^|\*\*) ?([+-]?[0-9]+)| ?[xX×] ?10 ?([+-][0-9]+)/y;
  const TEN = /10 ?(?:\^|\*\*) ?([+-]?[0-9]+)/y;
  const THOUSANDS = /^[0-9]{1,3}([., ])[0-9]{3}(?:\1[0-9]{3})*$/;
  const DATE = /^(?:[0-9]+[-. /]+)?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*(?:[-. /]+[0-9]+)?$/i;
  const DRILL = /^(?:(?:no\.?|number|#) ?([0-9]{1,4})[ -]drill(?: bit)?\.?|drill(?: bit)? ?(?:no\.?|number|#) ?([0-9]{1,4})\.?)$/i;
  const NUMBER_SIGN = /^(?:no\.?|number|#) ?[0-9]+\.?$/i;

  /** @param {string} number @param {UnitEntry} entry */
  const withSign = (number, entry) => (entry.shown ? number + (entry.shown === '°' ? '' : '\u202f') + entry.shown : number);
  /** @param {ReadNumber} read */
  const readAs = (read) => withSign(read.written, read.entry);
  /** @param {Fraction} number @param {UnitEntry} entry */
  const si = (number, entry) => plus(times(number, exact(entry.factor)), exact(entry.offset ?? '0'));
  /** @param {Fraction} value @param {UnitEntry} entry */
  const fromSi = (value, entry) => over(minus(value, exact(entry.offset ?? '0')), exact(entry.factor));
  /** @param {Units} units @param {string} name @returns {UnitEntry} */
  const unitOf = (units, name) => /** @type {UnitEntry} */ (units[name]);

  /** @param {string} text @param {Units} units @param {string} bareUnit @returns {ReadNumber | Unreadable} */
  function read(text, units, bareUnit) {
    const example = withSign('12.5', unitOf(units, bareUnit));
    if (length(text) > LONGEST) return { reason: says('unreadable-long', { limit: LONGEST }) };
    const plain = tidied(text);
    if (HIDDEN.test(plain)) return { reason: says('unreadable-character') };
    if (DATE.test(plain)) return { reason: says('unreadable-date', { text: cut(plain) }) };
    const drill = DRILL.exec(plain);
    const inch = drill && readUnit('in', units, bareUnit);
    if (drill && inch) return bore(Number(drill[1] ?? drill[2]), inch);
    if (NUMBER_SIGN.test(plain)) return { reason: says('unreadable-sign', { text: cut(plain) }) };
    const before = at(BEFORE, plain, 0)?.[0].length ?? 0;
    const sign = at(SIGN, plain, before);
    const start = before + (sign?.[0].length ?? 0);
    const found = readFraction(plain, start) ?? readDecimal(plain, start);
    if (!found) return { reason: says('unreadable-number', { text: cut(plain), example }) };
    if ('reason' in found) return found;
    const rest = plain.slice(found.end);
    const unit = readUnit(rest, units, bareUnit);
    if (!unit) {
      if (/(?:^|[^a-z0-9^])[0-9]|±/i.test(rest)) return { reason: says('unreadable-several', { text: cut(plain) }) };
      return { reason: says('unreadable-unit', { unit: cut(trimmed(rest)), example }) };
    }
    const negative = sign?.[1] === '-';
    const number = negative ? minus(ZERO, found.number) : found.number;
    return { number, written: (negative ? '-' : '') + found.written, unit: unit[0], entry: unit[1] };
  }

  /** @param {number} drill @param {[string, UnitEntry]} inch @returns {ReadNumber | Unreadable} */
  function bore(drill, inch) {
    const written = DRILLS[drill];
    if (written !== undefined) return { number: exact(written), written, unit: inch[0], entry: inch[1] };
    return { reason: says('unreadable-drill', { number: drill, last: Math.max(...Object.keys(DRILLS).map(Number)) }) };
  }

  /** @typedef {{number: Fraction, written: string, end: number}} Part */
  /** @param {string} text @param {number} start @returns {Part | Unreadable | null} */
  function readFraction(text, start) {
    const found = at(FRACTION, text, start);
    if (!found) return null;
    const [whole, above, below] = [BigInt(found[1] ?? '0'), BigInt(found[2] ?? '0'), BigInt(found[3] ?? '0')];
    if (!below) return { reason: says('unreadable-zero', { text: cut(text) }) };
    if (found[1] && above >= below) return { reason: says('unreadable-mixed', { text: cut(text) }) };
    const written = (found[1] ? `${whole} ` : '') + `${above}/${below}`;
    return { number: fraction(whole * below + above, below), written, end: start + found[0].length };
  }

  /** @param {string} text @param {number} start @returns {Part | Unreadable | null} */
  function readDecimal(text, start) {
    const alone = at(TEN, text, start);
    const found = alone ?? at(DIGITS, text, start);
    if (!found) return null;
    let end = start + found[0].length;
    let power = alone?.[1];
    const raised = alone ? null : at(POWER, text, end);
    if (raised) {
      power = raised[1] ?? raised[2] ?? raised[3];
      end += raised[0].length;
    }
    const plain = oneDecimal(alone ? '1' : found[0], text);
    if (typeof plain !== 'string') return plain;
    if (power === undefined) return { number: exact(plain), written: plain, end };
    if (power.length > 4 || Math.abs(Number(power)) > GREATEST_POWER) {
      return { reason: says('unreadable-size', { text: cut(text), limit: GREATEST_POWER }) };
    }
    return { number: times(exact(plain), ten(Number(power))), written: `${plain}e${BigInt(power.replace('+', ''))}`, end };
  }

  /** Digits with points, commas and spaces, as a decimal with a point. @param {string} digits @param {string} text @returns {string | Unreadable} */
  function oneDecimal(digits, text) {
    const last = Math.max(digits.lastIndexOf('.'), digits.lastIndexOf(','), digits.lastIndexOf(' '));
    if (last < 0) return digits;
    const [mark, before, after] = [digits.charAt(last), digits.slice(0, last), digits.slice(last + 1)];
    const others = before.replace(/[0-9]/g, '');
    const bad = { reason: says('unreadable-marks', { text: cut(text) }) };
    if (mark === ' ' || others.includes(mark)) return THOUSANDS.test(digits) ? digits.split(mark).join('') : bad;
    if (others) return THOUSANDS.test(before) ? `${before.split(before.charAt(before.length - 4)).join('')}.${after}` : bad;
    if (mark === ',' && after.length === 3 && before.length >= 1 && before.length <= 3 && /[1-9]/.test(before)) {
      return { reason: says('unreadable-comma', { text: cut(text), thousands: before + after, decimal: `${before}.${after}` }) };
    }
    return `${before || '0'}.${after}`;
  }

  /** @param {string} text @param {Units} units @param {string} bareUnit @returns {[string, UnitEntry] | null} */
  function readUnit(text, units, bareUnit) {
    const asked = unitOf(units, bareUnit);
    const spelling = fold(text.replace(/^[ .,;!]+|[ .,;!]+$/g, '').replace(/^- /, '').replace(/^-/, ''));
    if (spelling === '' || asked.spelt?.includes(spelling) || spelling === fold(asked.shown)) return [bareUnit, asked];
    const named = Object.keys(units).sort().filter((name) => units[name]?.spelt?.includes(spelling));
    const name = named.find((one) => units[one]?.kind === asked.kind) ?? named[0];
    if (name === undefined) return null;
    const entry = unitOf(units, name);
    if (name === 'deg' && asked.kind.startsWith('temperature')) return [bareUnit, asked];
    if (asked.kind === 'temperature difference' && entry.kind === 'temperature') {
      return [name, { kind: asked.kind, factor: entry.factor, shown: entry.shown }];
    }
    return [name, entry];
  }

  // Kinds, each as in the Python file of its name.

  /** @param {Question} q @param {string} text @param {Units} units @returns {ReadNumber | Outcome} */
  function understood(q, text, units) {
    if (isBlank(text)) return blank(q);
    const found = read(text, units, q.answer.unit);
    if ('reason' in found) return unreadable(q, found.reason);
    const wanted = unitOf(units, q.answer.unit);
    if (found.entry.kind === wanted.kind) return found;
    const values = { read: readAs(found), kind: found.entry.kind, wanted: wanted.kind, unit: wanted.shown };
    return outcome(q, 'unit', ZERO, readAs(found), says(wanted.shown ? 'unit' : 'unit-none', values));
  }

  /** @param {ReadNumber} found @param {Units} units @param {string} unit */
  const within = (found, units, unit) => fromSi(si(found.number, found.entry), unitOf(units, unit));
  /** @param {Fraction} value @param {string} low @param {string} high */
  const inside = (value, low, high) => most(exact(low), value) && most(value, exact(high));

  /** @param {Question} q @param {ReadNumber} found @param {Units} units */
  function compared(q, found, units) {
    const value = within(found, units, q.answer.unit);
    if (inside(value, q.answer.low, q.answer.high)) return right(q, readAs(found));
    const slip = (q.slips ?? []).find((one) => inside(value, one.low, one.high));
    if (slip) return outcome(q, 'slip', ZERO, readAs(found), slip.says || says('slip-silent'));
    return outcome(q, 'wrong', ZERO, readAs(found), otherUnit(q, found, units) || wrong(q, value, unitOf(units, q.answer.unit)));
  }

  /** @param {Question} q @param {ReadNumber} found @param {Units} units */
  function otherUnit(q, found, units) {
    const { low, high, value: key, unit: wanted } = q.answer;
    if (inside(ZERO, low, high)) return '';
    const asked = unitOf(units, wanted);
    /** @type {{off: Fraction, shown: string} | null} */
    let nearest = null;
    for (const name of Object.keys(units).sort()) {
      const entry = unitOf(units, name);
      if (entry.kind !== asked.kind || name === found.unit) continue;
      const value = fromSi(si(found.number, entry), asked);
      const off = size(minus(value, exact(key)));
      if (inside(value, low, high) && !(nearest && most(nearest.off, off))) nearest = { off, shown: entry.shown };
    }
    if (!nearest) return '';
    return nearest.shown ? says('wrong-unit', { unit: nearest.shown }) : says('wrong-unit-none', { unit: asked.shown });
  }

  /** @param {Question} q @param {Fraction} value @param {UnitEntry} entry */
  function wrong(q, value, entry) {
    const values = { within: q.answer.within };
    if (!q.plausible || inside(value, ...q.plausible)) return says('wrong', values);
    const [low, high] = q.plausible;
    return says('wrong-plausible', { ...values, least: withSign(low, entry), most: withSign(high, entry) });
  }

  /** @param {Question} q @param {string} text @param {Units} units */
  function markNumeric(q, text, units) {
    const found = understood(q, text, units);
    return 'verdict' in found ? found : compared(q, found, units);
  }

  const BETWEEN = /(?:[ ,;.:+&/()[\]{}<>=|_→⇒"'-]|\b(?:and|then|option|options|answer|answers)\b)+/g;

  /** @param {string} text @param {string[]} letters @returns {string[] | string} */
  function lettersOf(text, letters) {
    if (length(text) > LONGEST) return says('unreadable-long', { limit: LONGEST });
    const plain = tidied(text).toLowerCase();
    /** @type {string[]} */
    const found = [];
    for (const word of plain.replace(BETWEEN, ' ').split(' ')) {
      if (letters.includes(word)) found.push(word);
      else if ([...word].every((letter) => letters.includes(letter))) found.push(...word);
      else return noLetter(plain, letters);
    }
    return found;
  }
  /** @param {string} plain @param {string[]} letters */
  const noLetter = (plain, letters) => says('unreadable-option', { text: cut(plain), letters: letters.join(' ') });
  /** @param {Option[]} options */
  const lettersIn = (options) => options.map((option) => option.letter);
  /** @param {string} text */
  const same = (text) => tidied(text).toLowerCase().replace(/\.+$/, '');

  /** @param {Question} q @param {string} text @returns {Outcome} */
  function markChoice(q, text) {
    if (isBlank(text)) return blank(q);
    const letters = lettersIn(q.options);
    const found = lettersOf(text, letters);
    const count = new Set(found).size;
    const printed = length(text) > LONGEST ? [] : lettersIn(q.options.filter((option) => same(option.text) === same(text)));
    const letter = typeof found !== 'string' && count === 1 ? found[0] : printed.length === 1 ? printed[0] : undefined;
    if (letter === undefined) {
      if (typeof found === 'string') return unreadable(q, found);
      if (!count) return unreadable(q, noLetter(tidied(text), letters));
      return unreadable(q, says('unreadable-one', { text: cut(tidied(text)), count }));
    }
    if (letter === q.right) return right(q, letter);
    const told = q.options.find((option) => option.letter === letter)?.says;
    return outcome(q, 'wrong', ZERO, letter, told || says('wrong-option'));
  }

  /** @param {Question} q @param {string} text @returns {Outcome} */
  function markChoices(q, text) {
    if (isBlank(text)) return blank(q);
    const letters = lettersIn(q.options);
    const found = lettersOf(text, letters);
    if (typeof found === 'string') return unreadable(q, found);
    if (!found.length) return unreadable(q, noLetter(tidied(text), letters));
    const taken = q.options.filter((option) => found.includes(option.letter));
    const strangers = taken.filter((option) => !q.right.includes(option.letter));
    const [missed, wanted] = [strangers.length, q.right.length];
    const hit = taken.length - missed;
    const shownAs = lettersIn(taken).join(' ');
    if (hit === wanted && !missed) return right(q, shownAs);
    const share = hit > missed ? fraction(BigInt(hit - missed), BigInt(wanted)) : ZERO;
    const told = strangers.flatMap((option) => option.says || []);
    return outcome(q, share.n ? 'part' : 'wrong', share, shownAs, [says('choices', { hit, wanted, missed }), ...told].join(' '));
  }

  /** @param {Question} q @param {string} text @returns {Outcome} */
  function markOrder(q, text) {
    if (isBlank(text)) return blank(q);
    const letters = lettersIn(q.entries);
    const found = lettersOf(text, letters);
    if (typeof found === 'string') return unreadable(q, found);
    if (!found.length) return unreadable(q, noLetter(tidied(text), letters));
    /** @type {string[]} */
    const order = q.right;
    if (found.join() === order.join()) return right(q, found.join(' '));
    const placed = order.filter((letter) => found.indexOf(letter) >= 0 && found.indexOf(letter) === found.lastIndexOf(letter));
    let hit = 0;
    placed.forEach((a, i) => placed.slice(i + 1).forEach((b) => { if (found.indexOf(a) < found.indexOf(b)) hit += 1; }));
    const wanted = (order.length * (order.length - 1)) / 2;
    return outcome(q, hit ? 'part' : 'wrong', fraction(BigInt(hit), BigInt(wanted)), found.join(' '), says('order', { hit, wanted }));
  }

  const PAIR = /([0-9]{1,3}) ?[-:=.)>→⇒]* ?\(?([a-z])\)?(?![a-z])/y;
  const NEXT = /[ ,;.|/]*/y;

  /** @param {Question} q @param {string} text @returns {Map<string, string> | string} */
  function pairsOf(q, text) {
    const rows = q.rows.map((row) => row.number);
    const letters = lettersIn(q.options);
    if (length(text) > LONGEST) return says('unreadable-long', { limit: LONGEST });
    const plain = tidied(text).toLowerCase();
    const example = rows.slice(0, letters.length).map((row, i) => `${row}-${letters[i]}`).join(' ');
    const unread = says('unreadable-match', { text: cut(plain), example });
    if (!/[0-9]/.test(plain)) {
      const found = lettersOf(text, letters);
      return typeof found === 'string' || found.length !== rows.length ? unread : new Map(rows.map((row, i) => [row, found[i] ?? '']));
    }
    /** @type {Map<string, string>} */
    const given = new Map();
    for (let place = 0; place < plain.length;) {
      const pair = at(PAIR, plain, place);
      const [row, letter] = [pair?.[1] ?? '', pair?.[2] ?? ''];
      if (!pair || !rows.includes(row) || !letters.includes(letter)) return unread;
      given.set(row, (given.get(row) ?? letter) === letter ? letter : '');
      place += pair[0].length;
      place += at(NEXT, plain, place)?.[0].length ?? 0;
    }
    return given;
  }

  /** @param {Question} q @param {string} text @returns {Outcome} */
  function markMatch(q, text) {
    if (isBlank(text)) return blank(q);
    const given = pairsOf(q, text);
    if (typeof given === 'string') return unreadable(q, given);
    const wanted = q.rows.length;
    const named = q.rows.filter((row) => given.has(row.number));
    const shownAs = named.map((row) => `${row.number}-${given.get(row.number) || '?'}`).join(' ');
    const hit = Object.entries(q.right).filter(([row, letter]) => given.get(row) === letter).length;
    if (hit === wanted) return right(q, shownAs);
    const share = fraction(BigInt(hit), BigInt(wanted));
    return outcome(q, hit ? 'part' : 'wrong', share, shownAs, says('match', { hit, wanted }));
  }

  // Cases: parts on the candidate's own earlier values.

  const FUNCTIONS = ['sqrt', 'exp', 'log', 'sin', 'cos', 'tan', 'asin', 'acos', 'atan', 'abs', 'min', 'max'];
  /** @type {Record<string, (a: number, b: number) => number>} */
  const ARITHMETIC = { '+': (a, b) => a + b, '-': (a, b) => a - b, '*': (a, b) => a * b, '/': (a, b) => a / b, '**': power };
  /** @type {Record<string, (a: number, b: number) => boolean>} */
  const COMPARISONS = {
    '<': (a, b) => a < b, '<=': (a, b) => a <= b, '>': (a, b) => a > b, '>=': (a, b) => a >= b, '==': (a, b) => a === b, '!=': (a, b) => a !== b,
  };

  /** Small whole powers multiplied out from the left, as in Python. @param {number} a @param {number} b @returns {number} */
  function power(a, b) {
    if (!Number.isInteger(b) || Math.abs(b) > 8) return a ** b;
    let product = b ? a : 1;
    for (let i = 1; i < Math.abs(b); i += 1) product *= a;
    return b < 0 ? 1 / product : product;
  }

  /** A tree's value (its form: `grader.relations.tree`); throws where there is none. @param {Tree} tree @param {Record<string, number>} env @returns {number} */
  function evaluate(tree, env) {
    if (!Array.isArray(tree)) return Number(tree);
    const [head, ...rest] = tree;
    let value = NaN;
    if (head === 'name') value = Object.hasOwn(env, rest[0]) ? Number(env[rest[0]]) : NaN;
    else if (head === 'pi') value = Math.PI;
    else if (head === 'if') value = evaluate(holds(rest[0], env) ? rest[1] : rest[2], env);
    else if (head === 'neg') value = -evaluate(rest[0], env);
    else if (FUNCTIONS.includes(head)) value = /** @type {any} */ (Math)[head](...rest.map((one) => evaluate(one, env)));
    else value = ARITHMETIC[head]?.(evaluate(rest[0], env), evaluate(rest[1], env)) ?? NaN;
    if (!Number.isFinite(value)) throw new RangeError(head);
    return value;
  }

  /** Whether a condition holds. @param {any} tree @param {Record<string, number>} env @returns {boolean} */
  function holds(tree, env) {
    const [head, ...rest] = tree;
    if (head === 'and') return rest.every((/** @type {Tree} */ one) => holds(one, env));
    if (head === 'or') return rest.some((/** @type {Tree} */ one) => holds(one, env));
    if (head === 'not') return !holds(rest[0], env);
    let left = evaluate(rest[0], env);
    for (let i = 1; i < rest.length; i += 2) {
      const next = evaluate(rest[i + 1], env);
      if (!COMPARISONS[rest[i]]?.(left, next)) return false;
      left = next;
    }
    return true;
  }

  /** @param {Tree} tree @param {Follow} follow @param {Map<string, Fraction>} values @param {UnitEntry} entry @returns {Fraction | null} */
  function carried(tree, follow, values, entry) {
    const env = { ...follow.values };
    for (const [name, letter] of Object.entries(follow.takes)) env[name] = toFloat(values.get(letter) ?? ZERO);
    try {
      const computed = evaluate(tree, env);
      if (!Number.isFinite(computed) || !computed) return null;
      return figures(fromSi(fromFloat(computed), entry), FIGURES);
    } catch {
      return null;
    }
  }

  /** @param {Fraction} middle @param {string} text @param {Units} units @param {string} unit @returns {Fraction} */
  function tolerance(middle, text, units, unit) {
    if (text.endsWith('%')) return times(size(middle), over(exact(trimmed(text.slice(0, -1))), exact('100')));
    const amount = read(text, units, unit);
    return 'reason' in amount ? ZERO : over(times(amount.number, exact(amount.entry.factor)), exact(unitOf(units, unit).factor));
  }

  /** @param {Question} q @param {ReadNumber} found @param {Map<string, ReadNumber>} own @param {Map<string, Fraction>} values @param {Units} units */
  function followed(q, found, own, values, units) {
    const plain = compared(q, found, units);
    const follow = q.follow;
    if (plain.verdict === 'right' || !follow) return plain;
    const letters = [...new Set(Object.values(follow.takes))].filter((letter) => own.has(letter));
    if (!letters.length) return plain;
    const unit = q.answer.unit;
    const entry = unitOf(units, unit);
    const value = within(found, units, unit);
    /** @param {Fraction | null} middle */
    const near = (middle) => middle !== null && most(size(minus(value, middle)), tolerance(middle, follow.within, units, unit));
    const middle = carried(follow.tree, follow, values, entry);
    if (middle && near(middle)) {
      const chain = letters.map((part) => says('own', { part, read: readAs(/** @type {ReadNumber} */ (own.get(part))) })).join(', ');
      return outcome(q, 'followed', ONE, readAs(found), says('followed', { own: chain, value: withSign(shown(middle), entry) }));
    }
    if (plain.verdict === 'slip') return plain;
    const slip = (q.slips ?? []).find((one) => one.tree != null && near(carried(one.tree, follow, values, entry)));
    return slip ? outcome(q, 'slip', ZERO, readAs(found), slip.says || says('slip-silent')) : plain;
  }

  /** @param {Question} question @param {Record<string, string>} answers @param {Units} units @returns {Outcome[]} */
  function markCase(question, answers, units) {
    /** @type {Map<string, ReadNumber>} */
    const own = new Map();
    /** @type {Map<string, Fraction>} */
    const values = new Map(); // in SI: the candidate's own where there is one, else the key's
    return question.parts.map((q) => {
      const part = q.part ?? '';
      const text = answers[part] ?? '';
      if (q.kind === 'choice') return markChoice(q, text);
      values.set(part, si(exact(q.answer.value), unitOf(units, q.answer.unit)));
      const found = understood(q, text, units);
      if ('verdict' in found) return found;
      const marked = followed(q, found, own, values, units);
      own.set(part, found);
      values.set(part, si(found.number, found.entry));
      return marked;
    });
  }

  /**
   * One question marked: one outcome, or one for each part of a case.
   * @param {Question} question @param {Record<string, string>} answers @param {Units} units @returns {Outcome[]}
   */
  function markQuestion(question, answers, units) {
    const text = answers[''] ?? '';
    switch (question.kind) {
      case 'case': return markCase(question, answers, units);
      case 'choice': return [markChoice(question, text)];
      case 'choices': return [markChoices(question, text)];
      case 'order': return [markOrder(question, text)];
      case 'match': return [markMatch(question, text)];
      default: return [markNumeric(question, text, units)];
    }
  }

  /**
   * A number with a unit, exactly, or why it cannot be read.
   * @param {string} text @param {Units} units @param {string} bareUnit @returns {{number: string, unit: string, read: string} | Unreadable}
   */
  function readNumber(text, units, bareUnit) {
    const found = read(text, units, bareUnit);
    if ('reason' in found) return found;
    const { n, d } = found.number;
    return { number: d === 1n ? `${n}` : `${n}/${d}`, unit: found.unit, read: readAs(found) };
  }

  Object.assign(globalThis, { graderMarker: Object.freeze({ markQuestion, readNumber }) });
})();
