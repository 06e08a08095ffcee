// What the answer rests on: where that is not all that is typed, the answer says so in its own place.
"use strict";
// of: rows() gives the rows on the page with something in them; unsent() the identities not at the desk;
// isUnsent() whether anything is not; asked() the rows with two values; isKnown(id) whether the desk has the row.
desk.makeRests = (of) => {
  const side = document.getElementById("answer-side");
  const answer = document.getElementById("answer");
  const line = document.getElementById("rests");
  const announce = document.getElementById("announce");
  const QUIET_MS = 1500, MOST_NAMED = 5;
  let timer = 0, revision = 0, said = "";

  const shownRevision = () => Number(answer.querySelector("[data-revision]")?.dataset.revision ?? -1);
  function words() {
    const rows = of.rows(), unsent = of.unsent();
    const numbers = rows.map((row, at) => (unsent.has(row.dataset.id) ? at + 1 : 0)).filter(Boolean);
    if (of.isUnsent()) return numbers.length ? ofRows(rows, numbers) : "Without your last change: not sent.";
    const asked = of.asked();
    if (of.isHeld()) return "Without the row that is being typed.";
    if (shownRevision() !== revision) return "Without the last changes: being worked out.";
    if (asked.length) return "Row " + asked[0] + " holds two values; the one in the cell counts here.";
    return "";
  }
  function ofRows(rows, numbers) {
    const many = numbers.length, first = numbers[0];
    const isEnd = many === rows.length - first + 1 && rows.slice(first - 1).every((row) => !of.isKnown(row.dataset.id));
    if (isEnd) return (first > 1 ? "Before row " + first + " only; " : "Nothing of it yet; ") + many + (many > 1 ? " rows" : " row") + " not sent.";
    const named = numbers.slice(0, MOST_NAMED).join(", ") + (many > MOST_NAMED ? " and " + (many - MOST_NAMED) + " more" : "");
    return "Without what you typed in row" + (many > 1 ? "s " : " ") + named + ": not sent.";
  }
  function show() {
    const text = words();
    side.classList.toggle("stale", Boolean(text));
    line.hidden = false;
    line.textContent = text;
    const bar = answer.querySelector(".at-hand .rests");
    if (bar) bar.textContent = text ? text + " " : "";
    clearTimeout(timer);
    timer = setTimeout(speak, QUIET_MS);
  }
  // Said politely, once typing rests, and only where it changed.
  function speak() {
    const short = answer.querySelector(".short, .not-yet");
    const now = [line.textContent, short ? short.textContent : ""].join(" ").trim();
    if (!now || now === said) return;
    const isFirst = said === "";
    said = now;
    if (!isFirst) announce.textContent = "Way back: " + now;
  }
  answer.addEventListener("htmx:afterSwap", show);
  return { show, at: (number) => { revision = number; }, say: (text) => { announce.textContent = text; }, shownRevision };
};
