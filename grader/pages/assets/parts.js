/** What every script of ours makes its elements with; loaded before them. */
(function () {
  'use strict';

  const SVG = 'http://www.w3.org/2000/svg';
  let counted = 0;

  /**
   * @template {Element} E
   * @param {E} element
   * @param {Object<string, string>} attributes `text`, or an attribute's name
   * @param {(Node | string)[]} inside
   * @returns {E}
   */
  function filled(element, attributes, inside) {
    for (const [name, value] of Object.entries(attributes)) {
      if (name === 'text') element.textContent = value;
      else element.setAttribute(name, value);
    }
    element.append(...inside);
    return element;
  }

  /**
   * @template {keyof HTMLElementTagNameMap} K
   * @param {K} tag
   * @param {Object<string, string>} [attributes] `text`, or an attribute's name
   * @param {...(Node | string)} inside
   * @returns {HTMLElementTagNameMap[K]}
   */
  const make = (tag, attributes = {}, ...inside) => filled(document.createElement(tag), attributes, inside);

  /** The same for a drawing. @param {string} tag @param {Object<string, string>} [attributes] @param {...Node} inside */
  const draw = (tag, attributes = {}, ...inside) => filled(document.createElementNS(SVG, tag), attributes, inside);

  /** The first element of some HTML of our own making. @param {string} words */
  function drawn(words) {
    const holder = make('div');
    holder.innerHTML = words;
    return /** @type {Element} */ (holder.firstElementChild);
  }

  /** @param {string} word @param {() => void} act @param {string} [more] a further class @param {string} [name] where the word says too little */
  function button(word, act, more = '', name = '') {
    const made = make('button', { type: 'button', class: `practice-button ${more}`.trim(), text: word });
    if (name) made.setAttribute('aria-label', name);
    made.addEventListener('click', act);
    return made;
  }

  /** A paragraph for each block of text. @param {string} text */
  const paragraphs = (text) => text.split(/\n\s*\n/).filter((block) => block.trim()).map((block) => make('p', { text: block.trim() }));

  /** An id that no other element of the page has. @param {string} name */
  const fresh = (name) => `practice-${name}-${(counted += 1)}`;

  /** @param {string} text */
  const escaped = (text) => text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/"/g, '&quot;');

  /** @type {any} */ (globalThis).graderParts = { make, draw, drawn, button, paragraphs, fresh, escaped };
})();
