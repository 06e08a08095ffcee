// The heading of a log: who, when, which north, which unit, and what is known beforehand.
import { casefold, strip, toNumber, words, PY } from "./py.js";
import { complain, placed } from "./complaints.js";
import { plainMarks, decimalPoint } from "./compass.js";

const KEYS = ["title", "walker", "date", "azimuth", "count", "start", "declination", "known"];
const FARTHEST_LOCAL = 1_000_000;
const EXACT_SD = 0.01, DEFAULT_KNOWN_SD = 10, LONGEST_DECLINATION = 500;
const GAP = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]";
const DECLINATION = new RegExp(
  `^(?<deg>\\p{Nd}{1,3}(?:\\.\\p{Nd}+)?)${GAP}*°?${GAP}*(?:(?<min>\\p{Nd}{1,2}(?:\\.\\p{Nd}+)?)${GAP}*['′]${GAP}*)?(?:(?<sec>\\p{Nd}{1,2}(?:\\.\\p{Nd}+)?)${GAP}*["″])?${GAP}*(?<side>[EW])?$`,
  "iu",
);
const OWN = `(-?\\p{Nd}+(?:\\.\\p{Nd}+)?)${GAP}*(m|ft|yd|ch)?`, UNITS = { m: 1, ft: 0.3048, yd: 0.9144, ch: 20.1168 };
const LOCAL = new RegExp(`^local${GAP}+${OWN}${GAP}+${OWN}$`, "iu");
const metres = (number, unit) => Math.round(toNumber(number.replace(",", ".")) * UNITS[(unit || "m").toLowerCase()] * 1e9) / 1e9;
const SIGN = /\+-|\+\/-|±/;
const PLUS_MINUS = new RegExp(`^(?<place>[^\\n]*?)${GAP}*(?:\\+-|\\+/-|±)${GAP}*(?<sd>\\p{Nd}+(?:[.,]\\p{Nd}+)?)${GAP}*(?<unit>m|ft|yd|ch)$`, "iu");
const ASSUMED = { azimuth: "magnetic degrees", count: "paces" };

/** @returns {any} */
export function plainHeading() {
  return {
    kind: "Heading", title: "", walker: "", date: null, unread_date: "", azimuth_reference: "magnetic", azimuth_unit: "degrees",
    count_unit: "paces", start: null, declination_deg: null, known: [], assumed: [],
  };
}

/** @param {[number, string, string][]} lines Number, key and value of each. */
export function parseHeading(lines) {
  const heading = plainHeading(), seen = new Set();
  for (const [line, key, value] of lines) {
    const word = strip(key).toLowerCase();
    if (!KEYS.includes(word)) throw complain("parse_heading", 0, { key }).at({ line });
    if (seen.has(word) && word !== "known") throw complain("parse_heading", 1, { word }).at({ line });
    seen.add(word);
    placed({ line, column: `heading ${word}` }, () => SETTERS[word](heading, words(value).join(" ")));
  }
  heading.assumed = Object.keys(ASSUMED).filter((key) => !seen.has(key)).map((key) => `${key}: ${ASSUMED[key]}`);
  return heading;
}

function setDate(heading, value) {
  if (!value) return;
  const date = writtenDate(value);
  heading.date = date;
  heading.unread_date = date === null ? value : "";
}

const MONTHS = "january february march april may june july august september october november december".split(" ");
const DATES = [
  [/^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})$/, (m) => [m[3], m[2], m[1]]],
  [/^(\d{4})[/.](\d{1,2})[/.](\d{1,2})$/, (m) => [m[1], m[2], m[3]]],
  [/^(\d{1,2})\.?(?:st|nd|rd|th)?[ -]([a-z]{3,9})\.?,?[ -](\d{4})$/i, (m) => [m[3], monthOf(m[2]), m[1]]],
  [/^([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})$/i, (m) => [m[3], monthOf(m[1]), m[2]]],
  [/^(\d{1,2})[/-](\d{1,2})[/-](\d{4})$/, (m) => (ofTwo(m) ? [m[3], Math.min(+m[1], +m[2]), Math.max(+m[1], +m[2])] : null)],
];
const monthOf = (word) => MONTHS.findIndex((name) => name.startsWith(word.toLowerCase())) + 1;
const ofTwo = (m) => +m[1] > 12 || +m[2] > 12 || +m[1] === +m[2];

/** A date as people write it, as year-month-day; null where it is none or may be one of two. */
function writtenDate(text) {
  for (const [pattern, parts] of /** @type {any} */ (DATES)) {
    const match = pattern.exec(text);
    if (!match) continue;
    const told = parts(match);
    return told && isoDate(told.map((one, k) => String(one).padStart(k ? 2 : 4, "0")).join("-"));
  }
  return isoDate(text);
}

