/**
 * For the tests: a few texts of each look on a page. How well a text can be told from its ground hangs on its colour, its size and weight
 * and the grounds it stands on, not on where it stands; so a few of each look are enough, and the rest is put out of the way meanwhile.
 */
(function () {
  'use strict';
  const HOLLOW = 'rgba(0, 0, 0, 0)|none|1';
  const FEW = 3; // the rules pass over a text that something covers in part

  /** The texts whose look is not among those known, by look. */
  function unseen(known) {
    const found = new Map(), grounds = new Map();
    const ground = (element) => {
      if (!grounds.has(element)) {
        const style = getComputedStyle(element);
        const own = [style.backgroundColor, style.backgroundImage, style.opacity].join('|');
        const below = element.parentElement ? ground(element.parentElement) : '';
        grounds.set(element, own === HOLLOW ? below : `${below}>${own}`);
      }
      return grounds.get(element);
    };
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let text = texts.nextNode(); text; text = texts.nextNode()) {
      const element = text.parentElement;
      if (!text.data.trim() || element.closest('script, style, noscript, template') || !element.checkVisibility()) continue;
      const style = getComputedStyle(element), letters = [...text.data.trim()].length > 1;
      const drawn = element.closest('svg') ? style.fill : '', linked = element.closest('a') ? 'a' : '';
      const look = [style.color, drawn, style.fontSize, style.fontWeight, style.textShadow, linked, letters, ground(element)].join('~');
      if (known.has(look) || (found.get(look) || []).length === FEW) continue;
      found.set(look, [...(found.get(look) || []), element]);
    }
    return found;
  }

  /** Hides whatever has none of these elements in it; gives back how to show it again. */
  function only(elements) {
    const chosen = new Set(elements), kept = new Set(), hidden = [];
    for (const element of elements) for (let one = element; one; one = one.parentElement) kept.add(one);
    const walk = (element) => {
      if (chosen.has(element)) return;
      for (const child of element.children) {
        if (kept.has(child)) walk(child);
        else { hidden.push([child, child.getAttribute('style')]); child.style.setProperty('display', 'none', 'important'); }
      }
    };
    walk(document.body);
    return () => { for (const [one, style] of hidden) style === null ? one.removeAttribute('style') : one.setAttribute('style', style); };
  }

  /** What axe says by rules of colour of the looks not known; with these looks, and how many of them it could judge. */
  globalThis.testColours = async (known) => {
    const found = unseen(new Set(known)), include = [...found.values()].flat();
    if (!include.length) return { faults: [], looks: [], judged: 0 };
    const show = only(include), values = ['color-contrast', 'link-in-text-block'];
    const said = await axe.run({ include }, { preload: false, elementRef: true, runOnly: { type: 'rule', values } });
    show();
    const nodes = [...said.passes, ...said.violations].filter((one) => one.id === values[0]).flatMap((one) => one.nodes);
    const judged = new Set(nodes.map((node) => node.element));
    return { faults: faults(said), looks: [...found.keys()], judged: [...found.values()].filter((few) => few.some((one) => judged.has(one))).length };
  };

  /** What axe says by every other rule. */
  globalThis.testRules = async () => {
    const off = { enabled: false };
    return faults(await axe.run(document, { preload: false, resultTypes: ['violations'], rules: { 'color-contrast': off, 'link-in-text-block': off } }));
  };

  const faults = (said) => said.violations.flatMap((one) => one.nodes.map((node) => `${one.id}: ${node.html.slice(0, 120)}`));
})();
