/**
 * A worker for pages opened from a folder, where browsers start none: the script runs in an empty frame of this page.
 * Only what the search needs: messages both ways, and importScripts. From a server nothing here runs.
 */
(function () {
  'use strict';
  if (location.protocol !== 'file:') return;

  /**
   * @param {Document} page
   * @param {string} address
   * @returns {Promise<void>}
   */
  function loadScript(page, address) {
    return new Promise((done, failed) => {
      const script = page.createElement('script');
      script.src = address;
      script.onload = () => done();
      script.onerror = () => failed(new Error(`${address} could not be loaded`));
      page.head.append(script);
    });
  }

  class FrameWorker extends EventTarget {
    /** @param {string | URL} address */
    constructor(address) {
      super();
      /** @type {((event: MessageEvent) => void) | null} */
      this.onmessage = null;
      const script = String(new URL(address, location.href));
      const frame = document.createElement('iframe');
      frame.hidden = true;
      frame.title = 'Search index';
      document.body.append(frame);
      this.frame = frame;
      const inside = /** @type {any} */ (frame.contentWindow);
      /** @param {unknown} data */
      inside.postMessage = (data) => this.deliver(data);
      /** @param {...string} addresses */
      inside.importScripts = async (...addresses) => {
        for (const one of addresses) await loadScript(inside.document, String(new URL(one, script)));
      };
      this.ready = loadScript(inside.document, script);
    }

    /** @param {unknown} data what the script answers */
    deliver(data) {
      const event = new MessageEvent('message', { data });
      this.dispatchEvent(event);
      if (this.onmessage) this.onmessage(event);
    }

    /** @param {unknown} data what the page asks */
    postMessage(data) {
      this.ready.then(() => {
        const inside = /** @type {any} */ (this.frame.contentWindow);
        inside.dispatchEvent(new inside.MessageEvent('message', { data }));
      }).catch((error) => this.dispatchEvent(new ErrorEvent('error', { error, message: error.message })));
    }

    terminate() {
      this.frame.remove();
    }
  }

  window.Worker = /** @type {any} */ (FrameWorker);
})();
