// Helps beside typing: the heading as fields, remarks from a palette, the keys at a question mark, the goal kept.
"use strict";
(() => {
  const page = document.getElementById("page");
  const rows = page.querySelector(".rows");
  const heading = document.getElementById("heading-text");
  const fields = document.getElementById("heading-fields");
  const palette = document.getElementById("palette");

  // ---- the heading as fields: each writes its own line of the text beside it --------------------
  const isLine = (name) => new RegExp("^\\s*" + name + "\\s*:", "i");
  const lines = () => heading.value.split("\n");
  const textOf = (name) => (lines().find((line) => isLine(name).test(line)) || ":").replace(/^[^:]*:\s*/, "").trim();
  const known = () => lines().filter((line) => isLine("known").test(line)).map((line) => line.replace(/^[^:]*:\s*/, ""));
  const inputs = () => [...fields.querySelectorAll("[data-line]")];

  function readLine(input) {
    const name = input.dataset.line;
    if (name === "known") return known().join("\n");
    const words = textOf(name).split(/\s+/);
    if (!input.dataset.words) return textOf(name);
    const choices = [...input.options].map((one) => one.value);
    return choices.find((one) => words.includes(one)) || choices[0];
  }
  function showFields() {
    for (const input of inputs()) if (input !== document.activeElement) input.value = readLine(input);
  }
  function written(name) {
    const parts = inputs().filter((one) => one.dataset.line === name).map((one) => one.value.trim());
    if (name === "known") return parts[0].split("\n").filter((one) => one.trim()).map((one) => "known: " + one.trim());
    const text = parts.join(" ").trim();
    return text || name === "title" ? [name + ": " + text] : [];
  }
  function writeLine(name) {
    const kept = lines(), at = kept.findIndex((line) => isLine(name).test(line));
    const rest = kept.filter((line) => !isLine(name).test(line));
    rest.splice(at < 0 ? rest.length : at, 0, ...written(name));
    const text = rest.filter((line, k) => line.trim() || k < rest.length - 1).join("\n");
    if (text === heading.value) return;
    heading.dispatchEvent(new Event("focus"));
    heading.value = text;
    heading.dispatchEvent(new Event("input", { bubbles: true }));
  }
  fields.hidden = false;
  fields.addEventListener("input", (event) => { if (event.target.dataset.line) writeLine(event.target.dataset.line); });
  fields.addEventListener("change", () => heading.dispatchEvent(new Event("blur")));
  fields.addEventListener("focusin", showFields);
  heading.addEventListener("input", showFields);
  page.querySelector("details.heading").addEventListener("toggle", showFields);
  showFields();

  // ---- the known places, drawn once the desk has them ------------------------------------------
  const map = document.getElementById("known-map"), details = page.querySelector("details.heading");
  async function drawKnown() {
    if (!details.open) return;
    if (!known().length) return map.replaceChildren();
    if (await desk.rowsKept(8000)) htmx.ajax("GET", map.dataset.known, map);
  }
  details.addEventListener("toggle", drawKnown);
  for (const one of [fields, heading]) one.addEventListener("change", drawKnown);

  // ---- remarks from a palette, by touch and by key ---------------------------------------------
  const FIRST = "F2";
  let cell = null;
  rows.addEventListener("focusin", (event) => {
    const row = event.target.closest(".row");
    cell = row ? row.querySelector(".notes") : cell;
  });
  function put(remark) {
    const into = cell && cell.isConnected && !cell.readOnly ? cell : [...rows.querySelectorAll(".notes")].at(-1);
    if (!into) return;
    const at = document.activeElement === into ? into.selectionStart : into.value.length;
    const before = into.value.slice(0, at), gap = before && !/\s$/.test(before) ? " " : "";
    into.focus();
    into.setRangeText(gap + remark, at, at, "end");
    // Where a name or a number is to be written, the cursor stands before the bracket.
    if (/ \]$/.test(remark)) into.setSelectionRange(into.selectionEnd - 1, into.selectionEnd - 1);
    into.dispatchEvent(new Event("input", { bubbles: true }));
  }
  palette.hidden = false;
  // The cursor stays in its cell while a finger or the mouse chooses.
  palette.addEventListener("pointerdown", (event) => { if (event.target.closest("button")) event.preventDefault(); });
  palette.addEventListener("click", (event) => {
    const button = event.target.closest("[data-remark]");
    if (button) put(button.dataset.remark);
  });
  palette.addEventListener("keydown", (event) => {
    const all = [...palette.querySelectorAll("[data-remark]")], at = all.indexOf(event.target);
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (at >= 0 && step) { event.preventDefault(); all[(at + step + all.length) % all.length].focus(); }
    if (event.key === "Escape" && cell) { event.preventDefault(); cell.focus(); }
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === FIRST && rows.contains(event.target)) {
      event.preventDefault();
      palette.open = true;
      palette.querySelector("[data-remark]").focus();
    }
    // In notes a question mark is a question mark; an azimuth and a count never hold one.
    const isTyping = event.target.matches("textarea, select, input:not(.azimuth):not(.count)");
    if (event.key !== "?" || isTyping || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const keys = page.querySelector("details.keys:not(#palette)");
    keys.open = !keys.open;
    if (keys.open) keys.querySelector("summary").scrollIntoView({ block: "nearest" });
    keys.querySelector("summary").focus();
  });

  // ---- notes grow with what is in them, also where the style sheet alone cannot do it -----------
  if (!CSS.supports("field-sizing", "content")) {
    const grow = (area) => { area.style.height = "auto"; area.style.height = area.scrollHeight + "px"; };
    const all = () => rows.querySelectorAll("textarea.notes").forEach(grow);
    rows.addEventListener("input", (event) => { if (event.target.matches("textarea")) grow(event.target); });
    for (const name of ["desk:rows", "focusout"]) document.addEventListener(name, all);
    addEventListener("resize", all);
    all();
  }

  // ---- the goal of the way back is remembered on this device -----------------------------------
  const shelf = "desk-goal:" + page.dataset.log;
  document.addEventListener("change", (event) => {
    if (event.target.id !== "goal") return;
    try { localStorage.setItem(shelf, event.target.value); } catch { /* Without a store the goal is asked anew. */ }
  });
  const select = document.getElementById("goal"), was = localStorage.getItem(shelf);
  if (select && was && was !== select.value && !location.search && [...select.options].some((one) => one.value === was)) {
    select.value = was;
    // Only when the library that listens has begun.
    addEventListener("load", () => select.dispatchEvent(new Event("change", { bubbles: true })));
  }
})();
