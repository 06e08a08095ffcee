// Changes that an earlier page of this log could not send, shown on the page as they were typed.
"use strict";
desk.page.replay = (() => {
  const { NAMES, base, cell, cellsOf, lastBlank, makeRow, number, place, rests, rowCalled, setBaseHeading, showStruck } = desk.page;

  function write(id, after, cells, names) {
    const row = rowCalled(id) || makeRow(id), isNew = !row.isConnected;
    if (isNew) place(row, after);
    for (const name of isNew ? NAMES : names) cell(row, name).value = cell(row, name).deskWas = cells[name] || "";
    delete row.dataset.local;
    row.classList.add("unsent");
    row.filled = null;
    base.set(id, cellsOf(row));
    return row;
  }
  const does = {
    put: (one) => write(one.id, one.after, one, one.only || NAMES),
    paste(one) {
      let last = one.after;
      for (const row of one.rows) {
        if (!rowCalled(row.id)) showStruck(write(row.id, last, row, NAMES), Boolean(row.struck));
        last = row.id;
      }
    },
    strike(one) {
      const row = rowCalled(one.id);
      if (row) showStruck(row, one.struck);
    },
    move(one) {
      const row = rowCalled(one.id);
      if (row && one.after !== one.id && (!one.after || rowCalled(one.after))) place(row, one.after);
    },
    remove(one) {
      for (const id of one.ids) {
        const row = rowCalled(id);
        // Where the cursor stands in it, it stays until the desk has taken it away, and what is typed in it is checked.
        if (row && row.contains(document.activeElement)) continue;
        if (row) row.remove();
        base.delete(id);
      }
    },
    heading: (one) => setBaseHeading(one.heading),
  };
  return (changes) => {
    if (!changes.length) return;
    for (const one of changes) if (does[one.kind]) does[one.kind](one);
    lastBlank();
    number();
    rests.show();
  };
})();
