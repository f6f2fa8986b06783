/**
 * The files attached to a PDF: the page of a certificate carries the signed file so. No reader of PDF: it looks for what is marked as an
 * attached file, which always is a stream of its own, and unpacks it. What cannot be unpacked is left out.
 */
(function () {
  'use strict';

  const MOST = 1024 * 1024 + 1; // bytes of one attached file: one more than is judged
  const FILES = 8; // a certificate has one
  const TRIED = 64, AROUND = 500; // marks looked at, and letters on either side of one
  const MARK = '/EmbeddedFile';

  /** @param {Uint8Array} data */
  const isPdf = (data) => String.fromCharCode(...data.subarray(0, 4)) === '%PDF';

  /** @param {Uint8Array} data @returns {Promise<Uint8Array[]>} */
  async function attached(data) {
    const text = new TextDecoder('latin1').decode(data); // a letter a byte: places in the text are places in the data
    /** @type {Uint8Array[]} */
    const found = [];
    let place = text.indexOf(MARK);
    for (let tried = 0; place >= 0 && tried < TRIED && found.length < FILES; tried += 1, place = text.indexOf(MARK, place + 1)) {
      const before = text.slice(Math.max(0, place - AROUND), place), after = /^[^]*?>>\s*stream\r?\n/.exec(text.slice(place, place + AROUND));
      if (!after) continue;
      const said = before.slice(before.lastIndexOf(' obj') + 4) + after[0], start = place + after[0].length;
      const length = Number(/\/Length (\d+)/.exec(said)?.[1] || 0);
      if (!length || start + length > data.length) continue;
      const bytes = data.subarray(start, start + length);
      try {
        if (said.includes('/FlateDecode')) found.push(await /** @type {any} */ (globalThis).graderVerify.unpacked(bytes, 'deflate', MOST));
        else if (!said.includes('/Filter')) found.push(bytes);
      } catch { /* cut off, or packed in another way */ }
    }
    return found;
  }

  /** @type {any} */ (globalThis).graderAttached = { isPdf, attached };
})();
