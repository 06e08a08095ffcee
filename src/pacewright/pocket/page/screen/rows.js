// The rows as in the notebook, the row under the pencil, a keypad, and buttons that write the remarks.
import { Complaint } from "../engine/complaints.js";
import { backAzimuth, formatAzimuth } from "../engine/compass.js";
import { parseRow } from "../engine/log.js";
import { strip } from "../engine/py.js";
import { announce, button, byId, el, field, says } from "./dom.js";
import { sayDoubtOf } from "../engine/doubts.js";
import { reading, sayUnderstood } from "./reading.js";
import { keep, kept, log } from "./store.js";
import { remarkButtons } from "./remark_buttons.js";

const COLUMNS = ["azimuth", "count", "notes"];
let into = "azimuth", letters = false;

const isEmpty = (cells) => COLUMNS.every((one) => !strip(cells[one]));

/** What the row under the pencil means: its leg or bearing, or what is wrong. */
function entryMeaning() {
  const { heading } = reading().typed, cells = kept.entry;
  if (isEmpty(cells)) return { row: null, wrong: null };
  try {
    return { row: parseRow(cells, heading), wrong: null };
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    return { row: null, wrong };
  }
}

/** The short answer above the rows: what to walk and nothing else, and what may be wrong with it. */
function showNow() {
  const found = reading(), { answer } = found, now = byId("now"), doubts = [...(answer ? sayDoubtOf(found.typed.log, answer.way, answer.doubt) : []), ...sayUnderstood(found)];
  const said = answer ? say_way(answer).slice(0, 1) : [found.wrong ? String(found.wrong) : "Type a leg: azimuth, count, notes."];
  const to = answer ? `To ${say_place(answer.way.to_name, answer.way.to_station)}${answer.aimed ? ", aimed off to the line" : ""} (${answer.way.azimuth_reference}).` : "";
  const more = answer?.unused.length ? "Not all of this log is used here: see Way." : "";
  now.replaceChildren(...says(doubts, { class: "warn" }), ...says(said, { class: answer ? "big" : null }), ...says([to, more].filter(Boolean)));
  announce([...doubts, ...said, to, more].join(" "));
}

function rowText(cells, wrong, legs) {
  return [legs, cells.azimuth, cells.count, cells.notes, wrong ? `${wrong.column ? `${wrong.column}: ` : ""}${wrong.what}. ${wrong.do}.` : ""];
}

/** Bring the list up to date, touching only rows that changed. */
function showRows() {
  const list = byId("rows"), typed = reading().typed;
  let legs = 0;
  log().rows.forEach((cells, at) => {
    if (typed.rows[at]?.row?.kind === "Leg") legs += 1;
    const told = rowText(cells, typed.rows[at]?.complaint, typed.rows[at]?.row?.kind === "Leg" ? String(legs) : "");
    const sign = JSON.stringify([...told, kept.entry.row === at]);
    if (list.children[at]?.dataset.sign === sign) return;
    const item = rowItem(told, at);
    item.dataset.sign = sign;
    if (list.children[at]) list.children[at].replaceWith(item);
    else list.append(item);
  });
  while (list.children.length > log().rows.length) list.lastElementChild.remove();
  // With the next frame: to ask for a height now would lay the page out twice.
  if (kept.entry.row < 0) requestAnimationFrame(() => { list.scrollTop = list.scrollHeight; });
}

/** @param {string[]} told @param {number} at */
function rowItem([legs, azimuth, count, notes, wrong], at) {
  return el("li", {}, button([
    el("span", { class: "soft" }, legs || "·"), el("b", {}, azimuth || "–"), el("b", {}, count || "–"), el("span", {}, notes),
    wrong ? el("span", { class: "complaint" }, wrong) : null,
  ], () => take(at), { "aria-current": kept.entry.row === at ? "true" : null, "aria-label": `Change row ${at + 1}: ${[azimuth, count, notes].filter(Boolean).join(", ")}${wrong ? `. Wrong: ${wrong}` : ""}` }));
}

function take(at) {
  kept.entry = { row: at, ...log().rows[at] };
  keep();
  showEntry();
  showRows();
  byId("azimuth").focus();
}

/** Put the row under the pencil on the page. */
function write() {
  if (isEmpty(kept.entry)) return;
  const cells = { azimuth: strip(kept.entry.azimuth), count: strip(kept.entry.count), notes: strip(kept.entry.notes) };
  if (kept.entry.row >= 0) log().rows[kept.entry.row] = cells;
  else log().rows.push(cells);
  blank();
}

function blank() {
  kept.entry = { row: -1, azimuth: "", count: "", notes: "" };
  into = "azimuth";
  showNow();
  showRows();
  showEntry();
  keep();
}

function strike() {
  const at = kept.entry.row, gone = log().rows[at];
  if (!confirm(`Take row ${at + 1} away (${[gone.azimuth, gone.count, gone.notes].filter(Boolean).join(", ")})? On paper, strike it out and leave it legible.`)) return;
  log().rows.splice(at, 1);
  blank();
}

