/**
 * The page that checks a certificate: takes files that are dropped, chosen or pasted, and shows what `verify.js` says of them.
 *
 * The issuer's files that went with this site are at hand in window.graderIssuer; a file that is given takes their place. Over a
 * network the site's own server is asked for its newest status list. Nothing given is sent anywhere or kept.
 */
(function () {
  'use strict';

  const { make, button } = /** @type {any} */ (globalThis).graderParts;

  /** @typedef {'certificate' | 'issuer' | 'status'} Role */
  /** @typedef {'given' | 'with' | 'now'} Source given here, come with the site, fetched from it just now */
  /** @typedef {{name: string, data: Uint8Array, from: Source, page?: boolean}} Held a file at hand; `page` where it was attached to one */

  const script = document.currentScript;
  const STATUS = script instanceof HTMLScriptElement ? new URL('../../issuer/status.json', script.src) : null;

  /** Where a file at hand is from, in words. @param {Held} file */
  const source = (file) => ({ given: `the file you gave: ${checker().printable(file.name)}`, with: 'came with this site', now: 'fetched from this site just now' })[file.from];

  const MOST = 1024 * 1024 + 1; // bytes that are read of a file: one more than is judged

  const ROLES = /** @type {Array<[Role, string, string]>} */ ([
    ['certificate', 'Certificate', 'not here yet'],
    ['issuer', 'School\u2019s keys', 'not here yet: issuer.json, from the school itself'],
    ['status', 'Status list', 'not here: nobody can say whether it was revoked'],
  ]);

  const STATES = /** @type {Object<string, {word: string, look: string}>} */ ({
    good: { word: 'Good', look: 'right' },
    'status unknown': { word: 'Signed, but status unknown', look: 'care' },
    'not yet valid': { word: 'Not yet valid', look: 'care' },
    expired: { word: 'Expired', look: 'care' },
    revoked: { word: 'Revoked: do not rely on it', look: 'wrong' },
    altered: { word: 'Altered: do not rely on it', look: 'wrong' },
    'unknown issuer': { word: 'Unknown issuer: do not rely on it', look: 'wrong' },
    unreadable: { word: 'No certificate that can be read', look: 'wrong' },
  });

  /** @returns {any} */
  const checker = () => /** @type {any} */ (globalThis).graderVerify;

  /** What a file is, by what it says; by its name where it does not say. @param {string} name @param {Uint8Array} data @returns {Role} */
  function roleOf(name, data) {
    const named = /issuer/i.test(name) ? 'issuer' : /status/i.test(name) ? 'status' : 'certificate';
    try {
      const said = checker().readJson(data);
      if (!(said instanceof Map)) return named;
      if (!said.has('proof') && said.has('assertionMethod')) return 'issuer';
      const kinds = said.get('type');
      if (Array.isArray(kinds) && kinds.includes('BitstringStatusListCredential')) return 'status';
      return said.has('credentialSubject') ? 'certificate' : named;
    } catch {
      return named;
    }
  }

  /** @param {Date} date */
  const moment = (date) => date.toLocaleString('en-GB', { dateStyle: 'long', timeStyle: 'short' });

  /** A day where an instant is the first or the last of one, else the whole instant. @param {string} instant */
  const day = (instant) => instant.replace(/T(00:00:00|23:59:59)Z$/, '');

  class CourseVerify extends HTMLElement {
    async connectedCallback() {
      if (this.dataset.ready || !checker()) return;
      this.dataset.ready = 'yes';
      if (!(await checker().canCheck())) {
        this.cannot();
        return;
      }
      /** @type {Map<Role, Held>} */
      this.held = new Map();
      /** @type {Map<Role, Held>} what the site itself has */
      this.site = new Map();
      const files = /** @type {any} */ (globalThis).graderIssuer || {};
      for (const role of /** @type {Role[]} */ (['issuer', 'status'])) {
        const text = files[`${role}.json`];
        if (typeof text === 'string') this.site.set(role, { name: `${role}.json`, data: new TextEncoder().encode(text), from: 'with' });
      }
      this.withSite();
      this.build();
      await this.look();
      if (await this.fetched()) await this.look();
    }

    /** The newest status list, where this site has one and can be asked. */
    async fetched() {
      if (!STATUS?.protocol.startsWith('http') || !navigator.onLine || this.site?.get('status')?.from !== 'with') return false;
      try {
        const answer = await fetch(STATUS, { cache: 'no-store' });
        if (!answer.ok) return false;
        this.site.set('status', { name: 'status.json', data: new Uint8Array(await answer.arrayBuffer()), from: 'now' });
      } catch {
        return false; // no network: the list that came with the site stands
      }
      if (this.held?.get('status')?.from === 'with') this.held.delete('status');
      this.withSite();
      return true;
    }

    /** What this browser cannot do, and what to do instead. */
    cannot() {
      const why = window.isSecureContext
        ? 'This browser cannot check Ed25519 signatures.'
        : 'A browser checks signatures only on pages that came over https or from a folder on the device.';
      this.replaceChildren(
        make('p', {}, make('strong', { text: why }), ' Use a newer browser, or this command on a computer that has the program:'),
        make('pre', {}, make('code', { text: 'grader verify CERTIFICATE.json --issuer issuer.json' })),
      );
    }

    /** Puts the site's own files where none was given. */
    withSite() {
      for (const [role, file] of this.site || []) if (!this.held?.has(role)) this.held?.set(role, file);
    }

    build() {
      const input = make('input', { type: 'file', multiple: '', id: 'verify-files', class: 'tool-file' });
      input.addEventListener('change', async () => {
        await this.take([...(input.files || [])]);
        input.value = '';
      });
      const choose = make('label', { for: 'verify-files', class: 'practice-button practice-button--main', text: 'Choose files' });
      const drop = make('div', { class: 'tool-drop' }, make('p', { text: 'Drop the certificate here, its file or the page it is attached to, and the school\u2019s files if you have them; or' }), input, choose);
      for (const name of ['dragenter', 'dragover']) {
        drop.addEventListener(name, (event) => {
          event.preventDefault();
          drop.dataset.over = 'yes';
        });
      }
      for (const name of ['dragleave', 'drop']) drop.addEventListener(name, () => { delete drop.dataset.over; });
      drop.addEventListener('drop', (event) => {
        event.preventDefault();
        this.take([...(event.dataTransfer?.files || [])]);
      });
      const area = make('textarea', { id: 'verify-text', rows: '5', spellcheck: 'false', autocomplete: 'off', autocapitalize: 'none' });
      const pasted = button('Check this text', () => {
        const text = area.value.trim(); // a file of the program has no space around it, so none is lost
        if (text) this.hold({ name: 'pasted text', data: new TextEncoder().encode(text), from: 'given' });
        area.value = '';
        this.look();
      });
      const paste = make('details', {}, make('summary', { text: 'Paste the text of a file instead' }),
        make('label', { for: 'verify-text', text: 'The whole text' }), area, make('div', { class: 'practice-buttons' }, pasted));
      this.list = make('ul', { class: 'tool-held', 'aria-label': 'What is at hand' });
      this.outcome = make('div', { role: 'status' });
      this.setAttribute('role', 'group');
      this.setAttribute('aria-label', 'Check a certificate');
      this.replaceChildren(drop, paste, this.list, this.outcome);
    }

    /** @param {File[]} files */
    async take(files) {
      const { isPdf, attached } = /** @type {any} */ (globalThis).graderAttached;
      for (const file of files) {
        const data = new Uint8Array(await file.slice(0, MOST).arrayBuffer());
        const inside = isPdf(data) ? await attached(data) : [];
        for (const one of inside) this.hold({ name: `${file.name}, what is attached to it`, data: one, from: 'given', page: true });
        if (!inside.length) this.hold({ name: file.name, data, from: 'given' });
      }
      await this.look();
    }

    /** @param {Held} file */
    hold(file) {
      this.held?.set(roleOf(file.page ? '' : file.name, file.data), file);
    }

    /** Shows what is at hand and, once there is a certificate, what is found. */
    async look() {
      const held = /** @type {Map<Role, Held>} */ (this.held);
      const turn = (this.turn = (this.turn || 0) + 1); // of two looks only the later one shows
      const issuer = this.readIssuer(held.get('issuer'));
      const prints = issuer.known ? await Promise.all([...issuer.known.keys.values()].map((key) => checker().fingerprint(key))) : [];
      const certificate = held.get('certificate');
      const now = Date.now();
      const verdict = certificate && issuer.known
        ? await checker().verify(certificate.data, [issuer.known], held.get('status')?.data || null, now)
        : null;
      if (turn !== this.turn) return;
      this.showHeld(issuer, prints);
      const box = verdict ? this.verdictBox(verdict, now) : certificate ? this.waiting(issuer.fault) : null;
      this.outcome?.replaceChildren(...(box ? [box] : []));
    }

    /** @param {Held | undefined} file @returns {{known: any, fault: string}} */
    readIssuer(file) {
      if (!file) return { known: null, fault: '' };
      try {
        return { known: checker().readIssuer(file.data), fault: '' };
      } catch (error) {
        if (!(error instanceof checker().Wrong)) throw error;
        return { known: null, fault: checker().printable(/** @type {Error} */ (error).message) };
      }
    }

    /** @param {{known: any, fault: string}} issuer @param {string[]} prints */
    showHeld(issuer, prints) {
      this.list?.replaceChildren(...ROLES.map(([role, word, missing]) => {
        const file = this.held?.get(role);
        const row = make('li', {}, make('strong', { text: word }));
        const about = make('span', { text: file ? source(file) : missing });
        row.append(about);
        if (role === 'issuer' && issuer.known) {
          about.append(`, of ${checker().printable(issuer.known.id)}`);
          for (const print of prints) row.append(make('span', { class: 'tool-print', text: `Fingerprint ${print}` }));
        }
        if (role === 'issuer' && issuer.fault) row.append(make('span', { class: 'tool-fault', text: `Of no use: ${issuer.fault}` }));
        if (file?.from === 'given') row.append(this.dropButton(role, word));
        return row;
      }));
    }

    /** @param {Role} role @param {string} word */
    dropButton(role, word) {
      return button('Take away', async () => {
        this.held?.delete(role);
        this.withSite();
        await this.look();
        this.querySelector('input')?.focus();
      }, '', `Take away: ${word}`);
    }

    /** What is said while the school's keys are missing. @param {string} fault */
    waiting(fault) {
      const why = fault ? `The school\u2019s file is of no use: ${fault}.` : 'The school\u2019s keys are missing.';
      return make('div', { class: 'practice-verdict', 'data-look': 'care', 'data-state': '' },
        make('p', { class: 'practice-word', text: 'Not checked yet' }),
        make('p', { text: `${why} Give issuer.json as you have it from the school, not from whoever shows the certificate.` }));
    }

    /** @param {any} verdict @param {number} now */
    verdictBox(verdict, now) {
      const state = STATES[verdict.state] || { word: verdict.state, look: 'wrong' };
      const box = make('div', { class: 'practice-verdict', 'data-look': state.look, 'data-state': verdict.state });
      box.append(make('p', { class: 'practice-word', text: state.word }));
      box.append(make('ul', { class: 'tool-reasons' }, ...verdict.reasons.map((/** @type {string} */ reason) => make('li', { text: reason }))));
      if (verdict.certified) box.append(this.certified(verdict.certified));
      if (this.held?.get('certificate')?.page) {
        box.append(make('p', { text: 'What counts is what stands here: the signed file attached to the page was checked, not what the page shows.' }));
      }
      box.append(this.checked(verdict, now));
      if (verdict.state === 'good') {
        box.append(make('p', { text: 'It claims no accreditation, and does not say that whoever shows it is the person it names.' }));
      }
      return box;
    }

    /** @param {any} said */
    certified(said) {
      const rows = [
        ['Holder', said.holder], ['Passed', said.achievement], ['Issued by', said.issuer], ['Certificate', said.id],
        ['Valid', `from ${day(said.valid_from)} ${said.valid_until ? `to ${day(said.valid_until)}` : 'without a last day'}`],
      ];
      return make('dl', { class: 'tool-said' }, ...rows.flatMap(([word, text]) => [make('dt', { text: word }), make('dd', { text: checker().printable(text || '–') })]));
    }

    /** What was checked, and with what. @param {any} verdict @param {number} now */
    checked(verdict, now) {
      const issuer = this.held?.get('issuer'), status = this.held?.get('status');
      const rows = [];
      if (verdict.fingerprint) rows.push(make('li', {}, 'Signature: made by the key ', make('span', { class: 'tool-print', text: verdict.fingerprint })));
      if (issuer) rows.push(make('li', { text: `Keys: ${source(issuer)}` }));
      if (status && verdict.status_list_of) {
        rows.push(make('li', { text: `Status list: ${source(status)}, made ${verdict.status_list_of}. What was revoked later it cannot know.` }));
      }
      rows.push(make('li', { text: `Dates: by the clock of this device, ${moment(new Date(now))}` }));
      return make('div', { class: 'tool-checked' }, make('p', { text: 'How it was checked' }), make('ul', {}, ...rows));
    }
  }

  if (!customElements.get('course-verify')) customElements.define('course-verify', CourseVerify);
})();
