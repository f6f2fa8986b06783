/**
 * What was practised on this device: in which of five boxes each question stands, and the day on which it is due again.
 *
 * The boxes are Sebastian Leitner's (So lernt man lernen, 1972; the book itself not seen). A right answer moves a question one
 * box on, any other puts it into box 1; the higher the box, the longer it rests. The compartments of his box are given as 1, 2,
 * 5, 8 and 14 cm deep in an encyclopedia; to count days in place of centimetres is ours, and so is the rule that a question moves
 * on only where it is new or due: five right answers in one evening are not five.
 *
 * It is kept in the browser's own store, nowhere else, and holds no answer and no name. Where the browser keeps nothing, the page
 * remembers until it is left.
 */
(function () {
  'use strict';

  /** @typedef {{box: number, seen: number, due: number, right: boolean}} Entry days are counted from 1 January 1970, as the wall's calendar has them */
  /** @typedef {Map<string, Entry>} Entries by the question's id */
  /** @typedef {{getItem: (name: string) => string | null, setItem: (name: string, text: string) => void, removeItem: (name: string) => void}} Keep */
  /** @typedef {'' | 'damaged' | 'newer' | 'not kept'} Trouble */
  /** @typedef {'new' | 'due' | 'right' | 'tried'} State */

  const FORM = 'grader-progress-1';
  const KEY = 'course-progress';
  const ASIDE = 'course-progress-aside';
  /** Days until a question in box 1, 2 … 5 is due again. */
  const DAYS = Object.freeze([1, 2, 5, 8, 14]);
  /** The first box that counts as known: it takes right answers on two days. */
  const FIRM = 3;
  const LONGEST = 2_000_000; // letters of a file: some 20,000 questions

  const ID = /^[a-z][a-z0-9]*(-[a-z0-9]+)*$/;
  const GOOD = new Set(['right', 'followed']);
  const MARKED = new Set([...GOOD, 'part', 'slip', 'wrong']);
  const A_DAY = 86_400_000;

  // ---------------------------------------------------------------- days and boxes

  /** @param {Date} moment @returns {number} the day that the wall's calendar shows */
  const dayOf = (moment) => Date.UTC(moment.getFullYear(), moment.getMonth(), moment.getDate()) / A_DAY;

  /** @param {number} day */
  const dayText = (day) => new Date(day * A_DAY).toISOString().slice(0, 10);

  /** @param {unknown} text @returns {number} NaN where it is no day from 1970 to 9999 */
  function readDay(text) {
    if (typeof text !== 'string' || !/^\d{4}-\d\d-\d\d$/.test(text)) return NaN;
    const day = Date.parse(`${text}T00:00:00Z`) / A_DAY;
    return day >= 0 && dayText(day) === text ? day : NaN;
  }

  /** @param {number} box */
  const rest = (box) => DAYS[box - 1] ?? 1;

  /** Due, or put so far ahead that only a wrong clock can have done it; a day is left for travel. @param {Entry} entry @param {number} today */
  const isDue = (entry, today) => entry.due <= today || entry.due > today + rest(entry.box) + 1;

  /**
   * @param {Entry | undefined} entry where the question stands; nothing where it is new
   * @param {boolean} right
   * @param {number} today
   * @returns {Entry}
   */
  function moved(entry, right, today) {
    if (!right) return { box: 1, seen: today, due: today + rest(1), right };
    if (entry && !isDue(entry, today)) return { ...entry, seen: today, right };
    const box = Math.min(entry ? entry.box + 1 : 2, DAYS.length);
    return { box, seen: today, due: today + rest(box), right };
  }

  /** Of two entries for one question: the later; of the same day the one that asks for more work. @param {Entry} one @param {Entry} other */
  function chosen(one, other) {
    const order = other.seen - one.seen || one.box - other.box || one.due - other.due || Number(one.right) - Number(other.right);
    return order > 0 ? other : one;
  }

  // ---------------------------------------------------------------- as text

  /** @param {string} text plain letters of ASCII @returns {string} its CRC-32 (ISO 3309, from memory), eight digits of sixteen */
  function checkOf(text) {
    let sum = 0xffffffff;
    for (let place = 0; place < text.length; place += 1) {
      sum ^= text.charCodeAt(place) & 0xff;
      for (let bit = 0; bit < 8; bit += 1) sum = sum & 1 ? (sum >>> 1) ^ 0xedb88320 : sum >>> 1;
    }
    return ((sum ^ 0xffffffff) >>> 0).toString(16).padStart(8, '0');
  }

  /** @param {Entries} entries @returns {Object<string, {box: number, seen: string, due: string, last: string}>} in the ids' order */
  function plainOf(entries) {
    const rows = [...entries].sort(([one], [other]) => (one < other ? -1 : 1));
    return Object.fromEntries(rows.map(([item, entry]) => [
      item, { box: entry.box, seen: dayText(entry.seen), due: dayText(entry.due), last: entry.right ? 'right' : 'not right' },
    ]));
  }

  /** @param {Entries} entries @param {number} [indent] */
  function textOf(entries, indent) {
    const items = plainOf(entries);
    return JSON.stringify({ form: FORM, check: checkOf(JSON.stringify(items)), items }, null, indent);
  }

  /** @param {unknown} value @returns {value is Object<string, unknown>} */
  const isPlain = (value) => typeof value === 'object' && value !== null && !Array.isArray(value);

  /** @param {unknown} value @returns {Entry | string} an entry, or what is wrong with it */
  function readEntry(value) {
    if (!isPlain(value)) return 'it is no entry';
    const { box, last } = value;
    const [seen, due] = [readDay(value.seen), readDay(value.due)];
    if (typeof box !== 'number' || !Number.isInteger(box) || box < 1 || box > DAYS.length) return `its box is ${short(box)}, and there are boxes 1 to ${DAYS.length}`;
    if (Number.isNaN(seen)) return `${short(value.seen)} is no day on which it was answered`;
    if (Number.isNaN(due)) return `${short(value.due)} is no day on which it is due`;
    if (last !== 'right' && last !== 'not right') return `its last answer is ${short(last)}, neither "right" nor "not right"`;
    return { box, seen, due, right: last === 'right' };
  }

  /** @param {unknown} value */
  const short = (value) => (JSON.stringify(value) ?? 'missing').slice(0, 30);

  /**
   * What stands in a text: every entry that can be read, and the first thing that is wrong.
   * @param {string} text
   * @returns {{entries: Entries, wrong: string, newer: boolean}}
   */
  function readText(text) {
    /** @type {Entries} */
    const entries = new Map();
    const no = (/** @type {string} */ wrong, newer = false) => ({ entries, wrong, newer });
    if (text.length > LONGEST) return no('It is too long for a file of progress; choose the one that was saved on this page.');
    let all;
    try {
      all = JSON.parse(text.replace(/^\uFEFF/, ''));
    } catch {
      return no('It is cut off, or not a file of progress; choose the one that was saved on this page, whole.');
    }
    if (!isPlain(all) || typeof all.form !== 'string' || !/^grader-progress-\d+$/.test(all.form)) {
      return no('It is not a file of progress; choose the one that was saved on this page.');
    }
    if (all.form !== FORM) return no('It was saved by another version of the course; open that version, or get the newest.', true);
    if (!isPlain(all.items)) return no('It is damaged: its questions are missing. Save it again where it came from.');
    let wrong = '';
    for (const [item, value] of Object.entries(all.items)) {
      const entry = ID.test(item) && item.length <= 100 ? readEntry(value) : 'that is no name of a question';
      if (typeof entry !== 'string') entries.set(item, entry);
      else wrong ||= `It is damaged at ${short(item)}: ${entry}. Save it again where it came from.`;
    }
    if (!wrong && all.check !== checkOf(JSON.stringify(plainOf(entries)))) {
      wrong = 'It is damaged: its check sum does not fit what it says. Save it again where it came from.';
    }
    return no(wrong);
  }

  // ---------------------------------------------------------------- the store

  /**
   * @param {Keep | null} keep where it is kept; null where the browser keeps nothing
   * @param {() => Date} now
   */
  function make(keep, now) {
    /** @type {Entries} what is known where nothing can be kept */
    let memory = new Map();
    /** @type {Trouble} */
    let stuck = keep ? '' : 'not kept';
    /** @type {Array<() => void>} */
    const watchers = [];
    const today = () => dayOf(now());

    /** As it is kept now: another tab may have written since. @returns {{entries: Entries, trouble: Trouble, text: string}} */
    function load() {
      if (stuck || !keep) return { entries: new Map(memory), trouble: stuck, text: '' };
      let text = '';
      try {
        text = keep.getItem(KEY) ?? '';
      } catch {
        stuck = 'not kept';
        return { entries: new Map(memory), trouble: stuck, text };
      }
      if (!text) return { entries: new Map(), trouble: '', text };
      const { entries, wrong, newer } = readText(text);
      if (newer) return { entries: new Map(memory), trouble: 'newer', text };
      return { entries, trouble: wrong ? 'damaged' : '', text };
    }

    /** @param {Entries} entries @param {Trouble} trouble of what stood there @param {string} text what stood there */
    function save(entries, trouble, text) {
      memory = entries;
      if (keep && !stuck && trouble !== 'newer') {
        try {
          if (trouble === 'damaged') keep.setItem(ASIDE, text);
          keep.setItem(KEY, textOf(entries));
        } catch {
          stuck = 'not kept';
        }
      }
      tell();
    }

    const tell = () => { for (const watcher of watchers.slice()) watcher(); };

    return {
      /** Tells of a marked answer; a verdict that leaves the question open is no answer. @param {string} item @param {string} verdict */
      note(item, verdict) {
        if (!MARKED.has(verdict) || !ID.test(item)) return;
        const { entries, trouble, text } = load();
        entries.set(item, moved(entries.get(item), GOOD.has(verdict), today()));
        save(entries, trouble, text);
      },

      /** How questions stand today. @returns {(item: string) => State} */
      states() {
        const { entries } = load();
        const day = today();
        return (item) => {
          const entry = entries.get(item);
          if (!entry) return 'new';
          if (isDue(entry, day)) return 'due';
          return entry.right ? 'right' : 'tried';
        };
      },

      /**
       * The same list: what is due first, then what is new, then the rest; within each as it came.
       * @template T
       * @param {T[]} list @param {(one: T) => string} item
       */
      order(list, item) {
        const state = this.states();
        const ranks = { due: 0, new: 1, right: 2, tried: 2 };
        return [...list].sort((one, other) => ranks[state(item(one))] - ranks[state(item(other))]);
      },

      /** Everything that is known: boxes, days as text, and what is due. */
      read() {
        const { entries, trouble } = load();
        const day = today();
        const items = new Map([...entries].map(([item, entry]) => [
          item, { box: entry.box, firm: entry.box >= FIRM, isDue: isDue(entry, day), seen: dayText(entry.seen), due: dayText(entry.due) },
        ]));
        return { items, trouble, today: dayText(day) };
      },

      /** A file's text: what is known, to take along. */
      exported: () => `${textOf(load().entries, 1)}\n`,

      /** What a file holds, before it is taken in. @param {string} text */
      looked(text) {
        const { entries, wrong } = readText(text);
        const days = [...entries.values()].map((entry) => entry.seen);
        return { wrong, count: entries.size, last: days.length ? dayText(days.reduce((one, other) => Math.max(one, other))) : '' };
      },

      /**
       * Takes a file in, or says why not; then nothing has changed.
       * @param {string} text @param {'merge' | 'replace'} way
       * @returns {string} what is wrong with the file; empty where it was taken in
       */
      imported(text, way) {
        const { entries: coming, wrong } = readText(text);
        if (wrong) return wrong;
        const { entries: here, trouble, text: kept } = load();
        const entries = way === 'merge' ? new Map(here) : new Map();
        for (const [item, entry] of coming) {
          const other = entries.get(item);
          entries.set(item, other ? chosen(entry, other) : entry);
        }
        save(entries, trouble, kept);
        return '';
      },

      /** What could not be read and was put aside; empty where there is none. */
      aside() {
        try {
          return keep?.getItem(ASIDE) ?? '';
        } catch {
          return '';
        }
      },

      /** Forgets everything, what was put aside too. */
      erase() {
        memory = new Map();
        try {
          keep?.removeItem(KEY);
          keep?.removeItem(ASIDE);
        } catch {
          stuck = 'not kept';
        }
        tell();
      },

      /** Calls back whenever something has changed, here or in another tab. @param {() => void} watcher */
      watch(watcher) { watchers.push(watcher); },
      /** Another tab has written. @param {string | null} key null where everything was cleared */
      changed(key) { if (key === KEY || key === ASIDE || key === null) tell(); },
    };
  }

  /** The browser's own store; null where it keeps nothing, which some say only to whoever writes. @returns {Keep | null} */
  function browsersOwn() {
    try {
      const keep = globalThis.localStorage;
      if (!keep || keep.getItem(KEY) !== null) return keep ?? null;
      keep.setItem(`${KEY}-probe`, '');
      keep.removeItem(`${KEY}-probe`);
      return keep;
    } catch {
      return null;
    }
  }

  const progress = make(browsersOwn(), () => new Date());
  if (typeof window !== 'undefined') window.addEventListener('storage', (event) => progress.changed(event.key));
  Object.assign(globalThis, { graderProgress: Object.freeze({ ...progress, make, DAYS, FIRM }) });
})();
