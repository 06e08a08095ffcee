// The queue of a page: changes live in this browser until the desk has them, and are sent in their order.
"use strict";
// hooks: goal() gives what the answer is asked for; seen() what the page has of what the desk tells; told(told, batch) takes what the desk answers; say(words);
// state(words); changed() after every change of the queue; allKept() gives the words for a queue that is empty.
desk.makeQueue = (form, hooks) => {
  const log = form.dataset.log, address = desk.addressOf(log);
  const place = desk.PREFIX + log + ":" + desk.key("t");
  const PAUSE_MS = 350, BEAT_MS = 2000, LONGEST_WAIT_MS = 10000;
  const OPEN = isSecureContext ? "" : " Leave this page open: over the network it cannot be loaded again before the desk is back.";
  let list = [], timer = 0, wait = 0, unanswered = 0, isSending = false, sent = 0, isUnreached = false;

  // A page that is loaded anew in the same place takes over at once what the one before it left.
  let earlier = null;
  try {
    earlier = sessionStorage.getItem("desk-page:" + log);
    sessionStorage.setItem("desk-page:" + log, place);
  } catch { /* Then it waits until that page is known to be gone. */ }

  function keep(write = shelf.put) {
    try {
      if (list.length) write(place, { queue: list });
      else shelf.remove(place);
    } catch {
      hooks.say("This browser cannot keep what you type (its storage is full or closed). Wait for \"Saved\" before you leave.");
    }
    hooks.changed();
  }
  function add(change, isSame, pause = PAUSE_MS) {
    const key = desk.key("k");
    // What is changed again before it was ever sent goes once, at its old place in the order and under a new
    // key: a key never changes its content, and what was on its way once may have arrived.
    const from = list.findLastIndex((one) => one.isTried) + 1;
    // Nothing overtakes another change of the same row.
    const last = list.findLastIndex((one, k) => k >= from && touches(one, change));
    const at = last >= 0 && isSame(list[last]) ? last : -1;
    if (at < 0) list.push({ ...change, key });
    else list[at] = { ...joined(list[at], change), key };
    keep();
    hooks.state("Saving…");
    plan(pause);
  }
  const touches = (one, other) => (one.kind === "heading" ? other.kind === "heading" : ids(one).some((id) => ids(other).includes(id)));
  function joined(old, change) {
    if (change.kind === "heading") return { ...change, was: old.was };
    if (change.kind !== "put") return change;
    const was = Object.fromEntries(Object.entries(change.was).filter(([name]) => !old.only.includes(name)));
    return { ...change, after: old.after, only: [...new Set([...old.only, ...change.only])], was: { ...was, ...old.was }, known: { ...old.known, ...change.known } };
  }
  function plan(pause) {
    clearTimeout(timer);
    timer = setTimeout(send, pause);
  }
  async function send() {
    if (isSending) return;
    clearTimeout(timer);
    const batch = desk.batch(list);
    batch.forEach((one) => { one.isTried = true; });
    isSending = true;
    const { status, told } = await desk.post(address, batch.map(desk.bare), hooks.goal(), hooks.seen());
    isSending = false;
    sent += 1;
    if (told) take(told, batch);
    else refuse(status);
  }
  function take(told, batch) {
    const keys = new Set(batch.map((one) => one.key));
    list = list.filter((one) => !keys.has(one.key));
    wait = 0;
    isUnreached = false;
    if (told.answer !== null) unanswered = 0;
    hooks.say(told.refused.map((one) => one.complaint).join(" "));
    hooks.told(told, batch);
    keep();
    if (list.length) return plan(0);
    settled(told);
  }
  // All is at the desk; where the answer is not there yet, it is asked for again.
  function settled(told) {
    if (told.answer === null) {
      // Many type at once: whoever waits longest asks least, and not all at the same moment.
      unanswered += 1;
      plan(Math.min(LONGEST_WAIT_MS, PAUSE_MS * 2 ** unanswered) * (0.5 + Math.random()));
    }
    hooks.state(told.answer === null ? "Saved; the answer follows." : hooks.allKept());
  }
  function refuse(status) {
    keep();
    trouble(status);
    if (!list.length) return unreached();
    hooks.state("Not saved yet: kept in this browser, trying again." + OPEN);
    wait = Math.min(LONGEST_WAIT_MS, wait ? wait * 2 : 1000);
    plan(wait);
  }
  function unreached() {
    isUnreached = true;
    hooks.state("The desk does not answer. What is typed is kept in this browser; what others change is not seen." + OPEN);
  }
  function trouble(status) {
    if (status === 403) {
      hooks.say("The desk does not know this browser any more. What you typed is kept here: open the desk by its link, and it is sent.");
    } else if (status === 404) {
      hooks.say("This log is no longer on the desk: it was deleted for good. What you typed since is kept in this browser only; load this page again to make a new log of it.");
    } else if (status === 423) {
      hooks.say("This log lies in the bin, and nothing is written on it. Take it back, and what you typed here is sent.");
    } else if (status >= 400 && status < 500) {
      hooks.say("The desk did not take this (" + status + "). What you typed is kept in this browser.");
    } else if (status === 507) {
      hooks.say("The disk of the desk's machine is full: nothing can be saved until there is room. What you typed is kept in this browser.");
    }
  }
  // What others changed: asked for while nothing of this page is on its way. Gives the page, or nothing.
  async function look(revision, thrown) {
    if (document.hidden || list.length || isSending) return null;
    const before = sent, to = hooks.goal();
    const { status, told } = await desk.look(form.dataset.since + "?" + new URLSearchParams({ revision, thrown, ...hooks.seen(), ...(to === null ? {} : { to }) }));
    if (before !== sent || isSending || list.length) return null;
    if (status !== 200 && status !== 204) {
      trouble(status);
      unreached();
      return null;
    }
    document.getElementById("kept-page")?.remove();
    if (isUnreached) {
      isUnreached = false;
      hooks.say("");
      hooks.state(hooks.allKept());
    }
    return told;
  }
  // Takes over what earlier pages of this log could not send; gives those changes, to be shown.
  function adopt() {
    const found = desk.orphans(log).filter(([name]) => name !== place);
    const left = earlier && shelf.load(earlier);
    if (left && Array.isArray(left.queue) && !found.some(([name]) => name === earlier)) found.push([earlier, left]);
    earlier = null;
    const known = new Set(list.map((one) => one.key));
    const taken = found.flatMap(([, kept]) => kept.queue).filter((one) => !known.has(one.key)).map((one) => ({ ...one, isTried: true }));
    list = [...taken, ...list];
    if (taken.length) keep();
    for (const [name] of found) shelf.remove(name);
    if (!taken.length) return taken;
    hooks.state("Saving…");
    plan(0);
    return taken;
  }
  const ids = (one) => (one.rows ? one.rows.map((row) => row.id) : one.ids || (one.id ? [one.id] : []));

  setInterval(() => { if (list.length) keep(shelf.beat); }, BEAT_MS);
  window.addEventListener("pagehide", () => {
    if (list.length) desk.hand(address, desk.batch(list).map(desk.bare), true);
  });
  window.addEventListener("online", () => plan(0));
  return {
    add, adopt, plan, send, look, settled, ids,
    all: () => list,
    has: (id) => list.some((one) => ids(one).includes(id)),
    // Whether a cell's own text is on its way.
    holds: (id, name) => list.some((one) => ids(one).includes(id) && (one.kind === "paste" || (one.kind === "put" && one.only.includes(name)))),
    flush: () => { if (list.length) plan(0); },
  };
};
