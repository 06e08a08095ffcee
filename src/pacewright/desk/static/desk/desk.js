// What every page shares: keys by hand (a page over http has no randomUUID), and rows that an earlier
// page could not send: they wait in this browser and are sent from whichever page opens next.
"use strict";
const desk = {
  PREFIX: "desk:",
  DEAD_MS: 6000,
  key(letter) {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return letter + Array.from(bytes, (one) => one.toString(16).padStart(2, "0")).join("");
  },
  pass() {
    const field = document.querySelector("input[name=csrfmiddlewaretoken]");
    return field ? field.value : "";
  },
  async post(address, changes, goal, keepalive = false) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), 15000);
    try {
      return await fetch(address, {
        method: "POST",
        credentials: "same-origin",
        keepalive,
        headers: { "Content-Type": "application/json", "X-CSRFToken": desk.pass() },
        body: JSON.stringify({ changes, goal }),
        signal: stop.signal,
      });
    } finally {
      clearTimeout(timer);
    }
  },
  load(name) {
    try {
      return JSON.parse(localStorage.getItem(name));
    } catch {
      return null;
    }
  },
  // Queues of pages that beat no more; each holds the address it goes to.
  orphans() {
    const found = [];
    for (let at = 0; at < localStorage.length; at += 1) {
      const name = localStorage.key(at);
      if (!name.startsWith(desk.PREFIX)) continue;
      const kept = desk.load(name);
      if (!kept || !Array.isArray(kept.queue)) continue;
      if (Date.now() - kept.alive > desk.DEAD_MS) found.push([name, kept]);
    }
    return found;
  },
  async sendOrphans() {
    let sent = 0;
    if (!desk.pass()) return sent;
    for (const [name, kept] of desk.orphans()) {
      if (kept.queue.length) {
        const answer = await desk.post(kept.address, kept.queue, null).catch(() => null);
        if (!answer || !answer.ok) continue;
        sent += kept.queue.length;
      }
      localStorage.removeItem(name);
    }
    return sent;
  },
};
document.addEventListener("htmx:responseError", (event) => {
  const trouble = document.getElementById("trouble");
  if (!trouble) return;
  trouble.textContent = "The desk did not answer as it should (" + event.detail.xhr.status + "). Load the page again.";
  trouble.hidden = false;
});
if (!document.getElementById("page")) {
  desk.sendOrphans();
  setTimeout(desk.sendOrphans, desk.DEAD_MS + 500);
}
