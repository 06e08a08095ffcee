// The travel log: legs, bearings, notes. Stations are numbered from 0, the start; station k is where leg k ends.
import { PY, strip, toNumber, words } from "./py.js";
import { complain, Complaint, different, placed } from "./complaints.js";
import { decimalPoint, parseAzimuth } from "./compass.js";
import { parseHeading, plainHeading, sameName } from "./heading.js";
import { checkDoubts, parseRemarks } from "./remarks.js";
import { LARGEST_COUNT } from "./tally.js";

const LEG_ONLY = ["At", "BackReading", "Box", "Estimated", "Ground", "LegSlope", "CrossStream", "NoStream"];
const ONCE = ["At", "See", "BackReading", "Estimated", "Ground", "LegSlope", "Faces", "Steepness", "Altitude"];
const NOT_BOTH = [["CrossStream", "NoStream"], ["Faces", "Flat"]];
const COUNT = /^(?:\p{Nd}+(?:\.\p{Nd}*)?|\.\p{Nd}+)$/u;
const DECIMAL_COMMA = /^(\p{Nd}+),(\p{Nd}{1,2})$/u;
const THREE_AFTER_POINT = /^(\p{Nd}{1,3})\.(\p{Nd}{3})$/u;
const GAP = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]*";
const OWN_UNIT = new RegExp(
  `^[\\p{Nd}.,]+${GAP}(°|deg[\\p{L}\\p{N}_]*|mils?|gon|m|km|metres?|meters?|paces?|steps?|ft|feet|yd|yards?)\\.?$`,
  "iu",
);
const MOST_NAMES = 12;

class Row {
  constructor(kind, cells, remarks, line) {
    this.kind = kind;
    this.cells = cells;
    this.remarks = remarks;
    this.line = line;
    this.azimuth_deg = NaN;
    this.count = NaN;
    this.name = "";
  }

  find(kind) { return this.remarks.find((one) => one.kind === kind) ?? null; }
  get at_name() { return this.find("At")?.name ?? null; }
  get boxes() { return this.remarks.filter((one) => one.kind === "Box"); }
  get ground() { return this.find("Ground")?.name ?? null; }
  get slope() { return this.find("LegSlope")?.slope ?? null; }
}

export class TravelLog {
  constructor(heading, rows, page = null) {
    this.heading = heading;
    this.rows = rows;
    this.page = page;
    this.legs = rows.filter((row) => row.kind === "Leg");
  }

  station_names() { return [this.heading.start, ...this.legs.map((leg) => leg.at_name)]; }

  *sightings() {
    let station = 0;
    for (const row of this.rows) {
      if (row.kind === "Leg") station += 1;
      else if (row.kind === "Sighting") yield [station, row];
    }
  }

  /** The station that a name or a number means; of several visits the one closest along the log to `near`. */
  find_station(asked, near = null) {
    const names = this.station_names(), wanted = words(asked).join(" ").normalize("NFC");
    const from = near === null ? names.length - 1 : near;
    const visits = names.flatMap((name, k) => (name && name.normalize("NFC") === wanted ? [k] : []));
    if (visits.length) return visits.reduce((best, k) => (Math.abs(k - from) < Math.abs(best - from) ? k : best));
    if (PY.isdecimal(wanted) && wanted.length < 8 && toNumber(wanted) < names.length) return toNumber(wanted);
    const all = different(names.filter(Boolean));
    const more = all.length > MOST_NAMES ? ` and ${all.length - MOST_NAMES} more` : "";
    const known = all.slice(0, MOST_NAMES).join(", ") + more || "none";
    throw complain("find_station", 0, { wanted, known, names });
  }
}

/** Rows under a heading; a log with no leg, or a name in two spellings, is refused.
 * @param {any} heading @param {any[]} rows @param {any} page */
export function composeLog(heading, rows, page = null) {
  const log = new TravelLog(heading, rows, page);
  if (!log.legs.length) throw complain("compose_log", 0);
  checkNames(log);
  return log;
}

function checkNames(log) {
  const spelled = new Map();
  const named = log.heading.start ? [[null, log.heading.start]] : [];
  named.push(...log.heading.known.map((point) => [null, point.name]));
  for (const row of log.rows) {
    if (row.remarks.length) named.push([row.line, row.kind === "Sighting" ? row.name : row.kind === "Leg" ? row.at_name : null]);
  }
  for (const [line, name] of named) {
    if (name === null) continue;
    const key = sameName(name), first = spelled.get(key) ?? name;
    spelled.set(key, first);
    if (first !== name) throw complain("_check_names", 0, { name, first }).at({ line, column: "notes" });
  }
}

function mixedUnit(text, own_unit, what) {
  return complain("_mixed_unit", 0, { text, own_unit, what });
}

export function readAzimuth(text, unit) {
  try {
    return parseAzimuth(text, unit);
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    const own = OWN_UNIT.exec(text);
    throw (own ? mixedUnit(text, own[1], `its azimuths in ${unit}`) : wrong).at({ column: "azimuth" });
  }
}

export function readCount(text, unit) {
  const bare = decimalPoint(text);
  if (COUNT.test(bare) && toNumber(bare) <= LARGEST_COUNT) return toNumber(bare);
  const own = OWN_UNIT.exec(text);
  if (own) throw mixedUnit(text, own[1], `its counts in ${unit}`).at({ column: "count" });
  const letters = [...text];
  const shown = letters.length <= 40 ? text : `${letters.slice(0, 37).join("")}...`;
  throw complain("read_count", 0, { shown, unit }).at({ column: "count" });
}

