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
  post(address, changes, goal, has) {
    return desk.ask(address, { changes, goal, ...has });
  },
  // Sent with nobody there to be told what came of it, but for what was refused.
  hand(address, changes, keepalive = false) {
    return desk.ask(address, { changes, quiet: true }, keepalive);
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
  // What a field held when the page came, as the field itself writes it: somebody may have typed before the
  // scripts were there.
  asCame(field) {
    if (field.matches("select")) return ([...field.options].find((one) => one.defaultSelected) || field.options[0])?.value ?? "";
    if (["checkbox", "radio"].includes(field.type)) return String(field.defaultChecked);
    const other = document.createElement(field.tagName);
    if (field.matches("input")) other.type = field.type;
    other.value = field.defaultValue;
    return other.value;
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
  // Where the changes of a log go; what waits is found by the log's own identity.
  addressOf: (log) => "/logs/" + log + "/changes",
  logOf: (name) => name.slice(desk.PREFIX.length).split(":")[0],
  // Queues of pages that beat no more, of one log or of all.
  orphans(log = "") {
    const found = [];
    for (const name of shelf.names(desk.PREFIX + log)) {
      const kept = shelf.load(name);
      if (kept && Array.isArray(kept.queue) && Date.now() - kept.at > desk.DEAD_MS) found.push([name, kept]);
    }
    return found;
  },
  // Logs that take nothing: in the bin, or deleted for good. Not asked again before another page opens.
  closed: new Set(),
  // Sends what earlier pages could not, but for the log whose page stands here: it takes that over itself.
  async sendOrphans(own = "") {
    if (!desk.pass()) return;
    for (const [name, kept] of desk.orphans()) {
      const log = desk.logOf(name);
      if (log === own || desk.closed.has(log)) continue;
      while (kept.queue.length) {
        const batch = desk.batch(kept.queue);
        const { status, told } = await desk.hand(desk.addressOf(log), batch.map(desk.bare));
        if (status === 404 || status === 423) desk.closed.add(log);
        if (!told) break;
        kept.queue = kept.queue.slice(batch.length);
      }
      if (!kept.queue.length) shelf.remove(name);
    }
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
  shelf.ready.then(() => desk.sendOrphans());
  setInterval(() => desk.sendOrphans(), desk.DEAD_MS + 500);
}
