// What every page shares: keys by hand (a page over http has no randomUUID), and rows that an earlier
// page could not send: they wait in this browser and are sent from whichever page opens next.
"use strict";
const desk = {
  PREFIX: "desk:",
  DEAD_MS: 6000,
  MOST_AT_ONCE: 100,
  MOST_LETTERS: 200000,
  key(letter) {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return letter + Array.from(bytes, (one) => one.toString(16).padStart(2, "0")).join("");
  },
  pass() {
    const field = document.querySelector("input[name=csrfmiddlewaretoken]");
    return field ? field.value : "";
  },
  // Gives the status, and what the desk told where it took the changes. The limit holds until all was heard.
  post(address, changes, goal, keepalive = false) {
    return desk.ask(address, { changes, goal }, keepalive);
  },
  async ask(address, sent, keepalive = false) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), 15000);
    try {
      const answer = await fetch(address, {
        method: "POST",
        credentials: "same-origin",
        keepalive,
        headers: { "Content-Type": "application/json", "X-CSRFToken": desk.pass() },
        body: JSON.stringify(sent),
        signal: stop.signal,
      });
      return { status: answer.status, told: answer.ok ? await answer.json() : null };
    } catch {
      return { status: 0, told: null };
    } finally {
      clearTimeout(timer);
    }
  },
  async look(address) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), 8000);
    try {
      const answer = await fetch(address, { credentials: "same-origin", signal: stop.signal });
      return { status: answer.status, told: answer.status === 200 && answer.headers.get("Content-Type").includes("json") ? await answer.json() : null };
    } catch {
      return { status: 0, told: null };
    } finally {
      clearTimeout(timer);
    }
  },
  // A change as it travels.
  bare: ({ isSent, isTried, ...change }) => change,
  // As many from the front of a list as the desk takes at once.
  batch(list, most = desk.MOST_AT_ONCE) {
    let size = 0, many = 0;
    for (const one of list.slice(0, most)) {
      size += JSON.stringify(one).length;
      if (many && size > desk.MOST_LETTERS) break;
      many += 1;
    }
    return list.slice(0, many);
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
  // Sends them; gives how many changes went, and the addresses for which some still wait.
  async sendOrphans() {
    const done = { sent: 0, left: [], refused: [] };
    if (!desk.pass()) return done;
    for (const [name, kept] of desk.orphans()) {
      while (kept.queue.length) {
        const batch = desk.batch(kept.queue);
        const { told } = await desk.post(kept.address, batch.map(desk.bare), null);
        if (!told) break;
        done.sent += batch.length;
        done.refused.push(...told.refused.map((one) => one.complaint));
        kept.queue = kept.queue.slice(batch.length);
      }
      if (kept.queue.length) done.left.push(kept.address);
      else localStorage.removeItem(name);
    }
    return done;
  },
};
document.addEventListener("htmx:responseError", (event) => {
  const trouble = document.getElementById("trouble");
  // 503: come again in a moment. What asks every second does so by itself.
  if (!trouble || event.detail.xhr.status === 503) return;
  trouble.textContent = "The desk did not answer as it should (" + event.detail.xhr.status + "). Load the page again.";
  trouble.hidden = false;
});
// A table that is asked for again and again says so when the desk has gone silent.
for (const [what, isSilent] of [["htmx:sendError", true], ["htmx:timeout", true], ["htmx:afterOnLoad", false]]) {
  document.addEventListener(what, (event) => {
    const silent = document.getElementById(event.target.dataset ? event.target.dataset.silent || "" : "");
    if (silent) silent.hidden = !isSilent;
  });
}
if (!document.getElementById("page")) {
  desk.sendOrphans();
  setInterval(desk.sendOrphans, desk.DEAD_MS + 500);
}
