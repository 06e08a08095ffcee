// Rows that were read: Enter confirms one and goes on, digits write over it, the page beside shows where it stands.
"use strict";
(() => {
  const form = document.getElementById("confirm");
  if (!form) return;
  const rows = [...form.querySelectorAll(".confirm-row")];
  const keep = document.getElementById("confirm-keep");
  const together = document.getElementById("confirm-sure");
  const told = document.getElementById("confirm-told");
  const tick = (row) => row.querySelector('input[type="checkbox"]');
  const isSure = (row) => !row.classList.contains("unsure");
  const left = () => rows.filter((row) => !tick(row).checked);

  function show(row) {
    for (const here of document.querySelectorAll(".confirm-photo .here")) {
      const mine = here.closest("[data-page]").dataset.page === row.dataset.photo;
      here.setAttribute("y", mine ? row.dataset.top : "0");
      here.setAttribute("height", mine ? row.dataset.high : "0");
    }
  }
  function tell() {
    const many = left().length;
    told.textContent = many ? `${many} row${many === 1 ? "" : "s"} left to confirm.` : "Every row is confirmed.";
    together.hidden = !left().some(isSure);
  }
  function mark(row) {
    row.classList.toggle("confirmed", tick(row).checked);
    tell();
  }
  function goTo(row) {
    const field = row.querySelector("[data-first]") || row.querySelector("[data-cell]");
    field.focus();
    field.select();
    row.scrollIntoView({ block: "nearest" });
  }
  function goOn(from) {
    const at = rows.indexOf(from);
    const next = [...rows.slice(at + 1), ...rows.slice(0, at + 1)].find((row) => !tick(row).checked);
    if (next) goTo(next);
    else keep.focus();
  }
  function confirmSure() {
    for (const row of left().filter(isSure)) {
      // Nobody looked at each by itself: what its digits may be besides stays in its notes.
      tick(row).value = "together";
      tick(row).checked = true;
      mark(row);
    }
    if (left().length) goTo(left()[0]);
    else keep.focus();
  }

  form.addEventListener("keydown", (event) => {
    const row = event.target.closest(".confirm-row");
    if (event.key !== "Enter" || event.isComposing || !row) return;
    event.preventDefault();
    if (event.shiftKey) {
      confirmSure();
      return;
    }
    tick(row).checked = true;
    mark(row);
    goOn(row);
  });
  form.addEventListener("focusin", (event) => {
    const row = event.target.closest(".confirm-row");
    if (row) show(row);
  });
  form.addEventListener("change", (event) => {
    const row = event.target.closest(".confirm-row");
    if (!row) return;
    if (event.target.type === "checkbox") mark(row);
    const name = /\[at ([^\]]+)\]/.exec(event.target.value);
    if (event.target.dataset.cell === "notes" && name) offer(name[1]);
  });
  // A name that was just typed is offered in the rows below.
  function offer(name) {
    const list = document.getElementById("names");
    for (const value of [`[at ${name}]`, `[see ${name}]`]) {
      if ([...list.options].some((one) => one.value === value)) continue;
      const option = document.createElement("option");
      option.value = value;
      list.append(option);
    }
  }
  together.addEventListener("click", confirmSure);
  rows.forEach((row) => row.classList.toggle("confirmed", tick(row).checked));
  tell();
  const first = left()[0];
  if (first) goTo(first);
})();