/** An empty row in front of the one under the pencil. */
function insert() {
  log().rows.splice(kept.entry.row, 0, { azimuth: "", count: "", notes: "" });
  take(kept.entry.row);
}

export function change(column, text) {
  kept.entry[column] = text;
  keep();
  showMeaning();
}

function press(key) {
  const box = byId(into);
  if (key === "⌫") box.value = [...box.value].slice(0, -1).join("");
  else box.value += key;
  change(into, box.value);
}

/** Give the field that the keypad writes into. */
function turnTo(column) {
  into = column;
  for (const one of COLUMNS) byId(one).toggleAttribute("data-into", one === column);
}

function showEntry() {
  for (const one of COLUMNS) byId(one).value = kept.entry[one];
  const changing = kept.entry.row >= 0;
  byId("entry-title").textContent = changing ? `Row ${kept.entry.row + 1}, being changed` : `Row ${log().rows.length + 1}, new`;
  byId("write").textContent = changing ? "Put it right" : "Write the row";
  byId("changing").hidden = !changing;
  turnTo(into);
  showMeaning();
}

function showMeaning() {
  const { row, wrong } = entryMeaning(), unit = reading().typed.heading.azimuth_unit;
  for (const one of COLUMNS) byId(one).setAttribute("aria-invalid", wrong && wrong.column === one ? "true" : "false");
  const half = (kept.entry.azimuth && !kept.entry.count) || (kept.entry.count && !kept.entry.azimuth);
  byId("meaning").className = wrong && !half ? "warn" : "soft";
  if (wrong) byId("meaning").textContent = `${wrong.what}. ${wrong.do}.`;
  else if (row && row.kind === "Leg") byId("meaning").textContent = `Back azimuth ${formatAzimuth(backAzimuth(row.azimuth_deg), unit)}.${sayBack(row, unit)}`;
  else byId("meaning").textContent = row ? (row.kind === "Sighting" ? `A bearing to ${row.name}.` : "A note.") : "";
}

/** How a back reading goes with its leg. */
function sayBack(row, unit) {
  const read = row.find("BackReading");
  if (!read) return "";
  const off = ((read.azimuth_deg - backAzimuth(row.azimuth_deg) + 540) % 360) - 180;
  return ` The back reading is ${formatAzimuth(Math.abs(off), unit)} ${{ degrees: "deg", mils: "mils", gon: "gon" }[unit]} off it.`;
}

function keypad() {
  const keys = ["1", "2", "3", "⌫", "4", "5", "6", ".", "7", "8", "9", "0"];
  return el("div", { class: "keys", role: "group", "aria-label": "Keypad" },
    keys.map((key) => button(key, () => press(key), { "aria-label": key === "⌫" ? "Take the last back" : key })));
}

function underKeys() {
  return el("div", { class: "thirds" },
    button("Next", () => byId(COLUMNS[(COLUMNS.indexOf(into) + 1) % COLUMNS.length]).focus(), { "aria-label": "Next field" }),
    button("N S E W", () => toggleLetters(), { id: "letters", "aria-pressed": String(letters), "aria-label": "Letters of the compass" }),
    button("Clear", blank));
}

function toggleLetters() {
  letters = !letters;
  byId("letters").setAttribute("aria-pressed", String(letters));
  byId("letter-keys").hidden = !letters;
}

function letterKeys() {
  return el("div", { class: "keys", id: "letter-keys", hidden: !letters, role: "group", "aria-label": "Letters of the compass" },
    ["N", "S", "E", "W", "°", "'"].map((key) => button(key, () => press(key))));
}

function entryForm() {
  const box = (column, label, mode) => field(label, kept.entry[column], (text) => change(column, text), {
    id: column, inputmode: mode, onfocus: () => turnTo(column), "aria-describedby": "meaning", enterkeyhint: "done",
  });
  return el("form", { onsubmit: (event) => { event.preventDefault(); write(); } },
    el("h2", { id: "entry-title" }),
    el("div", { class: "pair" }, box("azimuth", "Azimuth", "none"), box("count", "Count", "none")),
    box("notes", "Notes", "text"),
    el("p", { id: "meaning", class: "soft" }),
    el("button", { type: "submit", class: "lead", id: "write", style: "width:100%" }),
    el("div", { class: "chips", id: "changing" }, button("A row above", insert), button("Take the row away", strike), button("Leave it", blank)),
    keypad(), underKeys(), letterKeys(), remarkButtons((remark) => {
      const notes = byId("notes");
      notes.value = strip(`${notes.value} ${remark}`);
      change("notes", notes.value);
    }));
}

/** The part of the page with the rows. */
export function rowsPart() {
  const part = el("div", { class: "aside" },
    el("div", {}, el("div", { id: "now", class: "now" }), el("h2", {}, "Rows"), el("ol", { id: "rows", class: "rows" })),
    entryForm());
  return [part, () => { showEntry(); showRows(); showNow(); }];
}
