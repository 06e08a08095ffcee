// Undo and redo of what was done in this browser, on one log: a step is a cell, a stroke, rows that came or went.
// It works at once and with no desk: each step is a change like any other.
"use strict";
// act: cell(step, text) writes a cell and tells whether it could; rows(step, isThere); strike(step, isStruck);
// move(step, after); heading(text). changed(canUndo, canRedo) after every step.
desk.makeUndo = (log, act, changed) => {
  const MOST = 300, shelf = "desk-undo:" + log;
  let done = [], undone = [], isOpen = false;
  try {
    ({ done, undone } = JSON.parse(sessionStorage.getItem(shelf)) || { done, undone });
  } catch { /* What cannot be read is no step. */ }

  function keep() {
    try {
      sessionStorage.setItem(shelf, JSON.stringify({ done, undone }));
    } catch {
      sessionStorage.removeItem(shelf);
    }
    changed(done.length > 0, undone.length > 0);
  }
  const isSameCell = (one, other) => one && ["cell", "heading"].includes(one.kind) && one.kind === other.kind && one.id === other.id && one.name === other.name;
  function note(step) {
    const last = done.at(-1);
    // One cell is one step, however long it was typed in, unless another browser wrote in it meanwhile.
    if (isOpen && isSameCell(last, step) && last.to === step.from) last.to = step.to;
    else done.push(step);
    done = done.slice(-MOST);
    undone = [];
    isOpen = true;
    keep();
  }
  function apply(step, isBack) {
    if (step.kind === "cell") return act.cell(step, isBack ? step.from : step.to, isBack ? step.to : step.from);
    if (step.kind === "all") return (isBack ? step.steps.toReversed() : step.steps).map((one) => apply(one, isBack)).some(Boolean);
    if (step.kind === "rows") return act.rows(step, step.came !== isBack);
    if (step.kind === "strike") return act.strike(step, step.struck !== isBack);
    if (step.kind === "move") return act.move(step, isBack ? step.from : step.to);
    return act.heading(isBack ? step.from : step.to, isBack ? step.to : step.from);
  }
  // A step that another browser has written over since is passed by: it is theirs.
  function go(from, to, isBack) {
    isOpen = false;
    let isDone = false;
    while (from.length && !isDone) {
      const step = from.pop();
      isDone = apply(step, isBack);
      if (isDone) to.push(step);
    }
    keep();
    return isDone;
  }
  changed(done.length > 0, undone.length > 0);
  return {
    note,
    close: () => { isOpen = false; },
    undo: () => go(done, undone, true),
    redo: () => go(undone, done, false),
  };
};
// What the steps of a page do to it; each tells whether there was something to do. `of` holds what the page can.
desk.undoActs = (of) => ({
  cell(step, text, stands) {
    let row = of.rowCalled(step.id);
    if (!row) {
      if (stands !== "" || text === "") return false;
      row = of.makeRow(step.id);
      // It comes back over nothing: should another have written in it meanwhile, the cell asks.
      of.base.set(step.id, of.cellsOf(row));
      of.place(row, step.after);
    }
    if (of.cell(row, step.name).value !== stands) return false;
    of.write(row, step.name, text);
    if (of.isEmpty(row)) of.vanish(row);
    else of.cell(row, step.name).focus();
    return true;
  },
  rows(step, isThere) {
    if (isThere) {
      const gone = step.rows.filter((one) => !of.rowCalled(one.id));
      if (gone.length) of.bring(gone, step.after);
      return gone.length > 0;
    }
    const here = step.rows.map((one) => of.rowCalled(one.id)).filter((row) => row && !of.isLocal(row));
    if (!here.length) return false;
    step.rows = here.map(of.wholeOf);
    of.take(here);
    return true;
  },
  strike(step, struck) {
    const row = of.rowCalled(step.id);
    if (!row || of.isStruck(row) === struck) return false;
    of.strike(row, struck);
    return true;
  },
  move(step, after) {
    const row = of.rowCalled(step.id);
    if (!row || (after && !of.rowCalled(after))) return false;
    of.move(row, after);
    return true;
  },
  heading(text, stands) {
    if (of.heading.value !== stands) return false;
    of.heading.value = text;
    of.putHeading(0);
    return true;
  },
});
