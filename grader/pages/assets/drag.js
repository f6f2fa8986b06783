/**
 * What finger, pen or mouse can drag: an addition to buttons and lists to choose from, never in their place.
 *
 * A finger or pen drags by the handle only, so that the page scrolls under it everywhere else; a mouse takes the whole thing. Near the
 * edge of the screen the page comes along. Escape puts everything back, and so does a system that takes the pointer away.
 */
(function () {
  'use strict';

  /**
   * @typedef {{sideways: boolean, lift: (one: HTMLElement) => void, move: (one: HTMLElement, x: number, y: number) => void,
   *   drop: (one: HTMLElement, kept: boolean) => void}} Held what to do while something is held; x and y on the screen
   */

  const LEAST = 5; // px: less is a tap
  const EDGE = 84, STEP = 10; // px from an edge at which the page begins to scroll, and how far with each picture

  /** The handle; the keyboard and a screen reader have buttons. */
  function handle() {
    return /** @type {any} */ (globalThis).graderParts.drawn('<i class="drag-handle" aria-hidden="true"><svg viewBox="0 0 24 24"><path d="M5 8h14M5 12h14M5 16h14"/></svg></i>');
  }

  /**
   * Lets what stands in a holder be dragged.
   * @param {HTMLElement} holder
   * @param {string} what a selector
   * @param {Held} held
   */
  function draggable(holder, what, held) {
    holder.addEventListener('pointerdown', (event) => {
      const target = /** @type {Element} */ (event.target), one = /** @type {HTMLElement | null} */ (target.closest(what));
      if (!one || event.button || !event.isPrimary || target.closest('button')) return;
      if (event.pointerType !== 'mouse' && !target.closest('.drag-handle')) return;
      hold(one, event, held);
    });
  }

  /** @param {HTMLElement} one @param {PointerEvent} begun @param {Held} held */
  function hold(one, begun, held) {
    const { left, top } = one.getBoundingClientRect();
    const grip = { x: begun.clientX - left, y: begun.clientY - top };
    const ends = new AbortController();
    let { clientX: x, clientY: y } = begun, lifted = false, frame = 0;

    function follow() {
      held.move(one, x, y); // the others may have made room: where it would lie now is asked anew
      one.style.translate = '';
      const lies = one.getBoundingClientRect();
      const left = held.sideways ? Math.max(0, Math.min(x - grip.x, document.documentElement.clientWidth - lies.width)) : lies.left;
      one.style.translate = `${left - lies.left}px ${y - grip.y - lies.top}px`;
    }

    function scroll() {
      const by = y < EDGE ? -STEP : y > innerHeight - EDGE ? STEP : 0;
      if (by) {
        scrollBy({ top: by, behavior: 'instant' });
        follow();
      }
      frame = requestAnimationFrame(scroll);
    }

    /** @param {boolean} kept */
    function end(kept) {
      if (ends.signal.aborted) return;
      ends.abort();
      cancelAnimationFrame(frame);
      one.style.translate = '';
      delete one.dataset.held;
      if (lifted) held.drop(one, kept);
    }

    const { signal } = ends;
    one.setPointerCapture(begun.pointerId);
    one.addEventListener('pointermove', (event) => {
      [x, y] = [event.clientX, event.clientY];
      if (!lifted && Math.hypot(x - begun.clientX, y - begun.clientY) < LEAST) return;
      if (!lifted) {
        lifted = true;
        one.dataset.held = '';
        held.lift(one);
        scroll();
      }
      follow();
    }, { signal });
    one.addEventListener('pointerup', () => end(true), { signal });
    one.addEventListener('pointercancel', () => end(false), { signal });
    one.addEventListener('lostpointercapture', () => end(false), { signal });
    document.addEventListener('keydown', (event) => {
      if (event.key !== 'Escape') return;
      event.stopPropagation();
      end(false);
    }, { signal, capture: true });
  }

  /** @type {any} */ (globalThis).graderDrag = { draggable, handle };
})();
