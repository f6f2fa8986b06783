/**
 * The whole carburetor on the bench: faults, altitude and fuel are chosen, mixture and vacuum follow; or a fault is hidden, to be found.
 *
 * Every state was computed when the site was built; nothing is computed here. Without this script the healthy curve stands.
 */
(function () {
  'use strict';

  /** @typedef {{ratio: (number | null)[], vacuum: (number | null)[], notes?: Object<string, string>}} State */
  /**
   * @typedef {{points: string[], rpm: number[], altitudes: string[], fuels: {name: string, even: number}[],
   *   faults: {name: string, says: string}[], states: State[][][]}} Settings
   */

  const { make, button } = /** @type {any} */ (globalThis).graderParts;

  const WIDE = 417, LEFT = 34, RIGHT = 42, TOP = 34, DEEP = 250, BAND = 0.05, LOW = 10, HIGH = 20;
  const STEPS = [0.01, 0.05, 0.15];

  /** @param {number | null} number @param {number} places */
  const shown = (number, places) => number === null ? '–' : number.toFixed(places).replace('-', '−');

  /** @param {number | null} ratio @param {number | null} healthy */
  function change(ratio, healthy) {
    if (ratio === null || healthy === null) return { sign: '?', word: 'none' };
    const by = ratio / healthy - 1, times = STEPS.filter((step) => Math.abs(by) >= step).length;
    return times ? { sign: (by > 0 ? '+' : '−').repeat(times), word: by > 0 ? 'leaner' : 'richer' } : { sign: '0', word: 'same' };
  }

  let choices = 0;

  class Bench extends HTMLElement {
    connectedCallback() {
      const holder = this.querySelector('script[type="application/json"]');
      if (!holder || this.dataset.ready) return;
      this.dataset.ready = 'yes';
      /** @type {Settings} */
      this.settings = JSON.parse(holder.textContent || '{}');
      this.hidden_ = 0; // the fault that is to be found: 0 where none is hidden
      this.build();
      this.show();
    }

    build() {
      this.querySelector('.bench-still')?.remove();
      const { faults, altitudes, fuels } = this.settings;
      this.fault = this.choice('Fault', ['none: healthy', ...faults.map((fault) => fault.name)]);
      this.altitude = this.choice('Altitude', altitudes);
      this.fuel = this.choice('Fuel', fuels.map((fuel) => fuel.name));
      this.says = make('p', { class: 'bench-says', role: 'status' });
      this.chart = make('div', { class: 'course-figure course-curves' });
      this.table = make('div', {});
      const hide = button('Hide a fault from me', () => this.hide(), 'practice-button--main');
      this.give = button('Show me which', () => this.tell(true));
      this.guess = this.choice('Which fault is it?', ['choose', ...faults.map((fault) => fault.name)]);
      this.guess.select.addEventListener('change', () => this.tell(false));
      for (const one of [this.fault, this.altitude, this.fuel]) one.select.addEventListener('change', () => this.show());
      this.append(
        make('div', { class: 'bench-choices' }, this.fault.row, this.altitude.row, this.fuel.row), this.guess.row, this.says, this.chart, this.table,
        make('div', { class: 'practice-buttons' }, hide, this.give),
      );
    }

    /** @param {string} name @param {string[]} options */
    choice(name, options) {
      const id = `bench-choice-${(choices += 1)}`;
      const select = make('select', { id }, ...options.map((text, index) => make('option', { value: String(index), text })));
      return { select, row: make('div', { class: 'practice-field bench-choice' }, make('label', { for: id, text: name }), select) };
    }

    hide() {
      const healthy = this.states()[0];
      const felt = this.settings.faults.map((_, index) => index + 1)
        .filter((index) => this.states()[index].ratio.some((ratio, point) => change(ratio, healthy.ratio[point]).sign !== '0'));
      this.hidden_ = felt[Math.floor(Math.random() * felt.length)];
      this.guess.select.value = '0';
      this.show();
      this.guess.select.focus();
    }

    /** @param {boolean} whole whether to give the answer away */
    tell(whole) {
      const wanted = this.hidden_, guessed = Number(this.guess.select.value), fault = this.settings.faults[wanted - 1];
      if (!wanted || (!whole && !guessed)) return;
      if (whole || guessed === wanted) {
        this.hidden_ = 0;
        this.fault.select.value = String(wanted);
        this.show();
        this.say(`${whole ? 'It was' : 'Right'}: ${fault.name}. ${fault.says}`, whole ? 'care' : 'right');
        return;
      }
      const points = this.settings.points.filter((_, point) => {
        const healthy = this.states()[0].ratio[point];
        return change(this.states()[wanted].ratio[point], healthy).sign !== change(this.states()[guessed].ratio[point], healthy).sign;
      });
      const differ = points.length ? `It would show otherwise at ${points.join(', ')}.` : 'Its mixture shows alike: look at the vacuum, and at what another test would tell.';
      this.say(`Not ${this.settings.faults[guessed - 1].name}. ${differ}`, 'wrong');
    }

    /** @param {string} text @param {string} look */
    say(text, look) {
      this.says.textContent = text;
      this.says.className = text ? 'bench-says practice-verdict' : 'bench-says';
      this.says.dataset.look = look;
    }

    states() {
      return this.settings.states[Number(this.fuel.select.value)][Number(this.altitude.select.value)];
    }

    show() {
      const hunting = this.hidden_ > 0;
      this.fault.row.hidden = hunting;
      this.guess.row.hidden = !hunting;
      this.give.hidden = !hunting;
      const place = hunting ? this.hidden_ : Number(this.fault.select.value);
      const name = hunting ? 'with the hidden fault' : place ? this.settings.faults[place - 1].name : '';
      if (hunting) this.say('Something is wrong with this one. What do its readings say?', 'care');
      else this.say(place ? this.settings.faults[place - 1].says : '', 'care');
      if (!hunting) this.says.className = 'bench-says';
      this.chart.innerHTML = this.plot(place, name);
      this.table.replaceChildren(this.rows(place, name));
    }

    /** @param {number} place @param {string} name */
    plot(place, name) {
      const { points, fuels } = this.settings, states = this.states(), healthy = states[0], even = fuels[Number(this.fuel.select.value)].even;
      const step = (WIDE - LEFT - RIGHT) / points.length, foot = TOP + DEEP;
      /** @param {number} point */
      const x = (point) => LEFT + step * (point + 0.5);
      /** @param {number} ratio */
      const y = (ratio) => TOP + DEEP * (HIGH - Math.min(HIGH, Math.max(LOW, ratio))) / (HIGH - LOW);
      /** @param {State} state @param {string} look */
      const line = (state, look) => {
        let path = '', pen = 'M';
        state.ratio.forEach((ratio, point) => {
          if (ratio === null) { pen = 'M'; return; }
          path += `${pen}${x(point).toFixed(1)} ${y(ratio).toFixed(1)}`;
          pen = 'L';
        });
        return `<path class="line ${look}" d="${path}"/>`;
      };
      const solid = /** @type {number[]} */ (healthy.ratio.filter((ratio) => ratio !== null));
      const over = solid.map((ratio, point) => `${x(point).toFixed(1)},${y(ratio * (1 + BAND)).toFixed(1)}`);
      const under = solid.map((ratio, point) => `${x(point).toFixed(1)},${y(ratio * (1 - BAND)).toFixed(1)}`).reverse();
      let grid = '';
      for (let ratio = LOW; ratio <= HIGH; ratio += 2) {
        grid += `<path class="grid" d="M${LEFT} ${y(ratio)}H${WIDE - RIGHT}"/><text class="num end" x="${LEFT - 6}" y="${y(ratio) + 5}">${ratio}</text>`;
      }
      for (let tenth = Math.ceil(LOW / even * 10); tenth / 10 * even <= HIGH; tenth += 1) {
        const at = y(tenth / 10 * even).toFixed(1);
        grid += `<path class="axis" d="M${WIDE - RIGHT} ${at}h5"/><text class="num" x="${WIDE - RIGHT + 9}" y="${Number(at) + 5}">${(tenth / 10).toFixed(1)}</text>`;
      }
      const names = points.map((point, index) => {
        const [first, second] = point.split(' ');
        return `<text class="mid close" x="${x(index).toFixed(1)}" y="${foot + 20}">${first}</text>`
          + (second ? `<text class="mid close" x="${x(index).toFixed(1)}" y="${foot + 37}">${second}</text>` : '');
      }).join('');
      const faulty = place ? line(states[place], 's0') + states[place].ratio.map((ratio, point) => ratio === null ? '' : this.mark(x(point), y(ratio), ratio)).join('') : '';
      const key = `<path class="line well" d="M8 ${foot + 57}h30"/><text x="46" y="${foot + 62}">healthy, and ${100 * BAND} % to either side</text>`
        + (place ? `<path class="line s0" d="M8 ${foot + 79}h30"/><rect class="mark f0" x="18" y="${foot + 74}" width="10" height="10"/><text x="46" y="${foot + 84}">${name}</text>` : '');
      return `<svg viewBox="0 0 ${WIDE} ${foot + 96}" role="img" aria-label="Mixture at the operating points; the numbers stand in the table below">`
        + `${grid}<polygon class="band" points="${[...over, ...under].join(' ')}"/><path class="even" d="M${LEFT} ${y(even).toFixed(1)}H${WIDE - RIGHT}"/>`
        + `${line(healthy, 'well')}${faulty}<path class="axis" d="M${LEFT} ${TOP}V${foot}H${WIDE - RIGHT}V${TOP}"/>${names}${key}`
        + `<text x="8" y="${TOP - 14}">air-fuel ratio</text><text class="end" x="${WIDE - 8}" y="${TOP - 14}">lambda</text></svg>`;
    }

    /** @param {number} x @param {number} y @param {number} ratio */
    mark(x, y, ratio) {
      const off = ratio > HIGH ? `<text class="num mid halo t0" x="${x.toFixed(1)}" y="${(y + 22).toFixed(1)}">↑ ${shown(ratio, 1)}</text>`
        : ratio < LOW ? `<text class="num mid halo t0" x="${x.toFixed(1)}" y="${(y - 12).toFixed(1)}">↓ ${shown(ratio, 1)}</text>` : '';
      return `<rect class="mark f0" x="${(x - 5).toFixed(1)}" y="${(y - 5).toFixed(1)}" width="10" height="10"/>${off}`;
    }

    /** @param {number} place @param {string} name */
    rows(place, name) {
      const { points, rpm } = this.settings, states = this.states(), healthy = states[0], own = states[place];
      const head = make('tr', {}, ...points.map((point, index) => make('th', { scope: 'col' }, point, make('small', { text: ` ${rpm[index]}` }))));
      /** @param {string} title @param {Node[]} cells */
      const group = (title, cells) => make('tbody', {}, make('tr', {}, make('th', { scope: 'rowgroup', colspan: String(points.length), text: title })), make('tr', {}, ...cells));
      const groups = [
        group('healthy: air-fuel ratio', healthy.ratio.map((ratio) => make('td', { text: shown(ratio, 1) }))),
        group('healthy: vacuum, inHg', healthy.vacuum.map((vacuum) => make('td', { text: shown(vacuum, 1) }))),
      ];
      if (place) {
        groups.push(group(`${name}: air-fuel ratio`, own.ratio.map((ratio, point) => {
          const { sign, word } = change(ratio, healthy.ratio[point]);
          return make('td', {}, make('b', { text: sign }), make('span', { text: word }), shown(ratio, 1));
        })));
        groups.push(group(`${name}: vacuum, inHg`, own.vacuum.map((vacuum) => make('td', { text: shown(vacuum, 1) }))));
      }
      const table = make('table', { class: 'course-table course-signs' }, make('thead', {}, head), ...groups);
      const notes = place ? Object.entries(own.notes || {}).map(([point, note]) => `${points[Number(point)]}: ${note}.`) : [];
      const said = '+ leaner, − richer than healthy: one sign from 1\u00a0%, two from 5\u00a0%, three from 15\u00a0%. Under each point its speed in rev/min.';
      return make('div', {}, table, make('p', { class: 'course-note', text: [said, ...notes].join(' ') }));
    }
  }

  customElements.define('course-bench', Bench);
})();
