// Typing a log: cells, keys, and a queue of changes that lives in this browser until the desk has them.
// No arithmetic: what a row means and where it leads is said by the desk.
"use strict";
(() => {
  const form = document.getElementById("page");
  const rows = form.querySelector(".rows");
  const template = document.getElementById("row-template");
  const saved = document.getElementById("saved");
  const trouble = document.getElementById("trouble");
  const answer = document.getElementById("answer");
  const heading = document.getElementById("heading-text");
  const address = form.dataset.changes;
  const NAMES = ["azimuth", "count", "notes"];
  const PAUSE_MS = 350, BEAT_MS = 2000, LONGEST_WAIT_MS = 10000;

  // ---- the queue -------------------------------------------------------------------------------
  const shelf = desk.PREFIX + form.dataset.log + ":" + desk.key("t");
  let queue = [], timer = 0, wait = 0, unanswered = 0, isSending = false;
  // What the desk refused, by the row's identity: it stays in its cells until it is written anew.
  const unkept = new Map();

  function keep() {
    try {
      if (queue.length) localStorage.setItem(shelf, JSON.stringify({ alive: Date.now(), address, queue }));
      else localStorage.removeItem(shelf);
    } catch {
      say("This browser keeps nothing by itself (its storage is full or closed). Wait for \"Saved\" before you leave.");
    }
  }
  function enqueue(change, isSame, pause = PAUSE_MS) {
    const key = desk.key("k");
    // What is changed again before it was sent goes once, at its old place in the order and under a new key:
    // a key never changes its content. What an undo follows is what the undo takes back, and is left alone.
    const from = queue.findLastIndex((one) => one.isSent || one.kind === "undo") + 1;
    const at = queue.findLastIndex((one, k) => k >= from && isSame(one));
    if (at < 0) queue.push({ ...change, key });
    else queue[at] = { ...joined(queue[at], change), key };
    keep();
    saved.textContent = "Saving…";
    plan(pause);
  }
  function joined(old, change) {
    if (change.kind !== "put") return change;
    return { ...change, after: old.after, only: [...new Set([...old.only, ...change.only])] };
  }
  function plan(pause) {
    clearTimeout(timer);
    timer = setTimeout(send, pause);
  }
  async function send() {
    if (isSending) return;
    clearTimeout(timer);
    const batch = desk.batch(queue);
    batch.forEach((one) => { one.isSent = true; });
    isSending = true;
    const { status, told } = await desk.post(address, batch.map(({ isSent, ...change }) => change), goal());
    isSending = false;
    if (told) take(told, batch);
    else refuse(status, batch);
  }
  function take(told, batch) {
    const keys = new Set(batch.map((one) => one.key));
    queue = queue.filter((one) => !keys.has(one.key));
    keep();
    wait = 0;
    if (told.answer !== null) unanswered = 0;
    say(told.refused.map((one) => one.complaint).join(" "));
    for (const { key, complaint } of told.refused) {
      for (const name of writtenBy(batch.find((one) => one.key === key))) unkept.set(name, complaint);
    }
    show(told);
    if (queue.length) plan(0);
    else if (told.answer === null) {
      saved.textContent = "Saved; the answer follows.";
      // Many type at once: whoever waits longest asks least, and not all at the same moment.
      unanswered += 1;
      plan(Math.min(LONGEST_WAIT_MS, PAUSE_MS * 2 ** unanswered) * (0.5 + Math.random()));
    } else saved.textContent = unkept.size ? "Saved, but for what is marked." : "Saved.";
  }
  function writtenBy(change) {
    if (change.kind === "heading") return ["heading"];
    if (change.kind === "paste") return change.rows.map((row) => row.id);
    return change.kind === "put" ? [change.id] : [];
  }
  function refuse(status, batch) {
    batch.forEach((one) => { delete one.isSent; });
    keep();
    if (!queue.length) return;
    if (status === 403 || status === 404) {
      say("The desk does not know this browser any more. What you typed is kept here: open the desk by its link, and it is sent.");
    } else if (status >= 400 && status < 500) {
      say("The desk did not take this (" + status + "). What you typed is kept in this browser.");
    } else if (status === 507) {
      say("The disk of the desk's machine is full: nothing can be saved until there is room. What you typed is kept in this browser.");
    }
    saved.textContent = "Not saved yet: kept in this browser, trying again.";
    wait = Math.min(LONGEST_WAIT_MS, wait ? wait * 2 : 1000);
    plan(wait);
  }
  function say(words) {
    trouble.textContent = words;
    trouble.hidden = !words;
  }
  function goal() {
    const select = document.getElementById("goal");
    return select ? Number(select.value) : null;
  }

  // ---- rows ------------------------------------------------------------------------------------
  const rowOf = (element) => element.closest(".row");
  const all = () => [...rows.querySelectorAll(".row")];
  const cell = (row, name) => row.querySelector("." + name);
  const isEmpty = (row) => NAMES.every((name) => cell(row, name).value === "");
  const isLocal = (row) => row.dataset.local === "1";
  const isWaiting = (id) => queue.some((one) => one.id === id || (one.rows || []).some((row) => row.id === id));

  function makeRow(id) {
    const row = template.content.firstElementChild.cloneNode(true);
    row.dataset.id = id;
    const says = row.querySelector(".says");
    says.id = "says-" + id;
    for (const name of NAMES) cell(row, name).setAttribute("aria-describedby", says.id);
    return row;
  }
  function newRow(after) {
    const row = makeRow(desk.key("r"));
    row.dataset.local = "1";
    if (after) after.after(row);
    else rows.append(row);
    return row;
  }
  function number() {
    all().forEach((row, at) => {
      row.querySelector(".number").textContent = at + 1;
      for (const name of NAMES) {
        cell(row, name).setAttribute("aria-label", name[0].toUpperCase() + name.slice(1) + " of row " + (at + 1));
      }
      const [insert, strike] = row.querySelectorAll(".tools button");
      if (!insert) return;
      insert.setAttribute("aria-label", "Insert a row below row " + (at + 1));
      strike.setAttribute("aria-label", (isStruck(row) ? "Take the stroke off row " : "Strike out row ") + (at + 1));
    });
  }
  const isStruck = (row) => row.classList.contains("struck");
  function lastBlank() {
    const last = all().at(-1);
    if (last && isLocal(last) && isEmpty(last)) return last;
    return freshBelow(last);
  }
  // A row to write on in. While it is written for the first time, the next one comes below it, whatever
  // another tab has put there in the meantime: no one types over what another wrote.
  function freshBelow(row) {
    const next = row && row.nextElementSibling;
    if (next && isLocal(next) && isEmpty(next)) return next;
    const made = newRow(row);
    made.dataset.fresh = "1";
    number();
    return made;
  }
  function before(row) {
    let one = row.previousElementSibling;
    while (one && (!one.dataset.id || isLocal(one))) one = one.previousElementSibling;
    return one ? one.dataset.id : "";
  }
  // The cells named were written; the others go along, should the row have been taken away elsewhere.
  function put(row, names, pause) {
    const change = { kind: "put", id: row.dataset.id, after: before(row), ...cellsOf(row), only: names };
    if (unkept.delete(change.id)) change.only = NAMES;
    touch(row);
    enqueue(change, (one) => one.kind === "put" && one.id === change.id, pause);
  }
  const cellsOf = (row) => Object.fromEntries(NAMES.map((name) => [name, cell(row, name).value]));
  function touch(row) {
    delete row.dataset.local;
    row.classList.add("unsent");
  }

  // ---- what the desk says ----------------------------------------------------------------------
  function show(told) {
    const active = document.activeElement, at = all().findIndex((row) => row.contains(active));
    const known = new Map(all().map((row) => [row.dataset.id, row]));
    let last = rows.querySelector(".row-head");
    for (const one of told.rows) {
      const row = known.get(one.id) || makeRow(one.id);
      known.delete(one.id);
      if (last.nextElementSibling !== row) {
        // Local rows that stand in between stay where they are.
        let next = last.nextElementSibling;
        while (next && next !== row && isLocal(next)) next = next.nextElementSibling;
        if (next !== row) last.after(row);
      }
      fill(row, one);
      last = row;
    }
    for (const row of known.values()) {
      const id = row.dataset.id;
      if (unkept.has(id)) fill(row, { id, says: "", wrong: "", struck: false });
      else if (!isLocal(row) && !isWaiting(id)) row.remove();
    }
    lastBlank();
    number();
    if (active && active !== document.activeElement && at >= 0) goOn(active, at);
    document.getElementById("undo").disabled = !told.can_undo;
    document.getElementById("page-title").textContent = told.title || "A log without a title";
    document.getElementById("heading-says").textContent = told.heading_says;
    const isHeadingMine = unkept.has("heading") || queue.some((one) => one.kind === "heading");
    if (heading !== document.activeElement && !isHeadingMine) heading.value = told.heading;
    if (told.answer !== null && told.answer !== lastAnswer) showAnswer(told.answer);
  }
  let lastAnswer = "";
  function showAnswer(text) {
    const inside = () => [...answer.querySelectorAll("a, button, select, input, summary, [tabindex]")];
    const at = inside().indexOf(document.activeElement);
    lastAnswer = text;
    answer.innerHTML = text;
    if (window.htmx) htmx.process(answer);
    document.dispatchEvent(new Event("desk:answer"));
    // Whoever stood in the answer with the keyboard stands there still.
    if (at >= 0) (inside()[at] || answer.querySelector("[tabindex]") || heading).focus();
  }
  // Where a row was moved or taken away under the cursor, the cursor goes on in it, or in the one at its place.
  function goOn(active, at) {
    if (document.contains(active)) active.focus();
    else goTo(all()[Math.min(at, all().length - 1)], NAMES.find((name) => active.classList.contains(name)) || "azimuth");
  }
  function fill(row, one) {
    const refused = unkept.get(one.id);
    const waits = Boolean(refused) || isWaiting(one.id);
    row.classList.toggle("struck", one.struck);
    row.classList.toggle("wrong", Boolean(refused || one.wrong));
    row.classList.toggle("unsent", waits);
    row.querySelector(".says").textContent = refused ? "Not saved: " + refused : one.wrong || one.says;
    for (const name of NAMES) {
      const input = cell(row, name);
      if (!waits && input.value !== one[name]) input.value = one[name];
      input.readOnly = one.struck;
      if (one.column === name) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
  }

  // ---- keys and buttons ------------------------------------------------------------------------
  function goTo(row, name) {
    const input = cell(row, name);
    input.focus();
    input.select();
  }
  function insertBelow(row) {
    const next = newRow(row);
    number();
    goTo(next, "azimuth");
  }
  function strike(row) {
    if (isLocal(row)) { if (all().length > 1) row.remove(); number(); return; }
    enqueue({ kind: "strike", id: row.dataset.id, struck: !isStruck(row) },
      (one) => one.kind === "strike" && one.id === row.dataset.id, 0);
  }
  function undo() {
    enqueue({ kind: "undo" }, () => false, 0);
  }
  function step(row, name, by) {
    const list = all(), next = list[list.indexOf(row) + by];
    if (next) goTo(next, name);
  }
  const nameOf = (input) => NAMES.find((one) => input.classList.contains(one));
  rows.addEventListener("input", (event) => put(rowOf(event.target), [nameOf(event.target)]));
  rows.addEventListener("change", (event) => { if (isWaiting(rowOf(event.target).dataset.id)) plan(0); });
  heading.addEventListener("input", () => {
    unkept.delete("heading");
    enqueue({ kind: "heading", heading: heading.value }, (one) => one.kind === "heading");
  });
  rows.addEventListener("focusin", (event) => {
    const row = rowOf(event.target);
    for (const other of rows.querySelectorAll(".here")) {
      if (other === row) continue;
      other.classList.remove("here");
      if (!isEmpty(other)) delete other.dataset.fresh;
    }
    row.classList.add("here");
  });
  rows.addEventListener("keydown", (event) => {
    const name = nameOf(event.target);
    if (!name || event.isComposing) return;
    const row = rowOf(event.target);
    if (event.key === "Enter") {
      event.preventDefault();
      if (event.ctrlKey || event.metaKey) insertBelow(row);
      else if (row === all().at(-1)) { if (!isEmpty(row)) goTo(lastBlank(), "azimuth"); }
      else if (row.dataset.fresh && !isEmpty(row)) goTo(freshBelow(row), "azimuth");
      else step(row, "azimuth", 1);
      if (queue.length) plan(0);
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      step(row, name, event.key === "ArrowDown" ? 1 : -1);
    } else if (event.key === "Delete" && event.ctrlKey) {
      event.preventDefault();
      strike(row);
    }
  });
  form.addEventListener("keydown", (event) => {
    if (event.key === "Backspace" && event.altKey) { event.preventDefault(); undo(); }
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.id === "undo") { event.preventDefault(); undo(); }
    if (button.id === "add-row") goTo(lastBlank(), "azimuth");
    if (button.dataset.do === "insert") { event.preventDefault(); insertBelow(rowOf(button)); }
    if (button.dataset.do === "strike") { event.preventDefault(); strike(rowOf(button)); }
  });

  // ---- pasting ---------------------------------------------------------------------------------
  rows.addEventListener("paste", (event) => {
    const text = event.clipboardData.getData("text/plain");
    const name = nameOf(event.target);
    if (!name || !paste.isTable(text)) return;
    event.preventDefault();
    const found = paste.rows(text);
    if (found.heading.length) takeHeading(found.heading);
    const isColumn = found.rows.every((one) => one[1] === "" && one[2] === "");
    if (isColumn) pasteColumn(rowOf(event.target), name, found.rows.map((one) => one[0]));
    else pasteRows(rowOf(event.target), found.rows);
  });
  // All that was pasted is one change, so that one undo takes it back; only what is very long goes in parts.
  function pasteRows(row, lines) {
    let at = isLocal(row) && isEmpty(row) ? row : newRow(row);
    let after = before(at);
    let fresh = lines.map((line, k) => {
      if (k) at = newRow(at);
      NAMES.forEach((name, i) => { cell(at, name).value = line[i]; });
      touch(at);
      return { id: at.dataset.id, ...cellsOf(at) };
    });
    number();
    while (fresh.length) {
      const part = desk.batch(fresh, fresh.length);
      enqueue({ kind: "paste", after, rows: part }, () => false, 0);
      after = part.at(-1).id;
      fresh = fresh.slice(part.length);
    }
    goTo(lastBlank(), "azimuth");
  }
  function pasteColumn(row, name, values) {
    let at = row;
    values.forEach((value, k) => {
      if (k) at = at.nextElementSibling || newRow(at);
      cell(at, name).value = value;
      put(at, [name], 0);
    });
    number();
  }
  function takeHeading(lines) {
    const added = lines.filter((line) => !heading.value.split("\n").includes(line));
    if (!added.length) return;
    const keyed = new Set(added.filter((line) => /^\w+\s*:/.test(line) && !/^known\s*:/i.test(line))
      .map((line) => line.split(":")[0].trim().toLowerCase()));
    const kept = heading.value.split("\n").filter((line) => !keyed.has(line.split(":")[0].trim().toLowerCase()));
    heading.value = [...kept.filter((line) => line.trim()), ...added].join("\n");
    enqueue({ kind: "heading", heading: heading.value }, (one) => one.kind === "heading", 0);
  }

  // Tells when every row is at the desk: what is handed in is the page as it stands there.
  desk.rowsKept = (most_ms) => new Promise((done) => {
    const until = Date.now() + most_ms;
    if (queue.length) plan(0);
    const look = () => {
      if (!queue.length || Date.now() > until) done(!queue.length);
      else setTimeout(look, 50);
    };
    // Never at once: a form that is just being sent cannot be sent again.
    setTimeout(look);
  });

  // ---- coming and going ------------------------------------------------------------------------
  setInterval(() => { if (queue.length) keep(); }, BEAT_MS);
  window.addEventListener("pagehide", () => {
    if (queue.length) desk.post(address, desk.batch(queue).map(({ isSent, ...change }) => change), null, true);
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !queue.length) send(); });
  window.addEventListener("online", () => plan(0));
  let isAdopting = false, isOwed = false;
  async function adopt() {
    if (isAdopting) return;
    isAdopting = true;
    const { sent, left, refused } = await desk.sendOrphans();
    isAdopting = false;
    if (refused.length) say(refused.join(" "));
    if (sent) send();
    const isLeft = left.includes(address);
    if (isLeft && !queue.length) saved.textContent = "Rows of an earlier page are not saved yet: kept in this browser, trying again.";
    else if (isOwed && !isLeft && !queue.length) saved.textContent = "Saved.";
    isOwed = isLeft;
  }
  rows.querySelectorAll("noscript").forEach((one) => one.remove());
  rows.classList.add("scripted");
  document.getElementById("add-row").hidden = false;
  number();
  const blank = lastBlank();
  // A card stands above a learner's page and is read first; the instructor comes to type from paper.
  const typing = form.dataset.typing || (all().length === 1 ? "yes" : "no");
  if (typing === "yes") goTo(blank, "azimuth");
  adopt();
  setInterval(adopt, desk.DEAD_MS + 500);
})();
