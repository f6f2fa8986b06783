/**
 * Whether a certificate is good, told in the browser: the same steps, verdicts and reasons as `grader verify`.
 *
 * Nothing in the certificate is believed before the signature of a key that the issuer's document names has been checked.
 * No network, no file, no page: bytes in, verdict out. JSON objects are read as Map, so that no name in a file means anything here.
 */
(function () {
  'use strict';

  /** @typedef {Map<string, any>} Said a JSON object as read */
  /** @typedef {{id: string, keys: Map<string, Uint8Array>}} Issuer */
  /** @typedef {{id: string, holder: string, achievement: string, issuer: string, valid_from: string, valid_until: string}} Certified */
  /**
   * @typedef {{state: string, reasons: string[], certified: Certified | null, status_list_of: string, fingerprint: string}} Verdict
   *   `fingerprint` is of the key whose signature was found good, else ''
   */
  /** @typedef {{at: bigint, shown: string}} Instant microseconds since 1970 in UTC, and the instant as ISO 8601 */

  const CONTEXTS = ['https://www.w3.org/ns/credentials/v2', 'https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json'];
  const TYPES = ['VerifiableCredential', 'OpenBadgeCredential'];
  const LIMIT = 1024 * 1024; // bytes of a certificate or of a status list
  const UNPACKED = 2 * 1024 * 1024; // bytes of a status list unpacked
  const PLACES = 131072; // of the shortest status list that the standard allows
  const DEEPEST = 100; // lists and groups in each other
  const DEPTH = 900; // past it reading ends at once, as the program's does
  const DIGITS = 4300; // of a whole number
  const TEXT_LIMIT = 256; // characters in base 58

  /** What is wrong with something given, in words. */
  class Wrong extends Error {}

  /** A verdict other than good, before the certificate's time and status are looked at. */
  class NotGood extends Error {
    /** @param {string} state @param {string} reason */
    constructor(state, reason) {
      super(reason);
      this.state = state;
    }
  }

  /** A whole number that JSON does not carry exactly. */
  class Beyond {
    /** @param {string} digits */
    constructor(digits) {
      this.digits = digits;
    }
  }

  // ---------------------------------------------------------------- words

  const HIDDEN = /(?! )[\p{C}\p{Z}]/gu;

  /** Hidden, moving and unseen letters spelt out. @param {string} sign */
  function spelt(sign) {
    const named = /** @type {Object<string, string>} */ ({ '\t': '\\t', '\n': '\\n', '\r': '\\r' })[sign];
    const number = /** @type {number} */ (sign.codePointAt(0));
    const hex = (/** @type {number} */ width) => number.toString(16).padStart(width, '0');
    return named || (number < 0x100 ? `\\x${hex(2)}` : number < 0x10000 ? `\\u${hex(4)}` : `\\U${hex(8)}`);
  }

  /** A text from a stranger's file as it may be shown. @param {string} text */
  const printable = (text) => text.replace(HIDDEN, spelt);

  /** The first letters of a text, whole ones. @param {string} text @param {number} count */
  const first = (text, count) => [...text].slice(0, count).join('');

  /** A value in quotes, as the reasons show it. @param {any} value @returns {string} */
  function quoted(value) {
    if (typeof value === 'string') {
      const quote = value.includes("'") && !value.includes('"') ? '"' : "'";
      return quote + printable(value.replace(/\\/g, '\\\\').replaceAll(quote, `\\${quote}`)) + quote;
    }
    if (Array.isArray(value)) return `[${value.map(quoted).join(', ')}]`;
    if (value instanceof Map) return `{${[...value].map(([name, below]) => `${quoted(name)}: ${quoted(below)}`).join(', ')}}`;
    return plain(value);
  }

  /** A value as text. @param {any} value @returns {string} */
  function plain(value) {
    if (value === null || value === undefined) return 'None';
    if (value === true) return 'True';
    if (value === false) return 'False';
    if (value instanceof Beyond) return value.digits;
    return typeof value === 'string' || typeof value === 'number' ? String(value) : quoted(value);
  }

  // ---------------------------------------------------------------- JSON, read strictly

  /** The place of the first byte that is not UTF-8, or -1. @param {Uint8Array} data */
  function notUtf8(data) {
    for (let place = 0; place < data.length;) {
      const lead = /** @type {number} */ (data[place]);
      const more = lead < 0x80 ? 0 : lead >= 0xc2 && lead < 0xe0 ? 1 : lead >= 0xe0 && lead < 0xf0 ? 2 : lead >= 0xf0 && lead < 0xf5 ? 3 : -1;
      if (more < 0) return place;
      const low = lead === 0xe0 ? 0xa0 : lead === 0xf0 ? 0x90 : 0x80, high = lead === 0xed ? 0x9f : lead === 0xf4 ? 0x8f : 0xbf;
      for (let next = 1; next <= more; next += 1) {
        const byte = data[place + next] ?? 0;
        if (next === 1 ? byte < low || byte > high : byte < 0x80 || byte > 0xbf) return place;
      }
      place += more + 1;
    }
    return -1;
  }

  const SPACE = /[ \t\n\r]*/y;
  const NUMBER = /(-?(?:0|[1-9][0-9]*))(\.[0-9]+)?([eE][-+]?[0-9]+)?/y;
  const PLAIN = /[^"\\\u0000-\u001f]*/y;
  const ESCAPED = /** @type {Object<string, string>} */ ({ '"': '"', '\\': '\\', '/': '/', b: '\b', f: '\f', n: '\n', r: '\r', t: '\t' });
  const WORDS = /** @type {Array<[string, any]>} */ ([['null', null], ['true', true], ['false', false]]);
  const NO_NUMBERS = ['NaN', 'Infinity', '-Infinity'];

  class Reader {
    /** @param {string} text */
    constructor(text) {
      this.text = text;
      this.place = 0;
      this.deepest = 0;
    }

    /** @param {string} what @param {number} [place] @returns {never} */
    fail(what, place = this.place) {
      const before = this.text.slice(0, place);
      const start = before.lastIndexOf('\n') + 1;
      throw new Wrong(`not JSON at line ${before.split('\n').length}, column ${[...before.slice(start)].length + 1}: ${what}`);
    }

    /** What a sticky pattern matches here; the place moves behind it. @param {RegExp} pattern */
    take(pattern) {
      pattern.lastIndex = this.place;
      const found = pattern.exec(this.text);
      if (found) this.place = pattern.lastIndex;
      return found;
    }

    /** The next letter that is no space. */
    next() {
      this.take(SPACE);
      return this.text.charAt(this.place);
    }

    whole() {
      if (this.text.startsWith('\ufeff')) this.fail('a byte order mark stands before it');
      this.next();
      const value = this.value(1);
      if (this.next()) this.fail('something stands after it');
      if (this.deepest > DEEPEST) throw new Wrong('nested too deep to be read');
      return value;
    }

    /** @param {number} depth @returns {any} */
    value(depth) {
      if (depth > DEPTH) throw new Wrong('nested too deep to be read');
      const letter = this.text.charAt(this.place);
      if (letter === '{' || letter === '[') this.deepest = Math.max(this.deepest, depth);
      if (letter === '"') return this.string();
      if (letter === '{') return this.object(depth);
      if (letter === '[') return this.array(depth);
      for (const [word, value] of WORDS) {
        if (this.text.startsWith(word, this.place)) {
          this.place += word.length;
          return value;
        }
      }
      for (const word of NO_NUMBERS) if (this.text.startsWith(word, this.place)) throw new Wrong(`${word} is not a JSON number`);
      return this.number();
    }

    number() {
      const found = this.take(NUMBER);
      if (!found) this.fail('a value is missing');
      const [all, digits = '', fraction, exponent] = /** @type {RegExpExecArray} */ (found);
      if (fraction || exponent) return Number(all);
      if (digits.replace('-', '').length > DIGITS) throw new Wrong(`a number that cannot be read: it has more than ${DIGITS} digits`);
      return Number.isSafeInteger(Number(digits)) ? Number(digits) : new Beyond(digits);
    }

    string() {
      const start = this.place;
      this.place += 1;
      let found = '';
      for (;;) {
        found += this.take(PLAIN)?.[0] || '';
        const letter = this.text.charAt(this.place);
        if (!letter) this.fail('a text has no end', start);
        if (letter === '"') {
          this.place += 1;
          return found;
        }
        if (letter !== '\\') this.fail('a control character stands in a text');
        found += this.escaped(start);
      }
    }

    /** @param {number} start where the text began */
    escaped(start) {
      const at = this.place;
      const letter = this.text.charAt(at + 1);
      if (!letter) this.fail('a text has no end', start);
      if (letter === 'u') {
        const hex = this.text.slice(at + 2, at + 6);
        if (!/^[0-9A-Fa-f]{4}$/.test(hex)) this.fail('a letter is spelt wrongly in a text', at + 1);
        this.place = at + 6;
        return String.fromCharCode(parseInt(hex, 16));
      }
      const sign = Object.hasOwn(ESCAPED, letter) ? ESCAPED[letter] : undefined;
      if (sign === undefined) this.fail('a letter is spelt wrongly in a text');
      this.place = at + 2;
      return /** @type {string} */ (sign);
    }

    /** @param {number} depth */
    array(depth) {
      /** @type {any[]} */
      const found = [];
      this.place += 1;
      if (this.next() === ']') {
        this.place += 1;
        return found;
      }
      for (;;) {
        found.push(this.value(depth + 1));
        const letter = this.next();
        if (letter !== ',' && letter !== ']') this.fail('a comma is missing');
        this.place += 1;
        if (letter === ']') return found;
        this.next();
      }
    }

    /** @param {number} depth */
    object(depth) {
      /** @type {Array<[string, any]>} */
      const pairs = [];
      this.place += 1;
      let letter = this.next();
      if (letter === '}') {
        this.place += 1;
        return new Map();
      }
      for (;;) {
        if (letter !== '"') this.fail('a name in quotes is missing');
        const name = this.string();
        if (this.next() !== ':') this.fail('a colon is missing');
        this.place += 1;
        this.next();
        pairs.push([name, this.value(depth + 1)]);
        letter = this.next();
        if (letter !== ',' && letter !== '}') this.fail('a comma is missing');
        this.place += 1;
        if (letter === '}') return distinct(pairs);
        letter = this.next();
      }
    }
  }

  /** @param {Array<[string, any]>} pairs */
  function distinct(pairs) {
    /** @type {Said} */
    const found = new Map();
    for (const [name, value] of pairs) {
      if (found.has(name)) throw new Wrong(`the key "${first(name, 60)}" stands twice; keep one of the two`);
      found.set(name, value);
    }
    return found;
  }

  /** A JSON value read strictly: UTF-8, no repeated keys, no NaN, not too deep. @param {Uint8Array} data @returns {any} */
  function readJson(data) {
    const wrong = notUtf8(data);
    if (wrong >= 0) throw new Wrong(`not UTF-8 at byte ${wrong}; save the file as UTF-8`);
    return new Reader(new TextDecoder('utf-8', { ignoreBOM: true }).decode(data)).whole();
  }

  // ---------------------------------------------------------------- JSON, written in its one spelling (RFC 8785)

  /** @param {any} value @returns {string} */
  function spelling(value) {
    if (value === null || typeof value === 'boolean') return String(value);
    if (typeof value === 'string') {
      if (/\p{Surrogate}/u.test(value)) throw new Wrong('not a JSON value: half a letter stands alone in a text');
      return JSON.stringify(value);
    }
    if (typeof value === 'number') {
      if (!Number.isFinite(value)) throw new Wrong('not a JSON value: a number is too large');
      return String(value === 0 ? 0 : value);
    }
    if (value instanceof Beyond) throw new Wrong('not a JSON value: a whole number is larger than JSON carries exactly');
    if (Array.isArray(value)) return `[${value.map(spelling).join(',')}]`;
    // Sorted by UTF-16 code units, which is what comparing texts does here.
    const names = [...value.keys()].sort((one, other) => (one < other ? -1 : 1));
    return `{${names.map((name) => `${spelling(name)}:${spelling(value.get(name))}`).join(',')}}`;
  }

  /** The one spelling of a JSON value as bytes. @param {any} value */
  const canonical = (value) => new TextEncoder().encode(spelling(value));

  // ---------------------------------------------------------------- keys and signatures as text

  const BASE58 = '123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz';

  /** The bytes of a text in base 58 that starts with z. @param {string} text */
  function readBase58(text) {
    if (!text.startsWith('z') || [...text].length > TEXT_LIMIT) {
      throw new Wrong(`\`${first(text, 20)}\` is not base58btc; it starts with z and has at most ${TEXT_LIMIT} characters`);
    }
    /** @type {number[]} the number so far, lowest byte first */
    const bytes = [];
    for (const letter of text.slice(1)) {
      let carry = BASE58.indexOf(letter);
      if (carry < 0) throw new Wrong(`\`${letter}\` is not a character of base 58`);
      for (let place = 0; place < bytes.length; place += 1) {
        carry += /** @type {number} */ (bytes[place]) * 58;
        bytes[place] = carry & 0xff;
        carry >>= 8;
      }
      for (; carry; carry >>= 8) bytes.push(carry & 0xff);
    }
    const zeros = /^1*/.exec(text.slice(1))?.[0].length || 0;
    return Uint8Array.from([...Array(zeros).fill(0), ...bytes.reverse()]);
  }

  /** The bytes of a text in URL-safe base 64 that starts with u. @param {string} text */
  function readBase64(text) {
    if (!text.startsWith('u') || !/^[\u0000-\u007f]*$/.test(text)) throw new Wrong(`\`${first(text, 20)}\` is not base64url; it starts with u`);
    const body = text.slice(1);
    if (!/^[A-Za-z0-9_-]*$/.test(body) || body.length % 4 === 1) throw new Wrong('not base64url: it holds another character, or is cut off');
    return Uint8Array.from(atob(body.replace(/-/g, '+').replace(/_/g, '/')), (letter) => letter.charCodeAt(0));
  }

  /** The 32 bytes of an Ed25519 key. @param {string} text */
  function readMultikey(text) {
    const data = readBase58(text);
    if (data.length !== 34 || data[0] !== 0xed || data[1] !== 0x01) throw new Wrong(`\`${first(text, 20)}…\` is not an Ed25519 Multikey`);
    return data.slice(2);
  }

  // ---------------------------------------------------------------- the signature (eddsa-jcs-2022)

  /** @param {Uint8Array} data */
  const sha256 = async (data) => new Uint8Array(await crypto.subtle.digest('SHA-256', /** @type {any} */ (data)));

  /** @param {Uint8Array} data */
  const hex = (data) => [...data].map((byte) => byte.toString(16).padStart(2, '0')).join('');

  /** The SHA-256 of a public key in groups of four, to be read out over the telephone. @param {Uint8Array} key */
  const fingerprint = async (key) => (hex(await sha256(key)).match(/.{4}/g) || []).join(' ');

  /** @param {Uint8Array} key @param {Uint8Array} signature @param {Uint8Array} message */
  async function signatureIsGood(key, signature, message) {
    try {
      const held = await crypto.subtle.importKey('raw', /** @type {any} */ (key), 'Ed25519', false, ['verify']);
      return await crypto.subtle.verify('Ed25519', held, /** @type {any} */ (signature), /** @type {any} */ (message));
    } catch {
      return false; // no key, or no signature
    }
  }

  /** @param {string} text */
  const bytesOf = (text) => Uint8Array.from(text.match(/../g) || [], (pair) => parseInt(pair, 16));

  /** Whether this browser checks Ed25519 rightly: the first vector of RFC 8032, section 7.1, and the same with one bit changed. */
  async function canCheck() {
    if (!globalThis.crypto?.subtle || typeof DecompressionStream !== 'function') return false;
    const key = bytesOf('d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a');
    const signature = bytesOf(
      'e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b',
    );
    if (!(await signatureIsGood(key, signature, new Uint8Array(0)))) return false;
    return !(await signatureIsGood(key, signature, new Uint8Array(1)));
  }

  /** A copy of a document without one of its fields. @param {Said} document @param {string} name @returns {Said} */
  const without = (document, name) => new Map([...document].filter(([other]) => other !== name));

  /** The one proof on a document. @param {Said} document @returns {Said} */
  function proofOf(document) {
    const proof = document.get('proof');
    if (proof === undefined || proof === null) throw new Wrong('it carries no signature (`proof`)');
    if (!(proof instanceof Map)) throw new Wrong('`proof` is not one signature');
    for (const [name, value] of [['type', 'DataIntegrityProof'], ['cryptosuite', 'eddsa-jcs-2022'], ['proofPurpose', 'assertionMethod']]) {
      const there = proof.get(name);
      if (there === value) continue;
      const brief = there === undefined || there === null ? 'missing' : first(quoted(there), 60);
      throw new Wrong(`its signature's \`${name}\` is ${brief}; this program checks ${quoted(value)} only`);
    }
    for (const name of ['created', 'verificationMethod', 'proofValue']) {
      if (typeof proof.get(name) !== 'string') throw new Wrong(`its signature's \`${name}\` is missing or not a text`);
    }
    return proof;
  }

  /** Whether the document's proof is the key's. @param {Said} document @param {Uint8Array} key */
  async function isSignedBy(document, key) {
    const proof = proofOf(document);
    let signature;
    try {
      signature = readBase58(proof.get('proofValue'));
    } catch {
      return false;
    }
    const parts = [canonical(without(proof, 'proofValue')), canonical(without(document, 'proof'))];
    const [options, unsecured] = await Promise.all(parts.map(sha256));
    return signatureIsGood(key, signature, Uint8Array.from([.../** @type {Uint8Array} */ (options), .../** @type {Uint8Array} */ (unsecured)]));
  }

  // ---------------------------------------------------------------- the issuer's document

  /** An issuer from its document; only keys that it says may sign are taken. @param {Uint8Array} data @returns {Issuer} */
  function readIssuer(data) {
    if (data.length > LIMIT) throw new Wrong(`larger than ${shown(LIMIT)} bytes; nothing this program reads is that large`);
    const found = readJson(data);
    if (!(found instanceof Map) || typeof found.get('id') !== 'string') throw new Wrong("not an issuer's document: it has no `id`");
    const methods = found.get('verificationMethod'), signing = found.get('assertionMethod');
    if (!Array.isArray(methods) || !Array.isArray(signing) || !signing.length) {
      throw new Wrong("not an issuer's document: it names no key that may sign (`assertionMethod`)");
    }
    const keys = new Map();
    for (const method of methods) {
      if (!(method instanceof Map) || typeof method.get('id') !== 'string' || !signing.includes(method.get('id'))) continue;
      const text = method.get('publicKeyMultibase');
      if (method.get('type') !== 'Multikey' || method.get('controller') !== found.get('id') || typeof text !== 'string') {
        throw new Wrong(`not an issuer's document: key ${quoted(first(method.get('id'), 80))} is no Multikey of ${quoted(found.get('id'))}`);
      }
      keys.set(method.get('id'), readMultikey(text));
    }
    if (!keys.size) throw new Wrong("not an issuer's document: it holds none of the keys that it says may sign");
    return { id: found.get('id'), keys };
  }

  /** @param {number} number */
  const shown = (number) => number.toLocaleString('en-US');

  // ---------------------------------------------------------------- the status list

  /**
   * What was packed; of more bytes than are wanted only the first that show it. Throws where it cannot be unpacked.
   * @param {Uint8Array} packed @param {'gzip' | 'deflate'} how @param {number} most
   */
  async function unpacked(packed, how, most) {
    const parts = [];
    let size = 0;
    const reader = new Blob([/** @type {any} */ (packed)]).stream().pipeThrough(new DecompressionStream(how)).getReader();
    for (let part = await reader.read(); !part.done; part = await reader.read()) {
      size += part.value.length;
      parts.push(part.value);
      if (size > most) {
        reader.cancel().catch(() => { /* enough was read */ });
        break;
      }
    }
    const bytes = new Uint8Array(size);
    let place = 0;
    for (const part of parts) {
      bytes.set(part, place);
      place += part.length;
    }
    return bytes;
  }

  /** Unpacks one gzip stream, up to the cap. @param {Uint8Array} packed */
  async function unzipped(packed) {
    let bits;
    try {
      bits = await unpacked(packed, 'gzip', UNPACKED);
    } catch {
      throw new Wrong('the status list cannot be unpacked: it is cut off, or no gzip');
    }
    if (bits.length > UNPACKED) throw new Wrong(`the status list unpacks to more than ${shown(UNPACKED)} bytes`);
    return bits;
  }

  /** The bits of a status list that was found to be signed. @param {Said} list @param {string} address */
  async function bitsOf(list, address) {
    const subject = list.get('credentialSubject'), kinds = list.get('type');
    if (!Array.isArray(kinds) || !kinds.includes('BitstringStatusListCredential') || !(subject instanceof Map)) {
      throw new Wrong("the status list's file holds another document");
    }
    if (list.get('id') !== address) throw new Wrong(`the status list is ${quoted(list.get('id'))}; the certificate names ${quoted(address)}`);
    if (subject.get('type') !== 'BitstringStatusList' || subject.get('statusPurpose') !== 'revocation') {
      throw new Wrong('the status list is not one for revocation');
    }
    const text = subject.get('encodedList');
    if (typeof text !== 'string') throw new Wrong('the status list holds no bits');
    const bits = await unzipped(readBase64(text));
    if (bits.length * 8 < PLACES) throw new Wrong(`the status list has ${bits.length * 8} places; the standard wants ${PLACES} or more`);
    return bits;
  }

  /**
   * When the list was made, and whether it says that the certificate is revoked.
   * @param {any} entry @param {Issuer} issuer @param {Uint8Array} data @param {bigint} now
   * @returns {Promise<{since: string, revoked: boolean}>}
   */
  async function revoked(entry, issuer, data, now) {
    if (!(entry instanceof Map) || entry.get('type') !== 'BitstringStatusListEntry' || entry.get('statusPurpose') !== 'revocation') {
      throw new Wrong("the certificate's status entry is of a kind this program does not know");
    }
    const place = entry.get('statusListIndex');
    if (typeof place !== 'string' || !/^(?:0|[1-9][0-9]{0,8})$/.test(place)) throw new Wrong("the certificate's place in the list is not a whole number");
    if (data.length > LIMIT) throw new Wrong(`it is larger than ${shown(LIMIT)} bytes`);
    const said = readJson(data);
    if (!(said instanceof Map)) throw new Wrong('it is not a status list');
    const key = issuer.keys.get(proofOf(said).get('verificationMethod'));
    if (!key || issuerId(said) !== issuer.id || !(await isSignedBy(said, key))) throw new Wrong('the issuer did not sign it, or it was changed since');
    const since = instant(said, 'validFrom', (reason) => new Wrong(reason));
    if (since.at > now) throw new Wrong(`it is of ${said.get('validFrom')}, which is yet to come; check this machine's clock`);
    const bits = await bitsOf(said, plain(entry.has('statusListCredential') ? entry.get('statusListCredential') : null));
    const number = Number(place);
    if (number >= bits.length * 8) throw new Wrong(`place ${number} is outside the status list's 0 to ${bits.length * 8 - 1}`);
    return { since: said.get('validFrom'), revoked: Boolean(/** @type {number} */ (bits[number >> 3]) & (0x80 >> number % 8)) };
  }

  // ---------------------------------------------------------------- time

  const INSTANT = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)(?:\.(\d{1,6}))?(?:Z|([+-])(\d\d):(\d\d))$/;

  /** An instant that is written as the standard wants, or null. @param {string} text @returns {Instant | null} */
  function readInstant(text) {
    const found = INSTANT.exec(text);
    if (!found) return null;
    const [year, month, day, hour, minute, second] = found.slice(1, 7).map(Number);
    const fraction = (found[7] || '').padEnd(6, '0');
    const offset = (Number(found[9] || 0) * 60 + Number(found[10] || 0)) * (found[8] === '-' ? -1 : 1);
    const date = new Date(0);
    date.setUTCFullYear(year, month - 1, day);
    if (year < 1 || date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
    if (hour > 23 || minute > 59 || second > 59 || Math.abs(offset) >= 24 * 60) return null;
    const seconds = date.getTime() / 1000 + hour * 3600 + (minute - offset) * 60 + second;
    const two = (/** @type {number} */ number) => String(number).padStart(2, '0');
    const part = Number(fraction) ? `.${fraction}` : '';
    const zone = `${offset < 0 ? '-' : '+'}${two(Math.floor(Math.abs(offset) / 60))}:${two(Math.abs(offset) % 60)}`;
    return { at: BigInt(seconds) * 1000000n + BigInt(fraction), shown: text.slice(0, 19) + part + zone };
  }

  /** @param {Said} said @param {string} name @param {(reason: string) => Error} fault @returns {Instant} */
  function instant(said, name, fault) {
    const text = said.get(name);
    const found = typeof text === 'string' ? readInstant(text) : null;
    if (!found) throw fault(`its \`${name}\` is ${quoted(first(plain(text), 40))}; an instant is written 2031-05-12T00:00:00Z`);
    return found;
  }

  // ---------------------------------------------------------------- the certificate

  /** @param {Uint8Array} data @returns {Said} */
  function readCertificate(data) {
    if (data.length > LIMIT) throw new NotGood('unreadable', `it is larger than ${shown(LIMIT)} bytes; no certificate is`);
    if (data[0] === 0x25 && data[1] === 0x50 && data[2] === 0x44 && data[3] === 0x46) {
      throw new NotGood('unreadable', 'it is the page to hang up; check the signed file, which is attached to it');
    }
    let said;
    try {
      said = readJson(data);
      spelling(said);
    } catch (error) {
      throw error instanceof Wrong ? new NotGood('unreadable', `it cannot be read: ${error.message}`) : error;
    }
    if (!(said instanceof Map) || !Array.isArray(said.get('@context')) || !Array.isArray(said.get('type'))) {
      throw new NotGood('unreadable', 'it is not a certificate: a credential has `@context` and `type`');
    }
    return said;
  }

  /** @param {Said} said @returns {any} */
  function issuerId(said) {
    const issuer = said.get('issuer');
    const id = issuer instanceof Map ? issuer.get('id') : issuer;
    return id === undefined ? null : id;
  }

  /** The issuer whose key signed it, and the key. @param {Said} said @param {Issuer[]} known */
  async function signer(said, known) {
    let method;
    try {
      method = proofOf(said).get('verificationMethod');
    } catch (error) {
      throw error instanceof Wrong ? new NotGood(said.has('proof') ? 'unreadable' : 'altered', error.message) : error;
    }
    for (const issuer of known) {
      const key = issuer.keys.get(method);
      if (!key) continue;
      if (!(await isSignedBy(said, key))) throw new NotGood('altered', 'what it says is not what was signed: something was changed after it was issued');
      if (issuerId(said) !== issuer.id) {
        throw new NotGood('unknown issuer', `it names the issuer ${quoted(issuerId(said))}, but a key of ${quoted(issuer.id)} signed it`);
      }
      return { issuer, key };
    }
    const names = known.map((issuer) => issuer.id).join(', ') || 'none';
    throw new NotGood('unknown issuer', `it was signed with a key that no trusted issuer has; trusted: ${names}`);
  }

  /** The bytes must be those that were issued. @param {Said} said @param {Uint8Array} data */
  function asIssued(said, data) {
    const wanted = canonical(said);
    if (wanted.length === data.length && wanted.every((byte, place) => byte === data[place])) return;
    const why = 'what it says is what was signed, but the file was written anew since (spacing, order or line ends)';
    throw new NotGood('altered', `${why}; ask for the file as it was issued`);
  }

  /** @param {Said} said */
  function certifiedBy(said) {
    const contexts = said.get('@context'), kinds = said.get('type');
    if (contexts.length !== CONTEXTS.length || CONTEXTS.some((one, place) => contexts[place] !== one) || !TYPES.every((one) => kinds.includes(one))) {
      throw new NotGood('unreadable', 'the issuer signed it, but it is another document, not a certificate');
    }
    const subject = said.get('credentialSubject');
    const achievement = subject instanceof Map ? subject.get('achievement') : null;
    if (!(achievement instanceof Map)) throw new NotGood('unreadable', 'the issuer signed it, but it certifies no achievement');
    const fault = (/** @type {string} */ reason) => new NotGood('unreadable', reason);
    const since = instant(said, 'validFrom', fault), until = said.has('validUntil') ? instant(said, 'validUntil', fault) : null;
    const certified = {
      id: said.has('id') ? plain(said.get('id')) : '',
      holder: holderOf(subject),
      achievement: achievement.has('name') ? plain(achievement.get('name')) : '',
      issuer: plain(issuerId(said)),
      valid_from: said.get('validFrom'),
      valid_until: said.get('validUntil') || '',
    };
    return { certified, since, until };
  }

  /** The holder's name where it stands there in plain. @param {Said} subject */
  function holderOf(subject) {
    const identities = subject.get('identifier');
    for (const identity of Array.isArray(identities) ? identities : []) {
      if (identity instanceof Map && identity.get('identityType') === 'name' && identity.get('hashed') === false) {
        return identity.has('identityHash') ? plain(identity.get('identityHash')) : '';
      }
    }
    return '';
  }

  /** @param {Said} said @param {Issuer} issuer @param {Uint8Array | null} list @param {bigint} now */
  async function statusOf(said, issuer, list, now) {
    const entry = said.get('credentialStatus');
    const signed = "the issuer's signature is good";
    if (entry === undefined || entry === null) return { state: 'good', reasons: [signed, 'it cannot be revoked: it names no status list'], of: '' };
    if (!list) return { state: 'status unknown', reasons: [`${signed}, but no status list says whether it was revoked`], of: '' };
    try {
      const found = await revoked(entry, issuer, list, now);
      if (found.revoked) return { state: 'revoked', reasons: [`the issuer has revoked it; so says the status list of ${found.since}`], of: found.since };
      return { state: 'good', reasons: [signed, `it is not revoked; so says the status list of ${found.since}`], of: found.since };
    } catch (error) {
      if (!(error instanceof Wrong)) throw error;
      return { state: 'status unknown', reasons: [`${signed}, but the status list is of no use: ${error.message}`], of: '' };
    }
  }

  /**
   * Whether a certificate is good: the gravest state that holds, altered before revoked before expired.
   * @param {Uint8Array} data the file, whose bytes must be those that were issued
   * @param {Issuer[]} known the issuers that are trusted
   * @param {Uint8Array | null} list the issuer's status list, or null: then the best verdict is "status unknown"
   * @param {number} now milliseconds since 1970
   * @returns {Promise<Verdict>}
   */
  async function verify(data, known, list, now) {
    const present = BigInt(now) * 1000n;
    try {
      const said = readCertificate(data);
      const { issuer, key } = await signer(said, known);
      asIssued(said, data);
      const { certified, since, until } = certifiedBy(said);
      let { state, reasons, of } = await statusOf(said, issuer, list, present);
      if (state === 'good' || state === 'status unknown') {
        if (present < since.at) [state, reasons] = ['not yet valid', [`it is valid from ${since.shown}`, ...reasons]];
        else if (until && present > until.at) {
          [state, reasons] = ['expired', [`it was valid until ${until.shown}; the signature is good, nothing was changed`, ...reasons]];
        }
      }
      return { state, reasons: reasons.map(printable), certified, status_list_of: of, fingerprint: await fingerprint(key) };
    } catch (error) {
      if (!(error instanceof NotGood)) throw error;
      return { state: error.state, reasons: [printable(error.message)], certified: null, status_list_of: '', fingerprint: '' };
    }
  }

  /** @type {any} */ (globalThis).graderVerify = { verify, unpacked, readIssuer, readJson, canonical, fingerprint, printable, canCheck, Wrong };
})();
