// Typing a log: cells, keys, and what the desk says of each row.
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
  const NAMES = ["azimuth", "count", "notes"];

  // What the desk refused, by the row's identity: it stays in its cells until it is written anew.
  const unkept = new Map();
  // Every row as the desk has it once all that waits has come there; and the rows that it told of.
  const base = new Map(), known = new Set();
  let baseHeading = desk.asCame(heading), revision = Number(form.dataset.revision), isThrown = form.dataset.thrown === "1";
  let lastAnswer = "", heldAnswer = null;

  function say(words) {
    trouble.textContent = words;
    trouble.hidden = !words;
  }
  function goal() {
    const select = document.getElementById("goal");
    return select ? Number(select.value) : null;
  }

  const rowOf = (element) => element.closest(".row");
  const all = () => [...rows.querySelectorAll(".row")];
  const rowCalled = (id) => all().find((row) => row.dataset.id === id);
  const cell = (row, name) => (row.deskCells ??= {})[name] ??= row.querySelector("." + name);
  const isEmpty = (row) => NAMES.every((name) => cell(row, name).value === "");
  const isLocal = (row) => row.dataset.local === "1";
  const isStruck = (row) => row.classList.contains("struck");
  const nameOf = (input) => NAMES.find((one) => input.classList.contains(one));
  const cellsOf = (row) => Object.fromEntries(NAMES.map((name) => [name, cell(row, name).value]));
  const wholeOf = (row) => ({ id: row.dataset.id, ...cellsOf(row), struck: isStruck(row), other: row.other || {} });
  const asked = () => all().map((row, at) => (row.querySelector(".asks button") ? at + 1 : 0)).filter(Boolean);

  const page = desk.makeTold();
  const queue = desk.makeQueue(form, {
    goal, say, told, seen: page.seen,
    state: (words) => { saved.textContent = words; },
    changed: () => rests && rests.show(),
    allKept: () => {
      if (unkept.size) return "Saved, but for what is marked.";
      return asked().length ? "Saved. Row " + asked()[0] + " holds two values: choose one." : "Saved.";
    },
  });
  const rests = desk.makeRests({
    rows: () => all().filter((row) => !isEmpty(row)),
    unsent: () => new Set([...queue.all().flatMap(queue.ids), ...unkept.keys()]),
    isUnsent: () => queue.all().length > 0 || unkept.size > 0,
    isHeld: () => heldAnswer !== null,
    asked,
    isKnown: (id) => known.has(id),
  });
  const acts = desk.undoActs({ base, bring, cell, cellsOf, heading, isEmpty, isLocal, isStruck, makeRow, move, place, putHeading, rowCalled, strike, take, vanish, wholeOf, write });
  const steps = desk.makeUndo(form.dataset.log, acts,
    (canUndo, canRedo) => {
      document.getElementById("undo").disabled = !canUndo;
      document.getElementById("redo").disabled = !canRedo;
    });

  const asks = desk.makeAsks({
    cell, cellsOf,
    choose(row, name, from, to, texts) {
      if (to !== from) steps.note({ kind: "cell", id: row.dataset.id, name, from, to, after: before(row) });
      steps.close();
      write(row, name, to, texts);
    },
  });

  function makeRow(id) {
    const row = template.content.firstElementChild.cloneNode(true);
    row.dataset.id = id;
    const says = row.querySelector(".says");
    says.id = "says-" + id;
    for (const name of NAMES) cell(row, name).setAttribute("aria-describedby", says.id);
    tame(row);
    return row;
  }
  // Tab goes from cell to cell: what a row can do has its keys.
  function tame(row) {
    for (const button of row.querySelectorAll(".tools button")) button.tabIndex = -1;
    for (const name of NAMES) cell(row, name).deskWas = desk.asCame(cell(row, name));
  }
  function newRow(after) {
    const row = makeRow(desk.key("r"));
    row.dataset.local = "1";
    if (after) after.after(row);
    else rows.append(row);
    return row;
  }
  function number() {
    const does = { insert: "Insert a row below row ", up: "Move up row ", down: "Move down row ", remove: "Take away row " };
    all().forEach((row, at) => {
      const shown = at + 1 + (isStruck(row) ? "s" : "");
      if (row.numbered === shown) return;
      row.numbered = shown;
      row.querySelector(".number").textContent = at + 1;
      for (const name of NAMES) {
        cell(row, name).setAttribute("aria-label", name[0].toUpperCase() + name.slice(1) + " of row " + (at + 1));
      }
      for (const button of row.querySelectorAll(".tools button")) {
        const words = does[button.dataset.do] || (isStruck(row) ? "Take the stroke off row " : "Strike out row ");
        button.setAttribute("aria-label", words + (at + 1));
      }
    });
  }
  function lastBlank() {
    const last = all().at(-1);
    if (isThrown || (last && isLocal(last) && isEmpty(last))) return last;
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

  // ---- what changes ------------------------------------------------------------------------------
  // The cells named were written; the others go along, should the row have been taken away elsewhere. What
  // stood in a cell when it was written goes too: where another value stands by then, the cell asks. So does what
  // was seen beside it: a value that came there unseen waits on.
  function put(row, names, pause, known = {}) {
    const id = row.dataset.id, cells = cellsOf(row), old = base.get(id) || {};
    const only = unkept.delete(id) ? NAMES : names;
    const was = Object.fromEntries(only.filter((name) => name in old).map((name) => [name, old[name]]));
    row.filled = null;
    base.set(id, base.has(id) ? { ...old, ...Object.fromEntries(only.map((name) => [name, cells[name]])) } : cells);
    delete row.dataset.local;
    row.classList.add("unsent");
    queue.add({ kind: "put", id, after: before(row), ...cells, only, was, known }, (one) => one.kind === "put", pause);
  }
  function write(row, name, text, seen = []) {
    cell(row, name).value = cell(row, name).deskWas = text;
    put(row, [name], 0, { [name]: seen });
  }
  function putHeading(pause) {
    unkept.delete("heading");
    queue.add({ kind: "heading", heading: heading.value, was: baseHeading }, (one) => one.kind === "heading", pause);
    baseHeading = heading.value;
  }
  function showStruck(row, struck) {
    row.filled = null;
    row.classList.toggle("struck", struck);
    row.querySelector(".says").textContent = struck ? "Struck out: it counts no more. To write in it, take the stroke away." : "";
    for (const name of NAMES) cell(row, name).readOnly = struck;
    number();
  }
  function strike(row, struck) {
    showStruck(row, struck);
    queue.add({ kind: "strike", id: row.dataset.id, struck }, (one) => one.kind === "strike", 0);
  }
  // Puts a row after another on the page, first where there is none.
  function place(row, after) {
    const other = after && rowCalled(after);
    if (other) other.after(row);
    else if (after) rows.append(row);
    else rows.querySelector(".row-head").after(row);
    number();
  }
  function move(row, after) {
    const active = document.activeElement;
    place(row, after);
    if (row.contains(active)) active.focus();
    queue.add({ kind: "move", id: row.dataset.id, after }, (one) => one.kind === "move", 0);
  }
  // What stood in a row goes along here too: one that was written in elsewhere meanwhile stays.
  function putRemoval(ids) {
    const was = Object.fromEntries(ids.filter((id) => base.has(id)).map((id) => [id, { ...base.get(id), other: rowCalled(id).other || {} }]));
    queue.add({ kind: "remove", ids, was }, () => false, 0);
  }
  function take(list) {
    putRemoval(list.map((row) => row.dataset.id));
    for (const row of list) {
      base.delete(row.dataset.id);
      unkept.delete(row.dataset.id);
      const at = all().indexOf(row), name = row.contains(document.activeElement) && nameOf(document.activeElement);
      row.remove();
      lastBlank();
      if (name !== false) goTo(all()[Math.min(at, all().length - 1)], name || "azimuth");
    }
    number();
  }
  // A row that was emptied is none: it goes, or stays as the one to write on in where the cursor stands in it.
  function vanish(row) {
    if (isLocal(row) || !isEmpty(row) || row.querySelector(".asks button")) return;
    if (!row.contains(document.activeElement)) return take([row]);
    putRemoval([row.dataset.id]);
    // What is typed in it next is written over nothing: should another have written in it meanwhile, the cell asks.
    base.set(row.dataset.id, cellsOf(row));
    row.dataset.local = row.dataset.fresh = "1";
    row.classList.remove("unsent", "wrong");
    row.querySelector(".says").textContent = "";
  }

  // Rows that come at once are one change; only what is very long goes in parts.
  function bring(list, after) {
    let last = after;
    for (const one of list) {
      const row = rowCalled(one.id) || makeRow(one.id);
      if (!row.isConnected) place(row, last);
      for (const name of NAMES) cell(row, name).value = cell(row, name).deskWas = one[name];
      row.classList.toggle("struck", Boolean(one.struck));
      row.classList.add("unsent");
      delete row.dataset.local;
      base.set(one.id, cellsOf(row));
      row.other = one.other;
      last = one.id;
    }
    number();
    for (let left = list, at = after; left.length;) {
      const part = desk.batch(left, left.length);
      queue.add({ kind: "paste", after: at, rows: part }, () => false, 0);
      at = part.at(-1).id;
      left = left.slice(part.length);
    }
    lastBlank();
  }

  // ---- what the desk says ----------------------------------------------------------------
  function told(found, batch = []) {
    for (const { key, complaint } of found.refused) {
      const change = batch.find((one) => one.key === key);
      const ids = change.kind === "heading" ? ["heading"] : ["put", "paste"].includes(change.kind) ? queue.ids(change) : [];
      for (const id of ids) unkept.set(id, complaint);
    }
    revision = found.revision;
    rests.at(revision);
    setThrown(found.thrown);
    if (!page.whole(found)) return queue.plan(0);
    show(found);
  }
  function show(found) {
    const active = document.activeElement, at = all().findIndex((row) => row.contains(active));
    const here = new Map(all().map((row) => [row.dataset.id, row]));
    let last = rows.querySelector(".row-head");
    known.clear();
    for (const one of found.rows) {
      known.add(one.id);
      const row = here.get(one.id) || makeRow(one.id);
      here.delete(one.id);
      // What is being taken away comes not back for a moment.
      if (!row.isConnected && queue.has(one.id)) continue;
      if (last.nextElementSibling !== row) {
        // Local rows that stand in between stay where they are.
        let next = last.nextElementSibling;
        while (next && next !== row && isLocal(next)) next = next.nextElementSibling;
        if (next !== row) last.after(row);
      }
      // One that was emptied here and written in elsewhere meanwhile stays, with what stands in it there.
      if (isLocal(row) && isEmpty(row) && !queue.has(one.id)) delete row.dataset.local;
      if (!isLocal(row) && (row.filled !== one || row.classList.contains("unsent") || unkept.has(one.id) || row.held)) fill(row, one);
      last = row;
    }
    for (const row of here.values()) {
      const id = row.dataset.id;
      if (unkept.has(id)) fill(row, { id, says: "", wrong: "", struck: false, other: {} });
      else if (!isLocal(row) && !queue.has(id)) { row.remove(); base.delete(id); }
    }
    moveAgain();
    lastBlank();
    number();
    document.dispatchEvent(new Event("desk:rows"));
    if (active && active !== document.activeElement && at >= 0) goOn(active, at);
    document.getElementById("page-title").textContent = found.title || "A log without a title";
    document.getElementById("heading-says").textContent = found.heading_says;
    const isHeadingMine = unkept.has("heading") || queue.all().some((one) => one.kind === "heading");
    if (!isHeadingMine) {
      baseHeading = found.heading;
      if (heading.value !== found.heading) heading.value = found.heading;
    }
    if (found.answer === null) return;
    heldAnswer = found.answer;
    if (isSecureContext) shelf.see(form.dataset.log, found);
    if (!all().some((row) => row.held)) showAnswer();
  }
  // What was moved here and is not at the desk yet stays where it was put.
  function moveAgain() {
    for (const one of queue.all()) {
      const row = one.kind === "move" && rowCalled(one.id);
      if (row && before(row) !== one.after && (!one.after || rowCalled(one.after))) place(row, one.after);
    }
  }
  function showAnswer() {
    const text = heldAnswer;
    if (text === null) return;
    heldAnswer = null;
    const inside = () => [...answer.querySelectorAll("a, button, select, input, summary, [tabindex]")];
    const at = inside().indexOf(document.activeElement);
    const bare = text.replace(/data-revision="\d+"/, "");
    if (bare === lastAnswer.replace(/data-revision="\d+"/, "")) {
      answer.querySelector("[data-revision]").dataset.revision = revision;
      return rests.show();
    }
    lastAnswer = text;
    answer.innerHTML = text;
    if (window.htmx) htmx.process(answer);
    document.dispatchEvent(new Event("desk:answer"));
    rests.show();
    // Whoever stood in the answer with the keyboard stands there still.
    if (at >= 0) (inside()[at] || answer.querySelector("[tabindex]") || heading).focus();
  }
  // Where a row was moved or taken away under the cursor, the cursor goes on in it, or in the one at its place.
  function goOn(active, at) {
    if (document.contains(active)) active.focus();
    else goTo(all()[Math.min(at, all().length - 1)], nameOf(active) || "azimuth");
  }
  // A cell is judged when it is left, and what is still to be typed in its row is not missed before.
  function isEarly(row, one) {
    const active = document.activeElement;
    if (!one.wrong || !row.dataset.typing || !row.contains(active) || !nameOf(active)) return false;
    return one.column === nameOf(active) || !one.column || cell(row, one.column).value === "";
  }
  function fill(row, one) {
    row.filled = one;
    const refused = unkept.get(one.id), isEarlyYet = !refused && isEarly(row, one);
    row.held = isEarlyYet ? one : null;
    const wrong = isEarlyYet ? "" : refused ? "Not saved. " + refused : one.wrong;
    const isNew = wrong && row.querySelector(".says").textContent !== wrong;
    if (!queue.all().some((waiting) => waiting.kind === "strike" && waiting.id === one.id)) row.classList.toggle("struck", one.struck);
    row.classList.toggle("wrong", Boolean(wrong));
    row.classList.toggle("unsent", Boolean(refused) || queue.has(one.id));
    row.querySelector(".says").textContent = wrong || (isEarlyYet ? "" : one.says);
    const stands = { ...base.get(one.id) };
    for (const name of NAMES) {
      const input = cell(row, name);
      if (!refused && !queue.holds(one.id, name)) {
        stands[name] = one[name];
        if (input.value !== one[name]) input.value = one[name];
        input.deskWas = input.value;
      } else if (refused) stands[name] = one[name] || "";
      input.readOnly = isThrown || isStruck(row);
      if (!isEarlyYet && one.column === name) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
    base.set(one.id, stands);
    row.other = one.other || {};
    asks(row, one.other);
    if (isNew) rests.say("Row " + (all().indexOf(row) + 1) + (one.column ? ", " + one.column : "") + ": " + wrong);
  }
  function setThrown(thrown) {
    if (thrown === isThrown) return;
    isThrown = thrown;
    for (const row of all()) row.filled = null;
    heading.readOnly = thrown;
    form.classList.toggle("thrown", thrown);
    say(thrown ? "This log lies in the bin now: nothing is written on it until it is taken back." : "");
  }

  function goTo(row, name) {
    const input = cell(row, name);
    input.focus();
    input.select();
  }

  rows.querySelectorAll("noscript").forEach((one) => one.remove());
  for (const row of all()) {
    tame(row);
    base.set(row.dataset.id, Object.fromEntries(NAMES.map((name) => [name, cell(row, name).deskWas])));
    known.add(row.dataset.id);
  }
  rests.at(revision);
  if (isThrown) {
    isThrown = false;
    setThrown(true);
    for (const input of rows.querySelectorAll("input, textarea")) input.readOnly = true;
  }
  // Which of two values a cell holds is asked here too; the buttons that came with the page are for no scripts.
  for (const came of rows.querySelectorAll(".asks input")) asks(rowOf(came), (rowOf(came).other = JSON.parse(came.value)));
  if (asked().length) queue.plan(0);
  const setBaseHeading = (text) => { heading.value = baseHeading = text; };
  desk.page = {
    NAMES, all, base, before, bring, cell, cellsOf, fill, form, freshBelow, goTo, heading, isEmpty, isLocal, isStruck, lastBlank, makeRow, move,
    nameOf, newRow, number, place, put, putHeading, queue, rests, rowCalled, rowOf, rows, saved, say, setBaseHeading, showAnswer, showStruck, steps, strike, take,
    told, vanish, wholeOf, isThrown: () => isThrown, revision: () => revision,
  };
})();