/** What one row means: a leg, a bearing, or a note.
 * @param {any} cells @param {any} heading @param {number | null} line */
export function parseRow(cells, heading, line = null) {
  return placed({ line }, () => parsed(cells, heading, line));
}

function parsed(cells, heading, line) {
  const azimuth = strip(cells.azimuth), count = strip(cells.count);
  const remarks = placed({ column: "notes" }, () => parseRemarks(cells.notes, heading.azimuth_unit));
  const see = remarks.length ? checkRemarks(remarks) : null;
  if (see) return sighting(see, heading, cells, remarks, line);
  if (azimuth && count) {
    const leg = new Row("Leg", cells, remarks, line);
    leg.azimuth_deg = readAzimuth(azimuth, heading.azimuth_unit);
    leg.count = readCount(count, heading.count_unit);
    return leg;
  }
  if (azimuth) {
    readAzimuth(azimuth, heading.azimuth_unit);
    throw complain("_parse_row", 0).at({ column: "count" });
  }
  if (count) {
    readCount(count, heading.count_unit);
    throw complain("_parse_row", 1).at({ column: "azimuth" });
  }
  if (remarks.some((one) => LEG_ONLY.includes(one.kind))) throw complain("_parse_row", 2).at({ column: "notes" });
  return new Row("Note", cells, remarks, line);
}

function sighting(see, heading, cells, remarks, line) {
  if (strip(cells.count)) throw complain("_sighting", 0, { see }).at({ column: "count" });
  const azimuth = strip(cells.azimuth);
  if (!azimuth) throw complain("_sighting", 1, { see }).at({ column: "azimuth" });
  if (remarks.some((one) => LEG_ONLY.includes(one.kind))) throw complain("_sighting", 2).at({ column: "notes" });
  const row = new Row("Sighting", cells, remarks, line);
  row.azimuth_deg = readAzimuth(azimuth, heading.azimuth_unit);
  row.name = see.name;
  return row;
}

function checkRemarks(remarks) {
  for (const kind of ONCE) {
    if (remarks.filter((one) => one.kind === kind).length > 1) throw complain("_check_remarks", 0).at({ column: "notes" });
  }
  const has = (kind) => remarks.some((one) => one.kind === kind);
  const lies = new Set(remarks.filter((one) => one.kind === "StationOn" && one.feature !== "stream").map((one) => one.feature));
  if (lies.size > 1 || NOT_BOTH.some((pair) => pair.every(has))) {
    throw complain("_check_contradictions", 0).at({ column: "notes" });
  }
  checkDoubts(remarks);
  return remarks.find((one) => one.kind === "See") ?? null;
}

/** Refuse a number whose point may part thousands, where the log has decimal commas. */
export function checkNumbers(rows) {
  const numbers = rows.flatMap((row) => [
    [row.line, "azimuth", strip(row.cells.azimuth)],
    [row.line, "count", strip(row.cells.count)],
  ]);
  if (!numbers.some(([, , text]) => DECIMAL_COMMA.test(text))) return;
  for (const [line, column, text] of numbers) {
    const match = THREE_AFTER_POINT.exec(text);
    if (match) throw complain("check_decimal_marks", 0, { text, match }).at({ line, column });
  }
}

/** A page under the pencil: what is understood so far, and what each wrong cell lacks.
 * @param {string[]} headingLines Lines `key: value`. @param {any[]} cells The rows as typed. */
export function readTyped(headingLines, cells) {
  let heading = plainHeading(), heading_complaint = null;
  try {
    const split = headingLines.map((line, at) => [at + 1, ...PY.partition(line, ":")]).filter((one) => one[2]);
    heading = parseHeading(split.map(([at, key, , value]) => [at, key, value]));
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    heading_complaint = wrong;
  }
  const rows = withoutClashes(heading, cells.map((one, at) => typed(one, heading, at + 1)));
  const first = rows.findIndex((one) => one.complaint), understood = first < 0 ? rows.length : first;
  const good = rows.slice(0, understood).filter((one) => one.row).map((one) => one.row);
  let log = null;
  if (!heading_complaint && good.length) log = tried(() => composeLog(heading, good))[0];
  return { heading, heading_complaint, rows, log, understood };
}

function tried(work) {
  try {
    return [work(), null];
  } catch (wrong) {
    if (!(wrong instanceof Complaint)) throw wrong;
    return [null, wrong];
  }
}

/** Rows as they were understood before: a row is typed once and read at every change. */
const before = new WeakMap();

function typed(cells, heading, number) {
  const sign = `${heading.azimuth_unit} ${heading.count_unit} ${number}`, known = before.get(cells);
  if (known && known.sign === sign) return known.found;
  const found = typedAnew(cells, heading, number);
  before.set(cells, { sign, found });
  return found;
}

function typedAnew(cells, heading, number) {
  if (!strip(cells.azimuth) && !strip(cells.count) && !strip(cells.notes)) return { cells, row: null, complaint: null };
  const [row, complaint] = tried(() => parseRow(cells, heading, number));
  return { cells, row, complaint };
}

function withoutClashes(heading, rows) {
  const good = rows.filter((one) => one.row).map((one) => one.row);
  const [, complaint] = tried(() => {
    composeLog(heading, good);
    checkNumbers(good);
  });
  const at = complaint?.line ?? null;
  if (at !== null && at > 0 && at <= rows.length && rows[at - 1].row) {
    rows[at - 1] = { cells: rows[at - 1].cells, row: null, complaint };
    return withoutClashes(heading, rows);
  }
  return rows;
}
