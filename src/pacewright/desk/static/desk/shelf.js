// What this browser keeps by itself: at once for every page of it, and at once on its disk. The browser's plain
// storage is there at once but is written to the disk seconds later; a browser that is killed meanwhile forgets
// it. So all of it lies in its database too, and what is newer there comes back when a page opens.
"use strict";
const shelf = (() => {
  const PATIENCE_MS = 2000, SEE_MS = 500, MOST_SEEN = 60;
  const waiting = new Map(); // name: text, or null where it goes
  let isWriting = false, seeing = 0;

  const opened = new Promise((done) => {
    try {
      const asked = indexedDB.open("desk", 1);
      asked.onupgradeneeded = () => { for (const name of ["kept", "seen"]) asked.result.createObjectStore(name); };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = asked.onblocked = () => done(null);
    } catch {
      done(null);
    }
    setTimeout(() => done(null), PATIENCE_MS);
  });
  // Gives what the last request of a transaction found, once all of it is on the disk; null where it failed.
  function within(base, store, mode, ask) {
    return new Promise((done) => {
      try {
        const step = base.transaction(store, mode, { durability: "strict" });
        const asked = ask(step.objectStore(store));
        step.oncomplete = () => done(asked ? asked.result : null);
        step.onerror = step.onabort = () => done(null);
      } catch {
        done(null);
      }
    });
  }
  async function write() {
    const base = await opened;
    if (isWriting || !base) return;
    isWriting = true;
    while (waiting.size) {
      const now = [...waiting];
      waiting.clear();
      await within(base, "kept", "readwrite", (store) => {
        for (const [name, text] of now) text === null ? store.delete(name) : store.put(text, name);
      });
    }
    isWriting = false;
  }
  async function boundSeen() {
    const base = await opened;
    const many = base ? await within(base, "seen", "readonly", (store) => store.count()) : 0;
    if (many > MOST_SEEN) await within(base, "seen", "readwrite", (store) => store.clear());
  }
  const stamp = (text) => { try { return JSON.parse(text).at || 0; } catch { return 0; } };
  async function restore() {
    const base = await opened;
    if (!base) return;
    const names = await within(base, "kept", "readonly", (store) => store.getAllKeys());
    const texts = await within(base, "kept", "readonly", (store) => store.getAll());
    if (!names || !texts || names.length !== texts.length) return;
    names.forEach((name, at) => {
      const here = localStorage.getItem(name);
      if (here === null || stamp(here) < stamp(texts[at])) localStorage.setItem(name, texts[at]);
    });
  }
  return {
    // Settled once all that was kept is there again.
    ready: restore().then(boundSeen).catch(() => {}),
    // Raises where the browser keeps nothing.
    put(name, kept) {
      const text = JSON.stringify({ ...kept, at: Date.now() });
      waiting.set(name, text);
      write();
      localStorage.setItem(name, text);
    },
    // A sign of life alone, which need not outlive the page.
    beat(name, kept) {
      localStorage.setItem(name, JSON.stringify({ ...kept, at: Date.now() }));
    },
    remove(name) {
      waiting.set(name, null);
      write();
      localStorage.removeItem(name);
    },
    load(name) {
      try {
        return JSON.parse(localStorage.getItem(name));
      } catch {
        return null;
      }
    },
    names: (prefix) => Array.from({ length: localStorage.length }, (_, at) => localStorage.key(at)).filter((one) => one.startsWith(prefix)),
    // How a page was told last: what it shows where the desk is down when it is loaded again.
    see(name, told) {
      clearTimeout(seeing);
      seeing = setTimeout(async () => {
        const base = await opened;
        if (base) await within(base, "seen", "readwrite", (store) => store.put(told, name));
      }, SEE_MS);
    },
    async seen(name) {
      const base = await opened;
      return base ? within(base, "seen", "readonly", (store) => store.get(name)) : null;
    },
    async forgetSeen() {
      const base = await opened;
      if (base) await within(base, "seen", "readwrite", (store) => store.clear());
    },
  };
})();
