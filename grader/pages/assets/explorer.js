/**
 * Explorers: a relation with some of its quantities on sliders; result, curve and drawing move together.
 *
 * The page is whole without this script: what stands inside <course-explorer> is the formula and a short table.
 * The relation comes from window.graderRelations, made from the same statement as the formula; all values there are SI.
 */
(function () {
  'use strict';

  /** @typedef {{symbol: string, says: string, mathml: string, unit: string, factor: number, offset: number}} Said */
  /** @typedef {Said & {least: number, step: number, steps: number, start: number, decimals: number}} Moved */
  /**
   * @typedef {{relation: string, takes: string[], fixed: Object<string, number>, moved: Moved[], result: Said & {figures: number},
   *   drawing: string}} Settings
   */

  const { make, drawn, button, escaped } = /** @type {any} */ (globalThis).graderParts;

  const WIDE = 380, HIGH = 216, LEFT = 54, RIGHT = 14, TOP = 14, FOOT = 44;
  const POINTS = 80;

  /** A number with its unit; the sign of a degree or of an angle stands close. @param {string} number @param {string} unit */
  const withUnit = (number, unit) => number.replace('-', '−') + (unit === '' ? '' : unit === '°' ? unit : ' ' + unit);

  /** @param {number} value SI @param {Said} said */
  const inUnit = (value, said) => (value - said.offset) / said.factor;

  /** To so many significant figures, without an exponent where a person would write none. @param {number} value @param {number} figures */
  function rounded(value, figures) {
    if (value === 0) return '0';
    const size = Math.floor(Math.log10(Math.abs(value)));
    if (size < -5 || size > 6) return value.toExponential(figures - 1);
    const text = value.toPrecision(figures);
    return text.includes('e') ? String(Number(text)) : text;
  }

  /** Three to six round numbers from low to high. @param {number} low @param {number} high */
  function ticks(low, high) {
    const span = high - low || 1;
    const rough = span / 4, size = Math.pow(10, Math.floor(Math.log10(rough)));
    const step = [1, 2, 2.5, 5, 10].map((n) => n * size).find((n) => span / n <= 5) || span;
    const found = [];
    for (let n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9 * span; n += 1) found.push(n * step);
    return { at: found, step, decimals: Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9) + (/[.]|^25/.test(String(step / size)) ? 1 : 0))) };
  }

  /**
   * From where to where the upright axis goes: the whole curve and no more, out to the next round numbers; from zero where that takes
   * less than half of the height; never closer than a tenth of the greatest number, or a curve that hardly rises would look steep.
   * A curve does not change while its own quantity moves, so its axis stands still too.
   * @param {number[]} results
   */
  function scale(results) {
    const there = results.filter(Number.isFinite);
    let low = Math.min(...there), high = Math.max(...there);
    if (!there.length) return { low: 0, high: 1 };
    if (low > 0 && low < high / 2) low = 0;
    if (high < 0 && high > low / 2) high = 0;
    const least = Math.max(Math.abs(low), Math.abs(high)) / 10 || 1, lacks = least - (high - low);
    if (lacks > 0) { low -= lacks / 2; high += lacks / 2; }
    const { step } = ticks(low, high);
    return { low: Math.floor(low / step + 1e-9) * step, high: Math.ceil(high / step - 1e-9) * step };
  }

  /** Words on as many lines as they need below a curve. @param {string} words */
  function lines(words) {
    const found = [''];
    for (const word of words.split(' ')) {
      const last = found.length - 1;
      if (found[last] && found[last].length + word.length > 46) found.push(word);
      else found[last] = `${found[last]} ${word}`.trim();
    }
    return found;
  }

  class Explorer extends HTMLElement {
    connectedCallback() {
      const holder = this.querySelector('script[type="application/json"]');
      const relations = /** @type {any} */ (window).graderRelations || {};
      if (!holder || this.dataset.ready) return;
      /** @type {Settings} */
      this.settings = JSON.parse(holder.textContent || '{}');
      this.run = relations[this.settings.relation];
      if (!this.run) return;  // the table stays
      this.dataset.ready = 'yes';
      this.place = this.settings.moved.map((one) => one.start);
      this.along = 0;
      this.build();
      this.fromAddress();
      this.show();
      window.addEventListener('hashchange', () => { this.fromAddress(); this.show(); });
    }

    /** A moved quantity's number in its own unit. @param {number} index @param {number} [place] */
    number(index, place = this.place[index]) {
      const one = this.settings.moved[index];
      return one.least + place * one.step;
    }

    /** The relation's value in SI. @param {number[]} places */
    value(places) {
      /** @type {Object<string, number>} */
      const at = { ...this.settings.fixed };
      this.settings.moved.forEach((one, index) => { at[one.symbol] = this.number(index, places[index]) * one.factor + one.offset; });
      return { result: /** @type {number} */ (this.run(...this.settings.takes.map((name) => at[name]))), at };
    }

    /** A moved quantity as shown. @param {number} index */
    shown(index) {
      const one = this.settings.moved[index];
      return withUnit(this.number(index).toFixed(one.decimals), one.unit);
    }

    build() {
      this.querySelectorAll('table, .course-note').forEach((one) => one.remove());
      this.answer = make('output', { class: 'explorer-result', 'aria-live': 'polite' });
      this.sliders = this.settings.moved.map((one, index) => this.slider(one, index));
      this.drawing = make('div', { class: 'explorer-drawing' });
      this.curve = make('div', { class: 'explorer-curve' });
      const again = button('Back to the start', () => { this.place = this.settings.moved.map((one) => one.start); this.show(); });
      const link = button('A link to this setting', () => this.toAddress());
      this.linked = make('p', { class: 'course-note', role: 'status' });
      const drawn = this.settings.drawing ? [this.drawing] : [];
      this.append(
        make('div', { class: 'explorer-sliders' }, ...this.sliders.map((slider) => slider.row)), this.answer, ...drawn, this.curve,
        make('div', { class: 'practice-buttons' }, again, link), this.linked,
      );
    }

    /** @param {Moved} one @param {number} index */
    slider(one, index) {
      const id = `${this.id}-${one.symbol}`;
      const value = make('b', { class: 'course-whole' });
      const label = make('label', { for: id });
      label.innerHTML = `${escaped(one.says.slice(0, 1).toUpperCase() + one.says.slice(1))}, ${one.mathml}`;
      const range = make('input', { id, type: 'range', min: '0', max: String(one.steps), step: '1' });
      /** @param {number} by */
      const move = (by) => { this.place[index] = Math.min(one.steps, Math.max(0, this.place[index] + by)); this.along = index; this.show(); };
      range.addEventListener('input', () => { this.place[index] = Number(range.value); this.along = index; this.show(); });
      const less = button('−', () => move(-1), '', `less: ${one.says}`);
      const more = button('+', () => move(1), '', `more: ${one.says}`);
      const row = make('div', { class: 'explorer-row' }, make('div', { class: 'explorer-label' }, label, value), make('div', { class: 'explorer-hand' }, less, range, more));
      return { row, range, value };
    }

    show() {
      const { result, at } = this.value(this.place);
      const said = this.settings.result;
      this.sliders.forEach((slider, index) => {
        slider.range.value = String(this.place[index]);
        slider.range.setAttribute('aria-valuetext', this.shown(index));
        slider.value.textContent = this.shown(index);
      });
      const number = Number.isFinite(result) ? withUnit(rounded(inUnit(result, said), said.figures), said.unit) : '';
      this.answer.innerHTML = number ? `${said.mathml} = <b class="course-whole">${escaped(number)}</b>`
        : `No value here: it must hold that ${escaped(this.unmet(at))}`;
      this.answer.setAttribute('data-look', number ? 'right' : 'care');
      const draw = drawings[this.settings.drawing];
      if (draw) this.drawing.replaceChildren(drawn(draw(at, this.id)));
      this.curve.replaceChildren(this.plot());
    }

    /** The parts of what must hold that do not. @param {Object<string, number>} at */
    unmet(at) {
      const values = this.settings.takes.map((name) => at[name]);
      const parts = this.run.must.filter((/** @type {any[]} */ part) => !part[1](...values)).map((/** @type {any[]} */ part) => part[0]);
      return parts.join(' and ') || 'the formula comes to a number';
    }

    /** The results all along the quantity that is moved, the others as they stand; NaN where there is none. */
    results() {
      const { steps } = this.settings.moved[this.along];
      return Array.from({ length: POINTS + 1 }, (_, point) => {
        const places = this.place.slice();
        places[this.along] = steps * point / POINTS;
        return { number: this.number(this.along, places[this.along]), result: inUnit(this.value(places).result, this.settings.result) };
      });
    }

    plot() {
      const one = this.settings.moved[this.along], said = this.settings.result, points = this.results(), { low, high } = scale(points.map((point) => point.result));
      const first = one.least, last = one.least + one.step * one.steps;
      /** @param {number} number */
      const x = (number) => LEFT + (WIDE - LEFT - RIGHT) * (number - first) / (last - first);
      /** @param {number} number */
      const y = (number) => TOP + (HIGH - TOP - FOOT) * (high - number) / (high - low);
      const across = ticks(first, last), up = ticks(low, high);
      let path = '', pen = 'M';
      for (const { number, result } of points) {
        if (!Number.isFinite(result)) { pen = 'M'; continue; }
        path += `${pen}${x(number).toFixed(1)} ${y(result).toFixed(1)}`;
        pen = 'L';
      }
      const now = this.number(this.along), result = inUnit(this.value(this.place).result, said);
      const dot = Number.isFinite(result) ? `<path class="explorer-cross" d="M${LEFT} ${y(result).toFixed(1)}H${x(now).toFixed(1)}V${HIGH - FOOT}"/>`
        + `<circle class="explorer-dot" cx="${x(now).toFixed(1)}" cy="${y(result).toFixed(1)}" r="6"/>` : '';
      const grid = up.at.map((n) => `<path class="explorer-grid" d="M${LEFT} ${y(n).toFixed(1)}H${WIDE - RIGHT}"/>`
        + `<text class="fig-label fig-end" x="${LEFT - 6}" y="${(y(n) + 5).toFixed(1)}">${n.toFixed(up.decimals).replace('-', '−')}</text>`).join('')
        + across.at.map((n) => `<path class="explorer-tick" d="M${x(n).toFixed(1)} ${HIGH - FOOT}v5"/>`
        + `<text class="fig-label fig-middle" x="${Math.min(x(n), WIDE - 18).toFixed(1)}" y="${HIGH - FOOT + 19}">${n.toFixed(across.decimals).replace('-', '−')}</text>`).join('');
      /** @param {Said} what */
      const named = (what) => escaped(what.says + (what.unit ? `, ${what.unit}` : ''));
      const told = `${said.says} over ${one.says}`;
      return drawn(`<svg class="figure-drawing" viewBox="0 0 ${WIDE} ${HIGH + 16 * (lines(named(one)).length - 1)}" role="img" aria-label="${escaped(told)}">${grid}`
        + `<path class="explorer-axis" d="M${LEFT} ${TOP}V${HIGH - FOOT}H${WIDE - RIGHT}"/><path class="explorer-line" d="${path}"/>${dot}`
        + lines(named(one)).map((text, row) => `<text class="fig-label fig-end" x="${WIDE - RIGHT}" y="${HIGH - 6 + 16 * row}">${text}</text>`).join('') + '</svg>');
    }

    /** The setting as it stands in an address. */
    hash() {
      return `#${this.id}=` + this.settings.moved.map((one, index) => `${one.symbol}:${this.number(index).toFixed(one.decimals)}`).join(',');
    }

    toAddress() {
      try { history.replaceState(null, '', this.hash()); } catch { location.hash = this.hash(); }
      const done = () => { this.linked.textContent = 'Copied: the address of this page with the setting.'; };
      const held = () => { this.linked.textContent = 'The address of this page holds the setting now: copy it from there.'; };
      if (navigator.clipboard && window.isSecureContext) navigator.clipboard.writeText(location.href).then(done, held);
      else held();
    }

    fromAddress() {
      let hash = location.hash;
      try { hash = decodeURIComponent(hash); } catch { return; }
      if (!hash.startsWith(`#${this.id}=`)) return;
      for (const pair of hash.slice(this.id.length + 2).split(',')) {
        const [symbol, text] = pair.split(':');
        const index = this.settings.moved.findIndex((one) => one.symbol === symbol);
        const number = Number(text);
        if (index < 0 || !text || !Number.isFinite(number)) continue;
        const one = this.settings.moved[index];
        this.place[index] = Math.min(one.steps, Math.max(0, Math.round((number - one.least) / one.step)));
      }
      this.scrollIntoView();
    }
  }

  // ------------------------------------------------------------------ drawings that move

  const MM = 1e-3;

  /** Patterns of the figures, under ids of this explorer's own. @param {string} id */
  const patterns = (id) => `<defs><pattern id="${id}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`
    + '<rect class="fig-metal" width="6" height="6"/><path class="fig-hatch" d="M3 0 V6"/></pattern>'
    + `<pattern id="${id}-brass" width="3.5" height="3.5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`
    + '<rect class="fig-brass" width="3.5" height="3.5"/><path class="fig-hatch" d="M1.75 0 V3.5"/></pattern>'
    + `<pattern id="${id}-fuel" width="18" height="12" patternUnits="userSpaceOnUse"><rect class="fig-fuel" width="18" height="12"/>`
    + '<path class="fig-fuel-mark" d="M2 3.5 H9 M11 9.5 H18"/></pattern></defs>';

  /** @param {number} high @param {string} told @param {string} id @param {string} inside */
  const picture = (high, told, id, inside) => `<svg class="figure-drawing" viewBox="0 0 380 ${high}" role="img" aria-label="${escaped(told)}">${patterns(id)}${inside}</svg>`;

  /** @param {number} number */
  const f = (number) => number.toFixed(1);

  /** @param {string} symbol @param {number} x @param {number} y */
  const letter = (symbol, x, y) => `<text class="fig-symbol fig-halo fig-middle" x="${f(x)}" y="${f(y)}">${symbol}</text>`;

  /** An arrow of a dimension between two heights or two places. @param {number} x1 @param {number} y1 @param {number} x2 @param {number} y2 */
  function dimension(x1, y1, x2, y2) {
    const long = Math.hypot(x2 - x1, y2 - y1);
    if (long < 1) return '';
    const ux = (x2 - x1) / long, uy = (y2 - y1) / long, head = Math.min(6, long / 2);
    /** @param {number} x @param {number} y @param {number} way */
    const end = (x, y, way) => `<path class="fig-head-dim" d="M${f(x)} ${f(y)}L${f(x + way * ux * head - uy * 2.5)} ${f(y + way * uy * head + ux * 2.5)}L${f(x + way * ux * head + uy * 2.5)} ${f(y + way * uy * head - ux * 2.5)}Z"/>`;
    return `<path class="fig-leader" d="M${f(x1)} ${f(y1)}L${f(x2)} ${f(y2)}"/>${end(x1, y1, 1)}${end(x2, y2, -1)}`;
  }

  /** @type {Object<string, (at: Object<string, number>, id: string) => string>} */
  const drawings = {
    /** The jet in section with the rod's step in it, and both seen from above: 1 mm is 36 units. */
    'rod in jet'(at, id) {
      const scale = 36, jet = at.D / MM * scale, rod = Math.min(at.d / MM * scale, jet), half = jet / 2, step = rod / 2;
      const x = 100, y = 110, seen = 282;
      return picture(220, 'The rod’s step in the jet: in section, and from above with the ring that is left', id,
        `<rect class="fig-fill" fill="url(#${id}-fuel)" x="20" y="40" width="160" height="160"/>`
        + `<path class="fig-cut" fill="url(#${id}-brass)" d="M20 ${y - 26}H${f(x - half)}V${y + 26}H20Z"/><path class="fig-cut" fill="url(#${id}-brass)" d="M180 ${y - 26}H${f(x + half)}V${y + 26}H180Z"/>`
        + `<path class="fig-body" d="M${f(x - step)} 14V172q0 8 8 8H${f(x + step - 8)}q8 0 8 -8V14Z"/><path class="fig-axis" d="M${x} 8V206"/>`
        + `<circle class="fig-fill" fill="url(#${id}-fuel)" cx="${seen}" cy="${y}" r="${f(half)}"/><circle class="fig-line" cx="${seen}" cy="${y}" r="${f(half)}"/>`
        + `<circle class="fig-body" cx="${seen}" cy="${y}" r="${f(step)}"/><path class="fig-axis" d="M${seen} ${y - 66}V${y + 66}M${seen - 66} ${y}H${seen + 66}"/>`
        + dimension(seen - step, y + 22, seen + step, y + 22) + letter('d', seen, y + 18)
        + `<path class="fig-leader" d="M${f(seen - half)} ${y + 6}V${y + 84}M${f(seen + half)} ${y + 6}V${y + 84}"/>` + dimension(seen - half, y + 78, seen + half, y + 78) + letter('D', seen, y + 98));
    },

    /** Bowl and nozzle: the level moves by e, the fuel spills when lifted by what is left of h: 1 mm is 6 units. */
    'fuel level'(at, id) {
      const scale = 6, tip = 44, set = tip + at.h / MM * scale, level = set - at.e / MM * scale, flows = level <= tip, top = Math.max(level, tip);
      return picture(210, flows ? 'The level stands at the nozzle’s tip or above: fuel runs by itself' : 'Fuel level below the tip of the nozzle', id,
        `<path class="fig-fill" fill="url(#${id}-fuel)" d="M24 ${f(level)}H196V190H24Z M196 160H262V${f(top)}H278V176H196Z"/>`
        + '<path class="fig-line" d="M24 30V190H196V176H278V44M196 30V160H262V44"/>'
        + `<path class="fig-thin" d="M24 ${f(level)}H196"/><path class="fig-level" d="M100 ${f(level - 2)}l-6 -10h12Z"/><path class="fig-hidden" d="M16 ${f(set)}H320"/>`
        + `<text class="fig-label" x="206" y="${f(Math.min(set + 16, 154))}">set level</text>`
        + (flows ? `<path class="fig-flow-fuel" d="M270 ${tip}V34H292V60"/><path class="fig-head-fuel" d="M292 70l-4 -9h8Z"/>` : '')
        + `<path class="fig-leader" d="M282 ${tip}H350M282 ${f(set)}H350"/>` + dimension(340, tip, 340, set) + letter('h', 352, (tip + set) / 2 + 5)
        + (Math.abs(level - set) > 3 ? dimension(52, set, 52, level) + letter('e', 66, (set + level) / 2 + 5) : '')
        + '<text class="fig-label fig-middle" x="110" y="206">bowl</text><text class="fig-label fig-middle" x="270" y="34">tip</text>');
    },

    /** The plate's edge and the transfer slot beside it: 1 mm is 26 units. */
    'transfer slot'(at, id) {
      const scale = 26, foot = 168 - at.z / MM * scale, head = foot - at.l / MM * scale, edge = 168 - at.E / MM * scale;
      const below = Math.max(0, Math.min(foot, 168) - Math.max(edge, head)), wall = 250;
      return picture(206, 'The throttle plate’s edge against the transfer slot: the part of the slot below the edge sees manifold vacuum', id,
        `<path class="fig-cut" fill="url(#${id}-hatch)" d="M${wall} 10H330V${f(head)}H${wall}Z M${wall} ${f(foot)}H330V196H${wall}Z"/>`
        + `<rect class="fig-fill fig-air" x="${wall}" y="${f(head)}" width="80" height="${f(foot - head)}"/>`
        + (below > 0 ? `<rect class="fig-fill" fill="url(#${id}-fuel)" x="${wall}" y="${f(Math.max(edge, head))}" width="80" height="${f(below)}"/>` : '')
        + `<path class="fig-line" d="M${wall} ${f(head)}H330M${wall} ${f(foot)}H330"/>`
        + `<path class="fig-plate" d="M${wall - 4} ${f(edge)}L40 ${f(Math.min(edge + 46, 190))}"/><path class="fig-hidden" d="M24 168H${wall}"/><path class="fig-axis" d="M30 ${f(edge)}H${wall}"/>`
        + '<text class="fig-label" x="26" y="186">shut</text>' + dimension(206, 168, 206, edge) + letter('E', 190, (168 + edge) / 2 + 5)
        + dimension(348, head, 348, foot) + letter('l', 362, (head + foot) / 2 + 5) + (at.z > 0.2 * MM ? dimension(348, foot, 348, 168) + letter('z', 362, (foot + 168) / 2 + 5) : '')
        + '<text class="fig-label" x="26" y="24">throttle bore</text>');
    },

    /** The plunger in its well, down by its stroke: 1 mm is 7 units. */
    'pump stroke'(at, id) {
      const scale = 6.5, bore = at.D / MM * scale, stroke = at.s / MM * scale, x = 150, left = x - bore / 2, right = x + bore / 2, top = 60, foot = top + 100;
      return picture(210, 'The pump’s plunger before and after its stroke: the fuel between is the shot', id,
        `<path class="fig-cut" fill="url(#${id}-hatch)" fill-rule="evenodd" d="M${f(left - 20)} 34H${f(left)}V${foot + 20}H${f(right)}V34H${f(right + 20)}V${foot + 40}H${f(left - 20)}Z"/>`
        + `<rect class="fig-fill" fill="url(#${id}-fuel)" x="${f(left)}" y="${f(top + stroke)}" width="${f(bore)}" height="${f(foot + 20 - top - stroke)}"/>`
        + `<rect class="fig-hidden" x="${f(left + 2)}" y="${top - 16}" width="${f(bore - 4)}" height="16"/>`
        + `<path class="fig-body" d="M${x - 8} 8H${x + 8}V${f(top + stroke - 16)}H${x - 8}Z"/><rect class="fig-soft" x="${f(left + 1)}" y="${f(top + stroke - 16)}" width="${f(bore - 2)}" height="16"/>`
        + `<path class="fig-axis" d="M${x} 4V206"/><path class="fig-leader" d="M${f(right)} ${top}H${f(right + 66)}M${f(right)} ${f(top + stroke)}H${f(right + 66)}"/>`
        + dimension(right + 56, top, right + 56, top + stroke) + letter('s', right + 72, top + stroke / 2 + 5)
        + dimension(left, foot + 8, right, foot + 8) + letter('D', x + 18, foot + 4));
    },

    /** A spiral coil that opens the choke as it warms: the plate stands at the coil's free angle, 0° shut to 75° open. */
    coil(at, id) {
      const free = (at.s * (at.T - at.T_0) + (at.theta_i || 0)) * 180 / Math.PI, shown = Math.max(0, Math.min(75, free));
      let spiral = '';
      for (let step = 0; step <= 120; step += 1) {
        const turn = step / 120 * 3 * 2 * Math.PI + shown * Math.PI / 180, reach = 12 + 40 * step / 120;
        spiral += `${step ? 'L' : 'M'}${f(100 + reach * Math.cos(turn))} ${f(104 + reach * Math.sin(turn))}`;
      }
      const lean = (15 + shown) * Math.PI / 180, dx = 60 * Math.cos(lean), dy = 60 * Math.sin(lean);
      return picture(206, `The coil alone would hold the choke plate ${f(shown)} degrees open`, id,
        `<circle class="fig-body" cx="100" cy="104" r="70"/><path class="fig-line" d="${spiral}"/><circle class="fig-solid" cx="100" cy="104" r="5"/>`
        + `<text class="fig-label fig-middle" x="100" y="22">coil</text><path class="fig-cut" fill="url(#${id}-hatch)" d="M216 30H230V186H216Z M350 30H364V186H350Z"/>`
        + `<path class="fig-plate" d="M${f(290 - dx)} ${f(104 + dy)}L${f(290 + dx)} ${f(104 - dy)}"/><circle class="fig-solid" cx="290" cy="104" r="5"/>`
        + `<path class="fig-hidden" d="M${f(290 - 58)} ${f(104 + 15.5)}L${f(290 + 58)} ${f(104 - 15.5)}"/><text class="fig-label fig-middle" x="290" y="22">choke plate</text>`
        + (free < 0 ? '<text class="fig-label fig-middle" x="190" y="200">pressed shut</text>' : free > 75 ? '<text class="fig-label fig-middle" x="190" y="200">wide open, at its stop</text>' : ''));
    },
  };
  /** @type {any} */ (window).graderDrawings = Object.keys(drawings);

  customElements.define('course-explorer', Explorer);
})();
