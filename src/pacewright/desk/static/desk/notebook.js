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
  const PAUSE_MS = 350, BEAT_MS = 2000, LONGEST_WAIT_MS = 10000, BATCH = 100;

  // ---- the queue -------------------------------------------------------------------------------
  const shelf = desk.PREFIX + form.dataset.log + ":" + desk.key("t");
  let queue = [], timer = 0, wait = 0, isSending = false;

  function keep() {
    try {
      if (queue.length) localStorage.setItem(shelf, JSON.stringify({ alive: Date.now(), address, queue }));
      else localStorage.removeItem(shelf);
    } catch {
      say("This browser keeps nothing by itself (its storage is full or closed). Wait for \"Saved\" before you leave.");
    }
  }
  function enqueue(change, isSame, pause = PAUSE_MS) {
    // What was changed again before it was sent goes once, under a new key: a key never changes its content.
    queue = queue.filter((one) => one.isSent || !isSame(one));
    queue.push({ key: desk.key("k"), ...change });
    keep();
    saved.textContent = "Saving…";
    plan(pause);
  }
  function plan(pause) {
    clearTimeout(timer);
    timer = setTimeout(send, pause);
  }
  async function send() {
    if (isSending) return;
    clearTimeout(timer);
    const batch = queue.slice(0, BATCH);
    batch.forEach((one) => { one.isSent = true; });
    isSending = true;
    let reply = null;
    try {
      reply = await desk.post(address, batch.map(({ isSent, ...change }) => change), goal());
    } catch { /* No way to the desk: told below, and tried again. */ }
    isSending = false;
    if (reply && reply.ok) await take(reply, batch);
    else refuse(reply, batch);
  }
  async function take(reply, batch) {
    const told = await reply.json();
    const keys = new Set(batch.map((one) => one.key));
    queue = queue.filter((one) => !keys.has(one.key));
    keep();
    wait = 0;
    say(told.refused.map((one) => one.complaint).join(" "));
    show(told);
    if (queue.length) plan(0);
    else saved.textContent = "Saved.";
  }
  function refuse(reply, batch) {
    batch.forEach((one) => { delete one.isSent; });
    keep();
    if (reply && (reply.status === 403 || reply.status === 404)) {
      say("The desk does not know this browser any more. What you typed is kept here: open the desk by its link, and it is sent.");
    } else if (reply && reply.status < 500) {
      say("The desk did not take this (" + reply.status + "). What you typed is kept in this browser.");
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
    number();
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
    return last && isLocal(last) && isEmpty(last) ? last : newRow(last);
  }
  function before(row) {
    let one = row.previousElementSibling;
    while (one && (!one.dataset.id || isLocal(one))) one = one.previousElementSibling;
    return one ? one.dataset.id : "";
  }
  function put(row, pause) {
    const change = { kind: "put", id: row.dataset.id, after: before(row) };
    for (const name of NAMES) change[name] = cell(row, name).value;
    delete row.dataset.local;
    row.classList.add("unsent");
    enqueue(change, (one) => one.kind === "put" && one.id === change.id, pause);
  }

  // ---- what the desk says ----------------------------------------------------------------------
  function show(told) {
    const active = document.activeElement;
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
      if (!isLocal(row) && !isWaiting(row.dataset.id)) row.remove();
    }
    if (active && active !== document.activeElement && document.contains(active)) active.focus();
    number();
    lastBlank();
    document.getElementById("undo").disabled = !told.can_undo;
    document.getElementById("page-title").textContent = told.title || "A log without a title";
    if (heading !== document.activeElement && !queue.some((one) => one.kind === "heading")) heading.value = told.heading;
    answer.innerHTML = told.answer;
    if (window.htmx) htmx.process(answer);
    document.dispatchEvent(new Event("desk:answer"));
  }
  function fill(row, one) {
    const waits = isWaiting(one.id);
    row.classList.toggle("struck", one.struck);
    row.classList.toggle("wrong", Boolean(one.wrong));
    row.classList.toggle("unsent", waits);
    row.querySelector(".says").textContent = one.wrong || one.says;
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
  rows.addEventListener("input", (event) => put(rowOf(event.target)));
  rows.addEventListener("change", (event) => { if (isWaiting(rowOf(event.target).dataset.id)) plan(0); });
  heading.addEventListener("input", () => {
    enqueue({ kind: "heading", heading: heading.value }, (one) => one.kind === "heading");
  });
  rows.addEventListener("keydown", (event) => {
    const name = NAMES.find((one) => event.target.classList.contains(one));
    if (!name || event.isComposing) return;
    const row = rowOf(event.target);
    if (event.key === "Enter") {
      event.preventDefault();
      if (event.ctrlKey || event.metaKey) insertBelow(row);
      else if (row === all().at(-1)) { if (!isEmpty(row)) goTo(newRow(row), "azimuth"); }
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
    const name = NAMES.find((one) => event.target.classList.contains(one));
    if (!name || !paste.isTable(text)) return;
    event.preventDefault();
    const found = paste.rows(text);
    if (found.heading.length) takeHeading(found.heading);
    const isColumn = found.rows.every((one) => one[1] === "" && one[2] === "");
    if (isColumn) pasteColumn(rowOf(event.target), name, found.rows.map((one) => one[0]));
    else pasteRows(rowOf(event.target), found.rows);
  });
  function pasteRows(row, lines) {
    let at = row;
    for (const line of lines) {
      if (at === row ? !isEmpty(row) : true) at = newRow(at);
      NAMES.forEach((name, k) => { cell(at, name).value = line[k]; });
      put(at, 0);
    }
    goTo(lastBlank(), "azimuth");
  }
  function pasteColumn(row, name, values) {
    let at = row;
    values.forEach((value, k) => {
      if (k) at = at.nextElementSibling || newRow(at);
      cell(at, name).value = value;
      put(at, 0);
    });
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

  // ---- coming and going ------------------------------------------------------------------------
  setInterval(() => { if (queue.length) keep(); }, BEAT_MS);
  window.addEventListener("pagehide", () => {
    if (queue.length) desk.post(address, queue.map(({ isSent, ...change }) => change), null, true).catch(() => null);
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !queue.length) send(); });
  window.addEventListener("online", () => plan(0));
  async function adopt() {
    if (await desk.sendOrphans()) send();
  }
  document.getElementById("add-row").hidden = false;
  number();
  const blank = lastBlank();
  if (all().length === 1) goTo(blank, "azimuth");
  adopt();
  setTimeout(adopt, desk.DEAD_MS + 500);
})();
