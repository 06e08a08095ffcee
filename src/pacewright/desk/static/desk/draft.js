// How a walk ended, and the pace count: what is typed stays in this browser until the desk has it, and is sent
// as it changes. Only the buttons hand in or show counts.
"use strict";
(() => {
  const forms = [...document.querySelectorAll("form[data-entry]")];
  const finish = forms.find((form) => form.dataset.draft);
  if (!finish) return;
  const { draft: address, entry } = finish.dataset;
  const isInstructor = !!document.getElementById("next-learner");
  const told = document.getElementById("draft-told");
  const trouble = document.getElementById("draft-trouble");
  const PAUSE_MS = 500, LONGEST_WAIT_MS = 10000, SUBMIT_WAIT_MS = 3000, ROWS_WAIT_MS = 8000;
  let isHanded = finish.dataset.handed === "yes";
  let timer = 0, wait = 0, sending = null, isLeaving = false, areRowsKept = false;

  const fields = new Map(); // by name, of both forms
  for (const form of forms) {
    for (const field of form.querySelectorAll("input:not([type=hidden]), select")) fields.set(field.name, field);
  }
  const atDesk = new Map([...fields].map(([name, field]) => [name, desk.asCame(field)]));
  const typed = new Map(); // name: what was typed, and what the desk had then
  const refused = new Map();
  const place = (name) => "desk-draft:" + entry + ":" + name;
  const isSame = (one, other) => one.trim().replace(/\s+/g, " ") === other.trim().replace(/\s+/g, " ");
  const called = (name) => fields.get(name).labels[0].textContent;

  function keep(name) {
    try {
      if (typed.has(name)) shelf.put(place(name), typed.get(name));
      else shelf.remove(place(name));
    } catch {
      say("This browser cannot keep what you type (its storage is full or closed). Save before you leave.");
    }
  }
  function forget(name) {
    typed.delete(name);
    keep(name);
  }
  function say(words) {
    trouble.textContent = words;
    trouble.hidden = !words;
  }
  const isWaiting = () => [...typed.keys()].some((name) => !refused.has(name));

  // ---- what an earlier page could not send --------------------------------------------------------
  function takeBack() {
    const lost = [];
    for (const [name, field] of fields) {
      const left = shelf.load(place(name));
      if (!left || typeof left.value !== "string" || typed.has(name)) continue;
      const here = atDesk.get(name);
      typed.set(name, left);
      const isOpen = !field.matches(":disabled");
      if (isSame(left.value, here) || (left.isPosted && left.was !== here)) forget(name);
      else if (left.was === here && isOpen) field.value = left.value;
      else {
        lost.push(called(name) + ": " + left.value);
        forget(name);
      }
    }
    if (lost.length) {
      say("Typed in this browser and not kept, for it was changed or handed in elsewhere meanwhile. " + lost.join("; "));
    }
    if (isWaiting()) plan(0);
  }

  // ---- sending --------------------------------------------------------------------------------------
  function plan(pause) {
    clearTimeout(timer);
    if (isHanded) told.textContent = isInstructor ? "Not saved yet." : "";
    else timer = setTimeout(send, pause);
  }
  function send() {
    clearTimeout(timer);
    if (sending || isLeaving || isHanded) return sending;
    const batch = [...typed].filter(([name]) => !refused.has(name)).map(([name, one]) => [name, one.value]);
    if (!batch.length) return null;
    sending = desk.ask(address, { cells: Object.fromEntries(batch) }).then((answer) => {
      sending = null;
      take(answer, batch);
    });
    return sending;
  }
  function take({ status, told: heard }, batch) {
    if (!heard) return stay(status);
    wait = 0;
    for (const [name, value] of batch) {
      const now = typed.get(name);
      if (heard.refused[name]) {
        if (now && now.value === value) refused.set(name, called(name) + ": " + heard.refused[name]);
        continue;
      }
      atDesk.set(name, value);
      if (!now) continue;
      if (now.value === value) forget(name);
      else {
        typed.set(name, { ...now, was: value });
        keep(name);
      }
    }
    say([...refused.values()].join(" "));
    told.textContent = isHanded ? "" : refused.size ? "Kept, but for what is told below." : "Kept; not handed in yet.";
    if (isWaiting()) plan(PAUSE_MS);
  }
  function stay(status) {
    if (status === 409) {
      isHanded = true;
      say("This card was handed in from another page. What you typed since is not a part of it. Load the page again.");
      return;
    }
    if (status === 403 || status === 404) {
      say("The desk does not know this browser any more. What you typed is kept here: open the desk by its link, and it is sent.");
    } else if (status >= 400 && status < 500) {
      say("The desk did not take this (" + status + "). What you typed is kept in this browser.");
    } else if (status === 507) {
      say("The disk of the desk's machine is full: nothing can be saved until there is room. What you typed is kept in this browser.");
    }
    told.textContent = "Not sent yet: kept in this browser, trying again.";
    wait = Math.min(LONGEST_WAIT_MS, wait ? wait * 2 : 1000);
    plan(wait);
  }

  // ---- typing, going, coming back -----------------------------------------------------------------
  function note(event) {
    const field = event.target, name = field.name;
    if (fields.get(name) !== field) return;
    const was = typed.has(name) ? typed.get(name).was : atDesk.get(name);
    typed.set(name, { value: field.value, was });
    refused.delete(name);
    keep(name);
    told.textContent = "Keeping…";
    plan(PAUSE_MS);
  }
  for (const form of forms) {
    form.addEventListener("input", note);
    form.addEventListener("submit", (event) => {
      // What is handed in is the page as the desk has it: rows on their way go first.
      const { submitter: pressed } = event;
      const isHanding = pressed && pressed.value.startsWith("hand") && desk.rowsKept && !areRowsKept;
      if (isHanding) {
        event.preventDefault();
        desk.rowsKept(ROWS_WAIT_MS).then((isKept) => {
          if (!isKept) return say("Some rows are not saved yet. Hand in once the page says Saved.");
          areRowsKept = true;
          form.requestSubmit(pressed);
          areRowsKept = false;
        });
        return;
      }
      // A draft on its way must not arrive after the form, with what was typed before.
      if (sending && !isLeaving) {
        event.preventDefault();
        const { submitter } = event;
        const pause = new Promise((done) => setTimeout(done, SUBMIT_WAIT_MS));
        Promise.race([sending, pause]).then(() => {
          sending = null;
          form.requestSubmit(submitter);
        });
        return;
      }
      isLeaving = true;
      clearTimeout(timer);
      for (const [name, one] of typed) {
        if (fields.get(name).form !== form) continue;
        typed.set(name, { ...one, isPosted: true });
        keep(name);
      }
    });
  }
  window.addEventListener("pagehide", () => {
    const left = [...typed].filter(([name]) => !refused.has(name)).map(([name, one]) => [name, one.value]);
    if (left.length && !isLeaving && !isHanded) desk.ask(address, { cells: Object.fromEntries(left) }, true);
  });
  window.addEventListener("pageshow", (event) => {
    isLeaving = false;
    if (event.persisted && isWaiting()) plan(0);
  });
  window.addEventListener("online", () => { if (isWaiting()) plan(0); });
  for (const [name, field] of fields) {
    if (field.value !== atDesk.get(name) && !field.matches(":disabled")) note({ target: field });
  }
  takeBack();
  shelf.ready.then(takeBack);
})();
