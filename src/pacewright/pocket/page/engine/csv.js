// The travel log from and to CSV.
import { PY, strip } from "./py.js";
import { complain } from "./complaints.js";
import { parseHeading } from "./heading.js";
import { checkNumbers, composeLog, parseRow, TravelLog } from "./log.js";

const COLUMNS = ["azimuth", "count", "notes"];
const LONGEST_RECORD = 100_000;

/** The lines of a text, each with its end. */
export function linesOf(text) {
  return text.match(/[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$/g) ?? [];
}

/** The heading lines, the delimiter, and the number of lines above the rows.
 * @param {string[]} lines @returns {{told: [number, string][], delimiter: string, used: number}} */
function takeHeading(lines) {
  const told = /** @type {[number, string][]} */ ([]);
  for (let at = 0; at < lines.length; at += 1) {
    const bare = PY.lstrip(strip(lines[at]), '"');
    if (bare.startsWith("#")) told.push([at + 1, headingText(lines[at], at + 1)]);
    else if (bare) return { told, delimiter: delimiterOf(lines[at], at + 1), used: at + 1 };
  }
  throw complain("_take_heading", 0);
}

/** The cells of every row, each with its line.
 * @returns {Generator<[number, any]>} */
function* rowsOf(lines, used, delimiter) {
  for (const [line, raw, cells] of records(lines.slice(used), used + 1, delimiter)) {
    if (raw.startsWith("#") || !strip(raw)) {
      if (raw.includes(":")) throw complain("_check_prose", 0).at({ line });
      continue;
    }
    if (delimiter === "," && !raw.includes('"')) checkDecimalComma(cells, line);
    yield [line, threeCells(cells, line, delimiter)];
  }
}

/** @param {string} text @returns {TravelLog} */
export function readLog(text) {
  const lines = linesOf(text.replace(/^\ufeff/, "")), { told, delimiter, used } = takeHeading(lines);
  const pairs = told.filter(([, words]) => words.includes(":")).map(([line, words]) => {
    const [key, , value] = PY.partition(words, ":");
    return [line, key, value];
  });
  const heading = parseHeading(/** @type {any} */ (pairs)), rows = [];
  for (const [line, cells] of rowsOf(lines, used, delimiter)) rows.push(parseRow(cells, heading, line));
  checkNumbers(rows);
  return composeLog(heading, rows, { is_read: true, encoding: "utf-8" });
}

/** What a page holds as typed, so that what is wrong in it can be mended: heading lines, and cells.
 * @param {string} text @returns {{heading: string[], rows: any[]}} */
export function openLog(text) {
  const lines = linesOf(text.replace(/^\ufeff/, "")), { told, delimiter, used } = takeHeading(lines);
  return { heading: told.map(([, words]) => words).filter(Boolean), rows: [...rowsOf(lines, used, delimiter)].map((one) => one[1]) };
}

function* records(lines, first, delimiter) {
  let raw = "", start = first, open = false, number = first - 1;
  for (const line of lines) {
    number += 1;
    if (!open) start = number;
    if (open || line.includes('"')) open = staysOpen(line, delimiter, open);
    raw += line;
    if (!open) {
      yield /** @type {[number, string, string[]]} */ ([start, raw, split(raw, delimiter, start)]);
      raw = "";
    }
  }
  if (raw) throw complain("records", 0).at({ line: start });
}

function staysOpen(line, delimiter, open) {
  let closed = false;
  line.split('"').slice(0, -1).forEach((before, at) => {
    if (open) [open, closed] = [false, true];
    else if (before.endsWith(delimiter) || (!before && (at === 0 || closed))) open = true;
    else closed = false;
  });
  return open;
}

function split(raw, delimiter, line) {
  if (!raw.includes('"')) return raw.replace(/[\r\n]+$/, "").split(delimiter);
  if ([...raw].length > LONGEST_RECORD) throw complain("_split", 0).at({ line });
  const cells = strictCells(raw, delimiter);
  if (!cells) throw complain("_split", 1).at({ line });
  return cells;
}

/** The cells of one record, quoted as spreadsheets do; null where a mark stands where none can. */
function strictCells(raw, delimiter) {
  const text = raw.replace(/\r\n$|\r$|\n$/, "");
  const cells = [];
  let at = 0;
  for (;;) {
    let cell = "";
    if (text[at] === '"') {
      at += 1;
      for (;;) {
        if (at >= text.length) return null;
        if (text[at] !== '"') { cell += text[at]; at += 1; continue; }
        if (text[at + 1] === '"') { cell += '"'; at += 2; continue; }
        at += 1;
        break;
      }
      if (at < text.length && text[at] !== delimiter) return null;
    } else {
      const end = text.indexOf(delimiter, at);
      cell = text.slice(at, end < 0 ? text.length : end);
      if (/[\r\n]/.test(cell)) return null;
      at += cell.length;
    }
    cells.push(cell);
    if (at >= text.length) return cells;
    at += 1;
  }
}

function headingText(raw, number) {
  let bare = strip(raw);
  if (bare.startsWith('"')) {
    for (const delimiter of ",;\t") {
      const cells = (bare.split('"').length - 1) % 2 === 0 ? split(bare, delimiter, number) : [bare];
      if (!cells.slice(1).some(Boolean)) { bare = strip(cells[0]); break; }
    }
  }
  for (const empties of [",,", ";;", "\t\t"]) bare = PY.removesuffix(bare, empties);
  return strip(PY.lstrip(bare, "#"));
}

function delimiterOf(raw, line) {
  for (const delimiter of ",;\t") {
    const cells = raw.split(delimiter).map((cell) => PY.strip(strip(cell), '"').toLowerCase());
    if (COLUMNS.every((name, at) => cells[at] === name) && !cells.slice(3).some(Boolean)) return delimiter;
  }
  throw complain("_delimiter", 0, { shown: [...strip(raw)].slice(0, 40).join("") }).at({ line });
}

const isNumber = (cell) => PY.isdecimal(strip(cell).replace(".", ""));

function threeCells(cells, line, delimiter) {
  if (cells.length < 3) throw complain("_three_cells", 0, { count: cells.length === 1 ? "one column" : "2 columns" }).at({ line });
  const [azimuth, count, notes] = cells;
  if (cells.length === 3 || !cells.slice(3).some(Boolean)) return { azimuth, count, notes };
  if (isNumber(notes)) throw complain("_three_cells", 1, { cells }).at({ line });
  return { azimuth, count, notes: cells.slice(2).join(delimiter) };
}

function checkDecimalComma(cells, line) {
  if (cells.length > 2 && !cells.slice(3).some(Boolean) && isNumber(cells[2])) {
    throw complain("_check_decimal_comma", 0, { cells }).at({ line, column: "notes" });
  }
}

/** A log as the laptop reads it to the letter. @param {string[]} heading @param {any[]} rows @returns {string} */
export function writeLog(heading, rows) {
  const top = heading.map((line) => `# ${line}\n`).join("");
  return `${top}${COLUMNS.join(",")}\n${rows.map((cells) => `${cellsText(cells)}\n`).join("")}`;
}

function cellsText(cells) {
  const three = [cells.azimuth, cells.count, cells.notes];
  const quoted = (one) => `"${one.replaceAll('"', '""')}"`;
  const text = three.map((one) => (/[",\r\n]/.test(one) ? quoted(one) : one)).join(",");
  if (text.startsWith("#") || !strip(text)) return three.map(quoted).join(",");
  if (isNumber(cells.notes)) return `${PY.removesuffix(text, cells.notes)}"${cells.notes}"`;
  return text;
}
