// Keys, buttons and pasting of a page, and what comes from elsewhere while it is open.
"use strict";
(() => {
  const {
    NAMES, all, before, bring, cell, cellsOf, fill, form, freshBelow, goTo, heading, isEmpty, isLocal, isStruck, lastBlank, move,
    nameOf, newRow, number, put, putHeading, queue, replay, rests, rowCalled, rowOf, rows, saved, say, showAnswer, steps, strike, take, told,
    vanish, wholeOf, isThrown, revision,
  } = desk.page;
  const LOOK_MS = 1400;
  const does = {
    insert(row) {
      const next = newRow(row);
      number();
      goTo(next, "azimuth");
    },
    strike(row) {
      if (isLocal(row)) return does.remove(row);
      steps.note({ kind: "strike", id: row.dataset.id, struck: !isStruck(row) });
      steps.close();
      strike(row, !isStruck(row));
    },
    remove(row) {
      if (isLocal(row)) { if (all().length > 1) row.remove(); lastBlank(); return number(); }
      steps.note({ kind: "rows", came: false, rows: [wholeOf(row)], after: before(row) });
      take([row]);
    },
    up(row) {
      const other = rowCalled(before(row));
      if (other && !isLocal(row)) moved(row, before(other));
    },
    down(row) {
      let next = row.nextElementSibling;
      while (next && isLocal(next)) next = next.nextElementSibling;
      if (next && !isLocal(row)) moved(row, next.dataset.id);
    },
  };
  function moved(row, after) {
    steps.note({ kind: "move", id: row.dataset.id, from: before(row), to: after });
    steps.close();
    move(row, after);
  }
  function step(row, name, by) {
    const list = all(), next = list[list.indexOf(row) + by];
    if (next) goTo(next, name);
  }

  // A note wraps where it is long, and is one line all the same.
  function oneLine(input) {
    const at = input.selectionStart;
    input.value = input.value.replace(/\r\n|[\r\n]/g, " ");
    input.setSelectionRange(at, at);
  }
  function typed(input, name) {
    const row = rowOf(input);
    if (/[\r\n]/.test(input.value)) oneLine(input);
    const from = input.deskWas || "";
    input.deskWas = input.value;
    row.dataset.typing = "1";
    // A value that comes beside it under the typing hand is not seen.
    input.deskKnew ??= (row.other || {})[name] || [];
    steps.note({ kind: "cell", id: row.dataset.id, name, from, to: input.value, after: before(row) });
    put(row, [name], undefined, { [name]: input.deskKnew });
  }
  rows.addEventListener("input", (event) => {
    const name = nameOf(event.target);
    if (name) typed(event.target, name);
  });
  rows.addEventListener("change", () => queue.flush());
  let headingWas = desk.asCame(heading);
  function headingTyped() {
    steps.note({ kind: "heading", from: headingWas, to: heading.value });
    headingWas = heading.value;
    putHeading();
  }
  heading.addEventListener("focus", () => { headingWas = heading.value; });
  heading.addEventListener("input", headingTyped);
  heading.addEventListener("blur", () => { steps.close(); queue.flush(); });
  rows.addEventListener("focusin", (event) => {
    const row = rowOf(event.target);
    if (!row) return;
    for (const other of rows.querySelectorAll(".here")) {
      if (other === row) continue;
      other.classList.remove("here");
      if (!isEmpty(other)) delete other.dataset.fresh;
    }
    row.classList.add("here");
  });
  rows.addEventListener("focusout", (event) => {
    const row = rowOf(event.target);
    if (!row) return;
    delete event.target.deskKnew;
    steps.close();
    // Judged once the next cell has the cursor, or none has.
    setTimeout(() => {
      if (!row.isConnected) return;
      if (!row.contains(document.activeElement)) {
        delete row.dataset.typing;
        vanish(row);
      }
      if (row.held && row.isConnected) fill(row, row.held);
      if (!all().some((one) => one.held)) showAnswer();
    });
  });
  rows.addEventListener("keydown", (event) => {
    const name = nameOf(event.target);
    if (!name || event.isComposing) return;
    const row = rowOf(event.target);
    if (event.key === "Enter") {
      event.preventDefault();
      if (event.ctrlKey || event.metaKey) does.insert(row);
      else if (row === all().at(-1)) { if (!isEmpty(row) && !isThrown()) goTo(lastBlank(), "azimuth"); }
      else if (row.dataset.fresh && !isEmpty(row)) goTo(freshBelow(row), "azimuth");
      else step(row, "azimuth", 1);
      queue.flush();
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      const isDown = event.key === "ArrowDown";
      if (event.altKey) act(isDown ? "down" : "up", row);
      else step(row, name, isDown ? 1 : -1);
    } else if (event.key === "Delete" && event.ctrlKey) {
      event.preventDefault();
      act("strike", row);
    } else if (["Delete", "Backspace"].includes(event.key) && event.altKey && event.shiftKey) {
      event.preventDefault();
      act("remove", row);
    } else if (isStruck(row) && event.key.length === 1 && !event.ctrlKey && !event.metaKey) {
      rests.say("This row is struck out: nothing is written in it. Take the stroke away first.");
      row.classList.add("told");
      setTimeout(() => row.classList.remove("told"), 1500);
    }
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || !["z", "Z", "y"].includes(event.key)) return;
    const isElsewhere = event.target.matches("input, textarea, select") && event.target !== heading && !rows.contains(event.target);
    if (isElsewhere || isThrown()) return;
    event.preventDefault();
    if (event.shiftKey || event.key === "y") steps.redo();
    else steps.undo();
  });
  function act(what, row) {
    if (!isThrown()) does[what](row);
  }
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || isThrown()) return;
    if (button.id === "undo") { event.preventDefault(); steps.undo(); }
    if (button.id === "redo") steps.redo();
    if (button.id === "add-row") goTo(lastBlank(), "azimuth");
    if (!button.dataset.do) return;
    event.preventDefault();
    act(button.dataset.do, rowOf(button));
  });

  // ---- pasting ---------------------------------------------------------------------------------
  rows.addEventListener("paste", (event) => {
    const text = event.clipboardData.getData("text/plain");
    const name = nameOf(event.target);
    if (!name || isThrown() || !paste.isTable(text)) return;
    event.preventDefault();
    const found = paste.rows(text, name, (line) => confirm(
      "Is the first column, beginning with " + line[0].trim() + ", the number of the row?\n\nOK: it is left out. Cancel: it is the azimuth."));
    const made = [...takeHeading(found.heading), ...pasteGrid(rowOf(event.target), found.rows)];
    if (made.length) steps.note({ kind: "all", steps: made });
    steps.close();
  });
  // A block is laid over the cells from here to the right and down; below the last row new rows come.
  function pasteGrid(row, lines) {
    const made = [], fresh = [];
    let at = row;
    lines.forEach((line, k) => {
      if (k) at = nextOpen(at);
      if (!at || (isLocal(at) && isEmpty(at))) {
        fresh.push({ id: at ? at.dataset.id : desk.key("r"), azimuth: "", count: "", notes: "", ...line });
        return;
      }
      const names = NAMES.filter((name) => name in line);
      for (const name of names) {
        const input = cell(at, name);
        made.push({ kind: "cell", id: at.dataset.id, name, from: input.value, to: line[name], after: before(at) });
        input.value = input.deskWas = line[name];
      }
      put(at, names, 0, at.other);
    });
    if (!fresh.length) return made;
    const first = rowCalled(fresh[0].id), after = first ? before(first) : all().filter((one) => !isLocal(one)).at(-1)?.dataset.id || "";
    bring(fresh, after);
    goTo(lastBlank(), "azimuth");
    return [...made, { kind: "rows", came: true, rows: fresh, after }];
  }
  function nextOpen(row) {
    let next = row && row.nextElementSibling;
    while (next && isStruck(next)) next = next.nextElementSibling;
    return next;
  }
  function takeHeading(lines) {
    const added = lines.filter((line) => !heading.value.split("\n").includes(line));
    if (!added.length) return [];
    const keyed = new Set(added.filter((line) => /^\w+\s*:/.test(line) && !/^known\s*:/i.test(line))
      .map((line) => line.split(":")[0].trim().toLowerCase()));
    const kept = heading.value.split("\n").filter((line) => !keyed.has(line.split(":")[0].trim().toLowerCase()));
    const from = heading.value;
    heading.value = [...kept.filter((line) => line.trim()), ...added].join("\n");
    putHeading(0);
    return [{ kind: "heading", from, to: heading.value }];
  }

  // Tells when every row is at the desk: what is handed in is the page as it stands there.
  desk.rowsKept = (most_ms) => new Promise((done) => {
    const until = Date.now() + most_ms;
    queue.flush();
    const look = () => {
      if (!queue.all().length || Date.now() > until) done(!queue.all().length);
      else setTimeout(look, 50);
    };
    // Never at once: a form that is just being sent cannot be sent again.
    setTimeout(look);
  });

  // ---- coming and going ------------------------------------------------------------------------
  async function look() {
    const found = await queue.look(revision(), isThrown() ? 1 : 0);
    if (!found) return;
    told(found);
    queue.settled(found);
  }
  setInterval(look, LOOK_MS);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) queue.plan(0); });
  const adopt = () => replay(queue.adopt());
  const walker = document.getElementById("walked-by");
  // Taken at once; what waits goes first, for the page is loaded anew.
  const use = document.querySelector("button[form=walker-form]");
  if (use) use.hidden = true;
  if (walker) walker.addEventListener("change", async () => {
    if (await desk.rowsKept(8000)) walker.form.requestSubmit();
    else say("Some rows are not saved yet. Choose the walker once the page says Saved.");
  });
  // Somebody may have typed before the scripts were there.
  if (heading.value !== headingWas) headingTyped();
  for (const row of all()) {
    for (const name of NAMES) if (cell(row, name).value !== cell(row, name).deskWas) typed(cell(row, name), name);
  }
  rows.classList.add("scripted");
  document.getElementById("add-row").hidden = isThrown();
  document.getElementById("redo").hidden = false;
  number();
  const blank = lastBlank();
  // A card stands above a learner's page and is read first; the instructor comes to type from paper.
  const typing = form.dataset.typing || (all().length === 1 ? "yes" : "no");
  if (typing === "yes" && blank && !isThrown()) goTo(blank, "azimuth");
  rests.show();
  // Loaded without a desk, the page is as it was when it was opened: what the desk told since comes first.
  const isKept = Boolean(document.documentElement.dataset.kept);
  shelf.seen(isKept ? form.dataset.log : "").then((seen) => {
    if (seen && seen.revision > revision()) told(seen);
    adopt();
    shelf.ready.then(adopt);
  });
  setInterval(() => { adopt(); desk.sendOrphans(form.dataset.log); }, desk.DEAD_MS + 500);
})();