/** A date as Python's reader of ISO dates takes it, or null. */
export function isoDate(text) {
  const whole = /^(\d{4})-?W(\d{2})(?:(-?)(\d))?$/.exec(text);
  if (whole && (text[4] === "-") === (whole[4] === undefined ? text[4] === "-" : whole[3] === "-")) {
    return ofWeek(Number(whole[1]), Number(whole[2]), Number(whole[4] ?? 1));
  }
  const match = /^(\d{4})(-?)(\d{2})\2(\d{2})$/.exec(text);
  if (!match) return null;
  const [year, month, day] = [match[1], match[3], match[4]].map(Number);
  const last = new Date(Date.UTC(2000, month, 0)).getUTCDate() - (month === 2 && !isLeap(year) ? 1 : 0);
  if (year < 1 || month < 1 || month > 12 || day < 1 || day > last) return null;
  return `${match[1]}-${match[3]}-${match[4]}`;
}

const isLeap = (year) => (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;

function ofWeek(year, week, day) {
  const first = new Date(Date.UTC(2000, 0, 4));
  first.setUTCFullYear(year);
  const weekday = (first.getUTCDay() + 6) % 7;
  const weeks = first.getUTCDay() === 5 || (first.getUTCDay() === 4 && isLeap(year)) ? 53 : 52;
  const most = new Date(Date.UTC(2000, 0, 1));
  most.setUTCFullYear(year);
  const has53 = most.getUTCDay() === 4 || (most.getUTCDay() === 3 && isLeap(year));
  if (week < 1 || week > (has53 ? 53 : Math.min(weeks, 52)) || day < 1 || day > 7 || year < 1) return null;
  first.setUTCDate(first.getUTCDate() - weekday + 7 * (week - 1) + day - 1);
  return first.toISOString().slice(0, 10);
}

function setAzimuth(heading, value) {
  const told = words(value.toLowerCase());
  const reference = ["magnetic", "true", "grid"].filter((one) => told.includes(one));
  const unit = ["degrees", "mils", "gon"].filter((one) => told.includes(one));
  if (reference.length !== 1 || unit.length !== 1 || told.length !== 2) throw complain("_azimuth", 0, { value });
  heading.azimuth_reference = reference[0];
  heading.azimuth_unit = unit[0];
}

function setCount(heading, value) {
  const word = value.toLowerCase();
  if (!["paces", "steps", "metres"].includes(word)) throw complain("_count", 0, { value });
  heading.count_unit = word;
}

function setDeclination(heading, value) {
  const bare = words(value).join(" "), match = [...bare].length <= LONGEST_DECLINATION ? DECLINATION.exec(decimalPoint(plainMarks(bare))) : null;
  const { deg, min, sec, side } = /** @type {any} */ (match?.groups ?? {});
  const degrees = match ? toNumber(deg) + toNumber(min || "0") / 60 + toNumber(sec || "0") / 3600 : NaN;
  if (!match || degrees > 180 || Math.max(toNumber(min || "0"), toNumber(sec || "0")) >= 60 || (degrees && !side)) {
    throw complain("parse_declination", 0, { bare });
  }
  heading.declination_deg = (side || "E").toUpperCase() === "W" && degrees ? -degrees : degrees;
}

function setKnown(heading, value) {
  const [name, equals, rest] = PY.partition(value, "=").map(strip);
  const match = PLUS_MINUS.exec(rest);
  const place = match ? /** @type {any} */ (match.groups).place : rest;
  const sd_m = match ? metres(/** @type {any} */ (match.groups).sd, /** @type {any} */ (match.groups).unit) : DEFAULT_KNOWN_SD;
  if (!(name && equals && place) || SIGN.test(place)) throw complain("_known", 0, { value });
  if (!(sd_m < 100_000)) throw complain("_known", 1, { sd_m });
  if (heading.known.some((one) => one.name === name)) throw complain("_known", 2, { name });
  const local = LOCAL.exec(decimalPoint(place));
  if (!local && place.toLowerCase().startsWith("local")) throw complain("_known", 3, { place });
  const local_m = local ? [metres(local[1], local[2]), metres(local[3], local[4])] : null;
  if (local_m && Math.max(...local_m.map(Math.abs)) > FARTHEST_LOCAL) throw complain("_known", 4, { place });
  heading.known.push({ name, place, sd_m: sd_m || EXACT_SD, local_m });
}

const SETTERS = {
  title: (heading, value) => { heading.title = value; },
  walker: (heading, value) => { heading.walker = value; },
  date: setDate,
  azimuth: setAzimuth,
  count: setCount,
  start: (heading, value) => { heading.start = value || null; },
  declination: setDeclination,
  known: setKnown,
};

/** Two names that are one, whatever capitals and width. */
export function sameName(name) {
  const known = bare.get(name);
  if (known !== undefined) return known;
  const made = casefold(name.normalize("NFKC"));
  bare.set(name, made);
  return made;
}

const bare = new Map();
